"""The rest of a day, planned anew, is put in force: what is done already stays as it is."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from django.db.models import F, Max

from network.errors import AlreadyBooked, WrongState
from network.events import Event, announce
from network.people.core.actor import Actor
from network.pickups.core.replan import SAME_HOUR_S
from network.pickups.models import Pickup, Proposal, Route
from network.pickups.plan_data import Data, Groundwork
from network.pickups.queries import STANDING_ROUTES
from network.pickups.request_data import request_from_data
from network.pickups.rest_of_day import rest_of, stops_to_come
from network.pickups.services._shared import refused_by
from network.pickups.services.driving import release_lines
from network.pickups.services.routes import call_off_pickup
from network.pickups.services.stops import (
    TIMED,
    add_lines,
    asked_pickups,
    book_route,
    plan_pickup,
    time_pickup,
)

# Beyond any position that a route has, to make room while its stops are put in another order.
OUT_OF_THE_WAY = 100_000
# A place whose visit shifts by no more is not troubled, nor told.
SAME_HOUR = timedelta(seconds=SAME_HOUR_S)
MOVED = "Another van comes, or on another round."
LEFT_OUT = "Nobody can come that day any more."


def put_in_force(
    actor: Actor, proposal: Proposal, groundwork: Groundwork, *, now: datetime
) -> list[Route]:
    """Move what nobody has begun to where the plan has it, and send out the vans that help.

    Locks the routes in the order of their ids, then what was asked for. A visit begun or done
    since the plan was made stays. Raises WrongState where a route of it has ended, AlreadyBooked
    for a van or a container that was booked since.
    """
    rest = _Rest(actor, proposal, groundwork, now=now)
    with (
        refused_by("vehicle_booked_once", AlreadyBooked("A van of this plan is booked then.")),
        refused_by("container_booked_once", AlreadyBooked("A container of this plan is booked.")),
    ):
        rest.leave()
        routes = [rest.drive(route) for route in rest.plan["routes"]]
        rest.end_broken()
    proposal.status = Proposal.Status.BOOKED
    proposal.save(update_fields=["status"])
    return routes


class _Rest:
    """The routes of a day, held, and the plan that they are to follow from here."""

    def __init__(
        self, actor: Actor, proposal: Proposal, groundwork: Groundwork, *, now: datetime
    ) -> None:
        self.actor, self.proposal, self.groundwork, self.now = actor, proposal, groundwork, now
        self.plan: Data = proposal.plan or {}
        request = request_from_data(proposal.request)
        self.rest = rest_of(request)
        self.routes = _locked({*self.rest.route_ids, *self.rest.broken_ids})
        self.to_come = {stop.place_id: stop for stop in stops_to_come(self.routes.values())}
        self.settled = _begun_places(self.routes.values()) - request.must_visit

    def _route_of(self, planned: Data) -> Route | None:
        route_id = self.rest.route_ids[int(planned["shift"])]
        return self.routes[route_id] if route_id else None

    def leave(self) -> None:
        """Call off each visit that its route no longer makes; an ask stands again."""
        wanted: dict[UUID, UUID | None] = {}
        for planned in self.plan["routes"]:
            route = self._route_of(planned)
            for stop in planned["stops"]:
                wanted[UUID(stop["place"]["id"])] = route.id if route else None
        known = self.groundwork.problem.place_by_id
        for place_id, pickup in list(self.to_come.items()):
            if wanted.get(place_id) == pickup.route_id or str(place_id) not in known:
                continue
            reason = MOVED if place_id in wanted else LEFT_OUT
            release_lines(pickup, reason=reason, at=self.now)
            call_off_pickup(pickup, reason=reason, at=self.now)
            if place_id not in wanted:
                self._announce(Event.PICKUP_CALLED_OFF, pickup.id)
            del self.to_come[place_id]

    def drive(self, planned: Data) -> Route:
        """Let a route go on as planned, or send its van out."""
        stops = [s for s in planned["stops"] if UUID(s["place"]["id"]) not in self.settled]
        route = self._route_of(planned)
        if route is None:
            made = book_route(
                self.actor,
                self.proposal,
                self.groundwork,
                {**planned, "stops": stops},
                self.now,
            )
            self._announce(Event.ROUTE_BOOKED, made.id)
            return made
        self._rearrange(route, stops)
        self._put_sums(route, planned)
        return route

    def _rearrange(self, route: Route, stops: list[Data]) -> None:
        """Put the stops after what is done already; what was added since comes last."""
        waiting = route.pickups.filter(status=Pickup.Status.PLANNED)
        waiting.update(position=F("position") + OUT_OF_THE_WAY)
        done = route.pickups.exclude(status__in=[Pickup.Status.PLANNED, Pickup.Status.CALLED_OFF])
        last = done.aggregate(last=Max("position"))["last"]
        position = 0 if last is None else last + 1
        asked = asked_pickups(route, [UUID(stop["place"]["id"]) for stop in stops])
        for stop in stops:
            self._put_stop(route, position, stop, asked)
            position += 1
        for added in waiting.filter(position__gte=OUT_OF_THE_WAY).order_by("position"):
            added.position = position
            added.save(update_fields=["position"])
            position += 1

    def _put_stop(
        self, route: Route, position: int, stop: Data, asked: Mapping[UUID, Pickup]
    ) -> None:
        place_id = UUID(stop["place"]["id"])
        pickup = self.to_come.get(place_id)
        if pickup is None:
            pickup = plan_pickup(route, position, stop, asked, self.groundwork)
            day = (route.day - self.groundwork.first_day).days
            add_lines(pickup, self.groundwork.contents[str(place_id)], day)
            self._announce(Event.PICKUP_ADDED, pickup.id)
            return
        before = pickup.planned_arrival
        time_pickup(pickup, position, stop, self.groundwork)
        if before and pickup.planned_arrival and abs(pickup.planned_arrival - before) > SAME_HOUR:
            self._announce(Event.PICKUP_RETIMED, pickup.id)
        pickup.save(update_fields=TIMED)

    def _put_sums(self, route: Route, planned: Data) -> None:
        """What the route comes to: as planned before, less what stood for the rest, plus this."""
        stood: Data = self.plan.get("standing", {}).get(planned["shift"], {})
        for name in ("distance_m", "duration_s", "mass_g", "volume_ml"):
            before = getattr(route, f"planned_{name}") - stood.get(name, 0)
            setattr(route, f"planned_{name}", max(0, before + planned[name]))
        stood_cost = Decimal(stood.get("cost", "0"))
        route.planned_cost = max(Decimal(0), route.planned_cost - stood_cost) + Decimal(
            planned["cost"]
        )
        route.ends_at = max(datetime.fromisoformat(planned["ends_at"]), route.starts_at)
        route.proposal = self.proposal
        route.save()

    def end_broken(self) -> None:
        """Call off a route whose van broke down before it did anything; else it is brought home."""
        for route_id in self.rest.broken_ids:
            route = self.routes[route_id]
            begun = route.pickups.exclude(status=Pickup.Status.CALLED_OFF).exists()
            if not begun:
                route.status = Route.Status.CALLED_OFF
                route.finished_at = self.now
                route.save(update_fields=["status", "finished_at"])

    def _announce(self, event: Event, subject_id: UUID) -> None:
        announce(event, community_id=self.proposal.community_id, subject_id=subject_id, at=self.now)


def _locked(route_ids: Iterable[UUID | None]) -> dict[UUID, Route]:
    wanted = {route_id for route_id in route_ids if route_id}
    rows = (
        Route.objects.select_for_update(of=("self",), no_key=True)
        .select_related("maker", "vehicle", "community")
        .filter(id__in=wanted, status__in=STANDING_ROUTES)
        .order_by("id")
    )
    routes = {route.id: route for route in rows}
    if len(routes) < len(wanted):
        raise WrongState("A route of this plan has ended since: plan the rest of the day anew.")
    return routes


def _begun_places(routes: Iterable[Route]) -> set[UUID]:
    """Where something was begun or done, or settled otherwise, on one of these routes."""
    over = [Pickup.Status.PLANNED, Pickup.Status.CALLED_OFF]
    rows = Pickup.objects.filter(route__in=list(routes)).exclude(status__in=over)
    return set(rows.values_list("place_id", flat=True))
