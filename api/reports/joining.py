"""The reports of several communities as one, with nothing counted twice."""

from typing import Any
from uuid import UUID

import django_filters as filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import write_once
from api.references import ReferenceSerializer
from api.reports.filters import PeriodFilter, asked_of
from api.reports.serializers import MethodSerializer, PeriodSerializer
from network.lots.models import Movement
from network.people.asking import asking_in
from network.reports.joining import joined, others_places
from network.reports.models import OthersPlace
from network.reports.queries import Selection
from network.reports.services import mark_others_place


class JoinedFilter(PeriodFilter):
    """The days, and the other communities."""

    others = filters.CharFilter(
        label="The other communities by their names in addresses, separated by commas.",
        max_length=1_000,
    )

    class Meta:
        model = Movement
        fields: list[str] = []


JoinedFilter.base_filters.update(PeriodFilter.base_filters)


class JoinedPartSerializer(serializers.Serializer[Any]):
    """One community: all it diverted, and what of that another of these counted before."""

    slug = serializers.CharField(source="community.slug")
    name = serializers.CharField(source="community.name")
    diverted_g = serializers.IntegerField()
    counted_before_g = serializers.IntegerField()
    expanded_g = serializers.IntegerField()


class JoinedSerializer(serializers.Serializer[Any]):
    """Diverted mass of several communities together, each gram once."""

    period = PeriodSerializer(source="selection")
    method = MethodSerializer()
    statement = serializers.CharField()
    parts = JoinedPartSerializer(many=True)
    diverted_g = serializers.IntegerField()
    expanded_g = serializers.IntegerField()


class OthersPlaceSerializer(serializers.Serializer[Any]):
    """A place and the community that counts before us what it brings."""

    place = ReferenceSerializer()
    other = serializers.CharField(source="other.slug")
    other_name = serializers.CharField(source="other.name")


class OtherSerializer(serializers.Serializer[Any]):
    """The community that counts before us, by its name in addresses; null is none."""

    other = serializers.CharField(max_length=60, allow_null=True)


class JoinedView(CommunityView):
    """Diverted mass of this and other communities; one must be an organiser in each."""

    queryset = Movement.objects.none()
    filterset_class = JoinedFilter
    pagination_class = None

    @extend_schema(operation_id="report_joined", filters=True, responses=JoinedSerializer)
    def get(self, request: Request, community: str) -> Response:
        wanted = asked_of(JoinedFilter, request.query_params)
        slugs = dict.fromkeys(slug.strip() for slug in wanted["others"].split(",") if slug.strip())
        asking = [asking_in(slug, self.request.user.pk) for slug in slugs]
        report = joined(
            [(self.actor, self.community), *((actor, other) for other, actor in asking)],
            period=Selection(first_day=wanted["from"], last_day=wanted["to"]),
        )
        return Response(JoinedSerializer(report).data)


class OthersPlacesView(CommunityView):
    """The places that bring what other communities counted before."""

    queryset = OthersPlace.objects.none()
    pagination_class = None

    @extend_schema(
        operation_id="others_places_list", responses=OthersPlaceSerializer(many=True), filters=False
    )
    def get(self, request: Request, community: str) -> Response:
        return Response(OthersPlaceSerializer(others_places(self.actor), many=True).data)


class OthersPlaceView(CommunityView):
    """Which community counts before us what a place brings."""

    queryset = OthersPlace.objects.none()

    @extend_schema(
        operation_id="others_place_mark", request=OtherSerializer, responses=OtherSerializer
    )
    @write_once
    def put(self, request: Request, community: str, place: UUID) -> Response:
        sent = OtherSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        row = mark_others_place(self.actor, place_id=place, **sent.validated_data)
        return Response({"other": row.other.slug if row else None})
