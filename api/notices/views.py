"""What a person was told, and what they want to be told."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import write_once
from api.notices.serializers import (
    NoticeChoicesSerializer,
    NoticeSerializer,
    ReadCountSerializer,
    ReadUntilSerializer,
)
from network.notices import queries, services
from network.notices.models import Notice, NoticeChoice
from network.people.models import Community


class NoticeFilter(filters.FilterSet):
    """Unread ones only, or of one kind."""

    unread = filters.BooleanFilter(field_name="read_at", lookup_expr="isnull")
    kind = filters.ChoiceFilter(choices=Notice.Kind.choices)


class NoticesView(ListModelMixin, CommunityView):
    """What the person who asks was told, newest first."""

    serializer_class = NoticeSerializer
    filterset_class = NoticeFilter
    queryset = Notice.objects.none()

    def get_queryset(self) -> QuerySet[Notice]:
        return queries.notices_for(self.actor)

    @extend_schema(operation_id="notices_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)


class NoticeReadView(CommunityView):
    """Marks one notice as read."""

    @extend_schema(operation_id="notice_read", request=None, responses=NoticeSerializer)
    @write_once
    def post(self, request: Request, community: str, notice_id: UUID) -> Response:
        notice = services.mark_read(self.actor, notice_id=notice_id)
        return Response(NoticeSerializer(notice).data)


class NoticesReadView(CommunityView):
    """Marks as read all that the person saw."""

    @extend_schema(
        operation_id="notices_read", request=ReadUntilSerializer, responses=ReadCountSerializer
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = ReadUntilSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        return Response({"count": services.mark_all_read(self.actor, **sent.validated_data)})


class NoticeChoicesView(CommunityView):
    """What the person who asks wants to be told here, how, and when not."""

    @extend_schema(operation_id="notice_choices_read", responses=NoticeChoicesSerializer)
    def get(self, request: Request, community: str) -> Response:
        choice = queries.choice_for(self.actor)
        return Response(_as_sent(choice, self.community))

    @extend_schema(
        operation_id="notice_choices_change",
        request=NoticeChoicesSerializer,
        responses=NoticeChoicesSerializer,
    )
    @write_once
    def put(self, request: Request, community: str) -> Response:
        sent = NoticeChoicesSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        choice = services.choose(
            self.actor,
            ways={way["kind"]: way["way"] for way in sent.validated_data["ways"]},
            quiet_from=sent.validated_data["quiet_from"],
            quiet_until=sent.validated_data["quiet_until"],
        )
        return Response(_as_sent(choice, self.community))


def _as_sent(choice: NoticeChoice, community: Community) -> Any:
    ways = [
        {"kind": kind, "words": words, "way": queries.way_of(choice, kind)}
        for kind, words in Notice.Kind.choices
    ]
    return NoticeChoicesSerializer(
        {
            "ways": ways,
            "quiet_from": choice.quiet_from,
            "quiet_until": choice.quiet_until,
            "timezone": community.timezone,
        }
    ).data
