"""Carbon and cost as a scenario, and the factors it rests on."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.reports.filters import PeriodFilter, period_of
from api.reports.serializers import MethodSerializer, PeriodSerializer
from network.lots.models import Movement
from network.pickups.queries import drives_between
from network.reports.factors import CODES, factors_of
from network.reports.models import StatedFactor
from network.reports.queries import YEARS
from network.reports.scenario import scenario
from network.reports.services import state_factor


class FactorSerializer(serializers.Serializer[Any]):
    """A factor in force; version 0 came with Millrace, and nobody here confirmed it."""

    code = serializers.ChoiceField(CODES)
    unit = serializers.CharField()
    value = serializers.DecimalField(max_digits=14, decimal_places=6, allow_null=True)
    low = serializers.DecimalField(max_digits=14, decimal_places=6, allow_null=True)
    high = serializers.DecimalField(max_digits=14, decimal_places=6, allow_null=True)
    # `source` is a name of the framework's own.
    stated_source = serializers.CharField(source="source")
    year = serializers.IntegerField(allow_null=True)
    region = serializers.CharField()
    version = serializers.IntegerField()
    confirmed = serializers.BooleanField()


class StatedFactorSerializer(serializers.Serializer[Any]):
    """A factor as an organiser states it, with where it is from."""

    value = serializers.DecimalField(max_digits=14, decimal_places=6)
    stated_source = serializers.CharField(max_length=300, source="source")
    year = serializers.IntegerField(min_value=YEARS.start, max_value=YEARS.stop - 1)
    region = serializers.CharField(max_length=80)


class DrivenSerializer(serializers.Serializer[Any]):
    """What the finished routes of these days took."""

    routes = serializers.IntegerField()
    distance_m = serializers.IntegerField()
    duration_s = serializers.IntegerField()


class CarbonSerializer(serializers.Serializer[Any]):
    """Grams of CO2e: of driving, and what may have been avoided, where that is stated."""

    transport_co2e_g = serializers.IntegerField()
    avoided_co2e_g = serializers.IntegerField(allow_null=True)
    net_co2e_g = serializers.IntegerField(allow_null=True)
    break_even_m = serializers.IntegerField(allow_null=True)
    break_even_g = serializers.IntegerField(allow_null=True)


class RouteCostSerializer(serializers.Serializer[Any]):
    """Money for wages and vans, in all and for each kg accepted."""

    wages = serializers.DecimalField(max_digits=16, decimal_places=2)
    vans = serializers.DecimalField(max_digits=16, decimal_places=2)
    whole = serializers.DecimalField(max_digits=16, decimal_places=2)
    per_kg = serializers.DecimalField(max_digits=16, decimal_places=2, allow_null=True)


class ScenarioSerializer(serializers.Serializer[Any]):
    """A scenario and what it rests on; never a measured or certified figure."""

    period = PeriodSerializer(source="selection")
    statement = serializers.CharField()
    point = MethodSerializer()
    factors = FactorSerializer(many=True)
    is_confirmed = serializers.BooleanField()
    driven = DrivenSerializer()
    accepted_g = serializers.IntegerField()
    in_products_g = serializers.IntegerField()
    carbon = CarbonSerializer()
    cost = RouteCostSerializer(allow_null=True)
    currency = serializers.CharField(source="community.currency")


class ScenarioView(CommunityView):
    """Carbon and cost of a period as a scenario: transport always, the rest where it is stated."""

    queryset = Movement.objects.none()
    filterset_class = PeriodFilter
    pagination_class = None

    @extend_schema(operation_id="report_scenario", filters=True, responses=ScenarioSerializer)
    def get(self, request: Request, community: str) -> Response:
        period = period_of(request.query_params)
        drives = drives_between(self.actor, first_day=period.first_day, last_day=period.last_day)
        found = scenario(
            self.actor,
            community=self.community,
            period=period,
            routes=drives.routes,
            distance_m=drives.distance_m,
            duration_s=drives.duration_s,
        )
        return Response(ScenarioSerializer(found).data)


class FactorView(CommunityView):
    """One factor of the scenario: stated anew, or confirmed by stating it as it is."""

    queryset = StatedFactor.objects.none()

    @extend_schema(
        operation_id="factor_state", request=StatedFactorSerializer, responses=FactorSerializer
    )
    @write_once
    def put(self, request: Request, community: str, code: str) -> Response:
        sent = StatedFactorSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        state_factor(
            self.actor, factor_id=idempotency_key(request), code=code, **sent.validated_data
        )
        return Response(FactorSerializer(factors_of(self.community.id)[code]).data)
