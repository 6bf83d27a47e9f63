"""Shared devices: making and taking them back, and what is shown and said on one."""

from typing import Any
from uuid import UUID

import segno
from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once, write_once_without
from api.places.serializers import FillReportSerializer
from api.references import ReferenceSerializer
from api.throttles import SecretThrottle
from network.errors import NotFound
from network.places.models import Container, Counter
from network.places.queries.counters import CounterContainer, counter_containers, counters_seen_by
from network.places.services import counters as services

PERCENT_MAX = 150


class CounterSerializer(serializers.ModelSerializer[Counter]):
    """A shared device; `link` opens it and `code` shows the link, in the first answer only."""

    place = ReferenceSerializer()
    link = serializers.CharField(allow_null=True, default=None)
    code = serializers.CharField(
        allow_null=True, default=None, help_text="A QR code (ISO/IEC 18004) as an SVG data URI."
    )

    class Meta:
        model = Counter
        fields = ["id", "place", "name", "created_at", "expires_at", "last_used_at", "link", "code"]


class NewCounterSerializer(serializers.Serializer[Any]):
    """Where it stands, what to call it, and for how many days it works."""

    place_id = serializers.UUIDField()
    name = serializers.CharField(max_length=80)
    valid_days = serializers.IntegerField(
        required=False, default=180, min_value=1, max_value=services.COUNTER_DAYS_MAX
    )


class CounterContainerSerializer(serializers.Serializer[CounterContainer]):
    """A container there, and how full it was last; null where nobody said."""

    id = serializers.UUIDField(source="container.id")
    tag = serializers.CharField(source="container.tag")
    kind = serializers.ChoiceField(Container.Kind.choices, source="container.kind")
    stream = serializers.CharField(source="container.agreement.stream.name")
    percent = serializers.IntegerField(allow_null=True)


class CounterScreenSerializer(serializers.Serializer[Any]):
    """All that a shared device shows."""

    place = serializers.CharField()
    expires_at = serializers.DateTimeField()
    containers = CounterContainerSerializer(many=True)


class CounterFillSerializer(serializers.Serializer[Any]):
    """How full a container is; when it was said, now unless stated."""

    container_id = serializers.UUIDField()
    percent = serializers.IntegerField(min_value=0, max_value=PERCENT_MAX)
    at = serializers.DateTimeField(required=False)


class CounterFilter(filters.FilterSet):
    place = filters.UUIDFilter(field_name="place_id")


class CountersView(ListModelMixin, CommunityView):
    """The shared devices of one's own places; for an organiser, of all."""

    serializer_class = CounterSerializer
    filterset_class = CounterFilter
    queryset = Counter.objects.none()

    def get_queryset(self) -> QuerySet[Counter]:
        return counters_seen_by(self.actor)

    @extend_schema(operation_id="counters_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="counter_make",
        request=NewCounterSerializer,
        responses={201: CounterSerializer},
    )
    @write_once_without("link", "code")
    def post(self, request: Request, community: str) -> Response:
        sent = NewCounterSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        counter, token = services.make_counter(
            self.actor, counter_id=idempotency_key(request), **sent.validated_data
        )
        # What stands behind the # is not sent to any server, nor written into its logs.
        link = request.build_absolute_uri(f"/#/counter/{community}/{token}")
        code = segno.make(link, error="m").svg_data_uri(scale=6)
        shown = {**CounterSerializer(counter).data, "link": link, "code": code}
        return Response(shown, status=201)


class CounterRevokeView(CommunityView):
    """Takes a shared device back."""

    @extend_schema(operation_id="counter_revoke", request=None, responses=CounterSerializer)
    @write_once
    def post(self, request: Request, community: str, counter_id: UUID) -> Response:
        counter = services.revoke_counter(self.actor, counter_id=counter_id)
        return Response(CounterSerializer(counter).data)


class _AtCounter(CommunityView):
    throttle_classes = [SecretThrottle]

    @property
    def counter(self) -> Counter:
        """The device that asks; the rights table lets nobody else in."""
        if not isinstance(self.request.auth, Counter):
            raise NotFound
        return self.request.auth


class CounterView(_AtCounter):
    """What is shown on a shared device."""

    @extend_schema(operation_id="counter_read", responses=CounterScreenSerializer)
    def get(self, request: Request, community: str) -> Response:
        shown = {
            "place": self.counter.place.name,
            "expires_at": self.counter.expires_at,
            "containers": counter_containers(self.counter),
        }
        return Response(CounterScreenSerializer(shown).data)


class CounterFillView(_AtCounter):
    """Says on a shared device how full a container is."""

    @extend_schema(
        operation_id="counter_report",
        request=CounterFillSerializer,
        responses={201: FillReportSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = CounterFillSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        report = services.report_at_counter(
            self.counter, report_id=idempotency_key(request), **sent.validated_data
        )
        return Response(FillReportSerializer(report).data, status=201)
