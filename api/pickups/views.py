"""Routes and visits: what a driver works down and a place waits for."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.pickups.calendar import visits_as_calendar
from api.pickups.filters import PickupFilter, RouteFilter
from api.pickups.gpx import route_as_gpx
from api.pickups.renderers import CalendarRenderer, GpxRenderer
from api.pickups.serializers import (
    AddStopSerializer,
    AskSerializer,
    AssignSerializer,
    CollectSerializer,
    DoneSerializer,
    PickupLineSerializer,
    PickupSerializer,
    ReasonedSerializer,
    RouteAsksSerializer,
    RouteDetailSerializer,
    RouteRowSerializer,
    TurnAwaySerializer,
)
from network.lots.services import Reading
from network.people.services.trail import Act, note_seen
from network.pickups import services
from network.pickups.models import Pickup, Route
from network.pickups.queries import (
    asks_for_route,
    pickup_for,
    pickups_seen_by,
    route_detail,
    routes_with_counts,
    visits_since,
)

CALENDAR_DAYS_BACK = 30


class _View(CommunityView):
    """A view whose `serializer_class` is the form of its one write."""

    def sent(self, request: Request) -> dict[str, Any]:
        """Return what was sent, checked for its shape."""
        form = self.get_serializer(data=request.data)
        form.is_valid(raise_exception=True)
        return dict(form.validated_data)

    def route_answer(self, route_id: UUID) -> Response:
        """Return a route as it stands now."""
        return Response(RouteDetailSerializer(route_detail(self.actor, route_id)).data)

    def pickup_answer(self, pickup_id: UUID, status: int = 200) -> Response:
        """Return a visit as it stands now."""
        pickup = pickup_for(self.actor, pickup_id)
        return Response(PickupSerializer(pickup).data, status=status)


class RoutesView(ListModelMixin, CommunityView):
    """Booked routes, newest first."""

    serializer_class = RouteRowSerializer
    filterset_class = RouteFilter
    queryset = Route.objects.none()

    def get_queryset(self) -> QuerySet[Route]:
        return routes_with_counts(self.actor)

    @extend_schema(operation_id="routes_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)


class RouteView(_View):
    """One route with all that its driver needs."""

    @extend_schema(operation_id="route_read", responses=RouteDetailSerializer)
    def get(self, request: Request, community: str, route_id: UUID) -> Response:
        answer = self.route_answer(route_id)
        note_seen(self.actor, Act.CONTACT_SEEN, Route(id=route_id))
        return answer


class RouteGpxView(CommunityView):
    """One route as GPX 1.1."""

    renderer_classes = [GpxRenderer]

    @extend_schema(
        operation_id="route_gpx", responses={(200, "application/gpx+xml"): OpenApiTypes.STR}
    )
    def get(self, request: Request, community: str, route_id: UUID) -> Response:
        detail = route_detail(self.actor, route_id)
        name = f"route-{detail.route.day.isoformat()}.gpx"
        return Response(
            route_as_gpx(detail), headers={"Content-Disposition": f'attachment; filename="{name}"'}
        )


class RouteAssignView(_View):
    """Who drives."""

    serializer_class = AssignSerializer

    @extend_schema(operation_id="route_assign", responses=RouteDetailSerializer)
    @write_once
    def post(self, request: Request, community: str, route_id: UUID) -> Response:
        services.assign_driver(self.actor, route_id=route_id, **self.sent(request))
        return self.route_answer(route_id)


class RouteStartView(_View):
    """Setting out."""

    serializer_class = DoneSerializer

    @extend_schema(operation_id="route_start", responses=RouteDetailSerializer)
    @write_once
    def post(self, request: Request, community: str, route_id: UUID) -> Response:
        services.start_route(self.actor, route_id=route_id, **self.sent(request))
        return self.route_answer(route_id)


class RouteFinishView(_View):
    """Coming home: all that was collected goes into the store."""

    serializer_class = DoneSerializer

    @extend_schema(operation_id="route_finish", responses=RouteDetailSerializer)
    @write_once
    def post(self, request: Request, community: str, route_id: UUID) -> Response:
        services.finish_route(self.actor, route_id=route_id, **self.sent(request))
        return self.route_answer(route_id)


class RouteCallOffView(_View):
    """Calling a route off."""

    serializer_class = ReasonedSerializer

    @extend_schema(operation_id="route_call_off", responses=RouteDetailSerializer)
    @write_once
    def post(self, request: Request, community: str, route_id: UUID) -> Response:
        services.call_off_route(self.actor, route_id=route_id, **self.sent(request))
        return self.route_answer(route_id)


class RouteAsksView(_View):
    """The visits that places ask for, as the stops they would be on a route.

    A driver with no signal can add one: its lines have the ids that they will have there.
    """

    @extend_schema(operation_id="route_asks", responses=RouteAsksSerializer)
    def get(self, request: Request, community: str, route_id: UUID) -> Response:
        stops = asks_for_route(self.actor, route_id)
        note_seen(self.actor, Act.CONTACT_SEEN, Route(id=route_id))
        cautions = sorted({caution for stop in stops for caution in stop.cautions})
        return Response(RouteAsksSerializer({"cautions": cautions, "pickups": stops}).data)


class RouteAddStopView(_View):
    """A visit that a place asks for is taken on as well."""

    serializer_class = AddStopSerializer

    @extend_schema(operation_id="route_add_stop", responses=RouteDetailSerializer)
    @write_once
    def post(self, request: Request, community: str, route_id: UUID) -> Response:
        services.add_stop(self.actor, route_id=route_id, **self.sent(request))
        return self.route_answer(route_id)


class PickupsView(ListModelMixin, CommunityView):
    """Visits, newest first."""

    serializer_class = PickupSerializer
    filterset_class = PickupFilter
    queryset = Pickup.objects.none()

    def get_queryset(self) -> QuerySet[Pickup]:
        return pickups_seen_by(self.actor)

    @extend_schema(operation_id="pickups_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)


class PickupsCalendarView(CommunityView):
    """The visits of the last month and to come, as an iCalendar."""

    renderer_classes = [CalendarRenderer]

    @extend_schema(
        operation_id="pickups_calendar", responses={(200, "text/calendar"): OpenApiTypes.STR}
    )
    def get(self, request: Request, community: str) -> Response:
        month_ago = timezone.now().date() - timedelta(days=CALENDAR_DAYS_BACK)
        return Response(
            visits_as_calendar(
                visits_since(self.actor, month_ago), name=f"Visits in {self.community.name}"
            )
        )


class PickupView(_View):
    """One visit."""

    @extend_schema(operation_id="pickup_read", responses=PickupSerializer)
    def get(self, request: Request, community: str, pickup_id: UUID) -> Response:
        return self.pickup_answer(pickup_id)


class PickupAskView(_View):
    """A place asks to be visited."""

    serializer_class = AskSerializer

    @extend_schema(operation_id="pickup_ask", responses={201: PickupSerializer})
    @write_once
    def post(self, request: Request, community: str, place_id: UUID) -> Response:
        pickup = services.ask_for_pickup(
            self.actor,
            pickup_id=idempotency_key(request),
            place_id=place_id,
            **self.sent(request),
        )
        return self.pickup_answer(pickup.id, status=201)


class PickupArriveView(_View):
    """The driver is there."""

    serializer_class = DoneSerializer

    @extend_schema(operation_id="pickup_arrive", responses=PickupSerializer)
    @write_once
    def post(self, request: Request, community: str, pickup_id: UUID) -> Response:
        services.arrive(self.actor, pickup_id=pickup_id, **self.sent(request))
        return self.pickup_answer(pickup_id)


class PickupSkipView(_View):
    """A whole visit is left out."""

    serializer_class = ReasonedSerializer

    @extend_schema(operation_id="pickup_skip", responses=PickupSerializer)
    @write_once
    def post(self, request: Request, community: str, pickup_id: UUID) -> Response:
        services.skip_pickup(self.actor, pickup_id=pickup_id, **self.sent(request))
        return self.pickup_answer(pickup_id)


class PickupFinishView(_View):
    """All is settled at a place."""

    serializer_class = DoneSerializer

    @extend_schema(operation_id="pickup_finish", responses=PickupSerializer)
    @write_once
    def post(self, request: Request, community: str, pickup_id: UUID) -> Response:
        services.finish_pickup(self.actor, pickup_id=pickup_id, **self.sent(request))
        return self.pickup_answer(pickup_id)


class PickupLineCollectView(_View):
    """A container is emptied onto the van."""

    serializer_class = CollectSerializer

    @extend_schema(operation_id="pickup_line_collect", responses=PickupLineSerializer)
    @write_once
    def post(self, request: Request, community: str, line_id: UUID) -> Response:
        sent = self.sent(request)
        kept = {name: sent.pop(name) for name in ("at", "look", "note") if name in sent}
        line = services.collect_line(
            self.actor,
            line_id=line_id,
            lot_id=idempotency_key(request),
            reading=Reading(**sent),
            **kept,
        )
        return Response(PickupLineSerializer(line).data)


class PickupLineTurnAwayView(_View):
    """A container stays where it is, by what was seen in it."""

    serializer_class = TurnAwaySerializer

    @extend_schema(operation_id="pickup_line_turn_away", responses=PickupLineSerializer)
    @write_once
    def post(self, request: Request, community: str, line_id: UUID) -> Response:
        line = services.turn_away_line(
            self.actor,
            line_id=line_id,
            inspection_id=idempotency_key(request),
            **self.sent(request),
        )
        return Response(PickupLineSerializer(line).data)


class PickupLineSkipView(_View):
    """A container is left out of a visit."""

    serializer_class = ReasonedSerializer

    @extend_schema(operation_id="pickup_line_skip", responses=PickupLineSerializer)
    @write_once
    def post(self, request: Request, community: str, line_id: UUID) -> Response:
        line = services.skip_line(self.actor, line_id=line_id, **self.sent(request))
        return Response(PickupLineSerializer(line).data)
