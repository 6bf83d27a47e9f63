"""What a maker's ways are reckoned with."""

from decimal import Decimal
from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import write_once
from api.references import ReferenceSerializer
from network.pickups import services
from network.pickups.distances import road_map_of
from network.pickups.learnt import MakerTravel, travel_of_makers

BY = ("roads", "straight")
GEOJSON = {
    "type": "object",
    "properties": {
        "type": {"type": "string", "const": "FeatureCollection"},
        "features": {"type": "array", "items": {"type": "object"}},
    },
    "required": ["type", "features"],
}


class DistancesSerializer(serializers.Serializer[Any]):
    """What distances rest on: the roads of a source, or the straight way times a factor.

    `correction` is what the seconds were multiplied by.
    """

    by = serializers.ChoiceField(BY)
    correction = serializers.CharField()
    road_factor = serializers.CharField(allow_null=True)
    speed_km_per_h = serializers.CharField(allow_null=True)
    roads = serializers.CharField(allow_null=True)
    as_of = serializers.DateField(allow_null=True)


class LearntSerializer(serializers.Serializer[Any]):
    """What driven legs say: the median of driven over planned time, and what we suggest of it."""

    legs = serializers.IntegerField()
    median_ratio = serializers.DecimalField(max_digits=6, decimal_places=2)
    suggested = serializers.DecimalField(max_digits=4, decimal_places=2)


class TravelSerializer(serializers.Serializer[MakerTravel]):
    """What one maker reckons its ways with; `learnt` is null of too few legs."""

    maker = ReferenceSerializer()
    road_factor = serializers.DecimalField(4, 2, source="terms.road_factor")
    speed_km_per_h = serializers.DecimalField(4, 1, source="terms.speed_km_per_h")
    straight_correction = serializers.DecimalField(4, 2, source="terms.straight_correction")
    roads_correction = serializers.DecimalField(4, 2, source="terms.roads_correction")
    distances = DistancesSerializer(source="basis")
    learnt = LearntSerializer(allow_null=True)


class AllTravelSerializer(serializers.Serializer[Any]):
    """What each maker that one acts for reckons its ways with."""

    makers = TravelSerializer(many=True)


class TravelChangeSerializer(serializers.Serializer[Any]):
    """What is to be reckoned with; what is left out stays as it is."""

    maker_id = serializers.UUIDField(required=False)
    road_factor = serializers.DecimalField(4, 2, min_value=Decimal(1), required=False)
    speed_km_per_h = serializers.DecimalField(4, 1, min_value=Decimal(5), required=False)
    straight_correction = serializers.DecimalField(4, 2, min_value=Decimal("0.5"), required=False)
    roads_correction = serializers.DecimalField(4, 2, min_value=Decimal("0.5"), required=False)


class TravelView(CommunityView):
    """What the ways of one's makers are reckoned with."""

    serializer_class = TravelChangeSerializer

    @extend_schema(operation_id="travel_read", responses=AllTravelSerializer)
    def get(self, request: Request, community: str) -> Response:
        return self._answer()

    @extend_schema(operation_id="travel_change", responses=AllTravelSerializer)
    @write_once
    def patch(self, request: Request, community: str) -> Response:
        form = TravelChangeSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        sent: dict[str, Any] = form.validated_data
        maker_id = sent.pop("maker_id", None)
        services.change_travel(
            self.actor, maker_id=maker_id, figures=services.TravelFigures(**sent)
        )
        return self._answer()

    def _answer(self) -> Response:
        return Response(
            AllTravelSerializer(
                {"makers": travel_of_makers(self.actor, today=timezone.now().date())}
            ).data
        )


class RoadMapView(CommunityView):
    """The community's road map, as RFC 7946 has it."""

    @extend_schema(operation_id="road_map_read", responses={(200, "application/json"): GEOJSON})
    def get(self, request: Request, community: str) -> Response:
        return Response(road_map_of(self.community.id))
