"""Calendar feeds: a person's own, and the address that a calendar program reads."""

from datetime import timedelta
from uuid import UUID

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once, write_once_without
from api.notices.serializers import CalendarFeedSerializer, NewCalendarFeedSerializer
from api.pickups.calendar import visits_as_calendar
from api.pickups.renderers import CalendarRenderer
from api.throttles import SecretThrottle
from network.notices import queries, services
from network.notices.models import CalendarFeed

DAYS_BACK = 31


class CalendarFeedsView(ListModelMixin, CommunityView):
    """The calendar feeds of the person who asks."""

    serializer_class = CalendarFeedSerializer
    queryset = CalendarFeed.objects.none()

    def get_queryset(self) -> QuerySet[CalendarFeed]:
        return queries.feeds_of(self.actor)

    @extend_schema(operation_id="calendar_feeds_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="calendar_feed_make",
        request=NewCalendarFeedSerializer,
        responses={201: CalendarFeedSerializer},
    )
    @write_once_without("link")
    def post(self, request: Request, community: str) -> Response:
        sent = NewCalendarFeedSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        feed, token = services.make_feed(
            self.actor, feed_id=idempotency_key(request), **sent.validated_data
        )
        link = request.build_absolute_uri(reverse("calendar-feed-file", args=[token]))
        return Response({**CalendarFeedSerializer(feed).data, "link": link}, status=201)


class CalendarFeedRevokeView(CommunityView):
    """Takes a calendar feed back."""

    @extend_schema(
        operation_id="calendar_feed_revoke", request=None, responses=CalendarFeedSerializer
    )
    @write_once
    def post(self, request: Request, community: str, feed_id: UUID) -> Response:
        feed = services.revoke_feed(self.actor, feed_id=feed_id)
        return Response(CalendarFeedSerializer(feed).data)


class CalendarFeedFileView(APIView):
    """The visits of a month ago and to come, for whoever holds the secret in the address."""

    renderer_classes = [CalendarRenderer]
    throttle_classes = [SecretThrottle]

    @extend_schema(
        operation_id="calendar_feed_read", responses={(200, "text/calendar"): OpenApiTypes.STR}
    )
    def get(self, request: Request, token: str) -> Response:
        feed = queries.feed_by_token(token)
        services.note_reading(feed)
        month_ago = timezone.now().date() - timedelta(days=DAYS_BACK)
        visits = queries.visits_in(feed, since=month_ago)
        text = visits_as_calendar(visits, name=f"Visits: {feed.place or feed.vehicle}")
        return Response(text)
