"""Resins, items, streams, their rules, and what the rules say of an observation."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.materials.serializers import (
    ItemSerializer,
    JudgementSerializer,
    NewRuleVersionSerializer,
    NewStreamSerializer,
    QuestionSerializer,
    ResinSerializer,
    RuleVersionSerializer,
    StreamChangeSerializer,
    StreamSerializer,
)
from api.pagination import NumberPagination
from network.materials import queries, services
from network.materials.models import Item, Resin, RuleVersion, Stream


class ResinsView(ListAPIView[Resin]):
    """The known resins, each figure with its source."""

    serializer_class = ResinSerializer
    queryset = queries.resins()
    pagination_class = None

    @extend_schema(operation_id="resins_list")
    def get(self, request: Request) -> Response:
        return self.list(request)


class ItemsView(ListAPIView[Item]):
    """The known items, each figure with its source."""

    serializer_class = ItemSerializer
    queryset = queries.items()
    pagination_class = None

    @extend_schema(operation_id="items_list")
    def get(self, request: Request) -> Response:
        return self.list(request)


class StreamFilter(django_filters.FilterSet):
    """Streams of one maker, or those that places may ask for."""

    maker = django_filters.UUIDFilter(field_name="maker_id")
    open_to_places = django_filters.BooleanFilter()


class StreamsView(ListModelMixin, CommunityView):
    """What the community's makers accept."""

    serializer_class = StreamSerializer
    queryset = Stream.objects.none()
    filterset_class = StreamFilter

    def get_queryset(self) -> QuerySet[Stream]:
        return queries.streams_seen_by(self.actor)

    @extend_schema(operation_id="streams_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="stream_create",
        request=NewStreamSerializer,
        responses={201: StreamSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = NewStreamSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        stream = services.create_stream(
            self.actor, stream_id=idempotency_key(request), **sent.validated_data
        )
        return Response(StreamSerializer(stream).data, status=201)


class StreamView(CommunityView):
    """One stream."""

    serializer_class = StreamSerializer

    @extend_schema(operation_id="stream_read", responses=StreamSerializer)
    def get(self, request: Request, community: str, stream_id: UUID) -> Response:
        return Response(StreamSerializer(queries.stream_seen_by(self.actor, stream_id)).data)

    @extend_schema(
        operation_id="stream_change", request=StreamChangeSerializer, responses=StreamSerializer
    )
    @write_once
    def patch(self, request: Request, community: str, stream_id: UUID) -> Response:
        sent = StreamChangeSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        stream = services.change_stream(self.actor, stream_id=stream_id, **sent.validated_data)
        return Response(StreamSerializer(stream).data)


class RuleVersionsView(ListModelMixin, CommunityView):
    """The versions of a stream's rules, newest first."""

    serializer_class = RuleVersionSerializer
    pagination_class = NumberPagination
    queryset = RuleVersion.objects.none()

    def get_queryset(self) -> QuerySet[RuleVersion]:
        return queries.rule_versions_seen_by(self.actor, self.kwargs["stream_id"])

    @extend_schema(operation_id="rule_versions_list")
    def get(self, request: Request, community: str, stream_id: UUID) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="rules_publish",
        request=NewRuleVersionSerializer,
        responses={201: RuleVersionSerializer},
    )
    @write_once
    def post(self, request: Request, community: str, stream_id: UUID) -> Response:
        sent = NewRuleVersionSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        version = services.publish_rules(
            self.actor,
            stream_id=stream_id,
            rule_version_id=idempotency_key(request),
            **sent.validated_data,
        )
        return Response(RuleVersionSerializer(version).data, status=201)


class EvaluateView(CommunityView):
    """What a stream's rules say of an observation; nothing is kept."""

    @extend_schema(
        operation_id="evaluate", request=QuestionSerializer, responses=JudgementSerializer
    )
    def post(self, request: Request, community: str, stream_id: UUID) -> Response:
        sent = QuestionSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        given: dict[str, Any] = sent.validated_data
        verdict = queries.evaluate_for(self.actor, stream_id=stream_id, **given)
        return Response(JudgementSerializer(verdict).data)
