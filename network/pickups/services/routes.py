"""A route is given a driver, started, brought home or called off."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet

from network.errors import InvalidInput, WrongState
from network.events import Event, announce
from network.lots.models import Lot
from network.lots.services import bring_home
from network.people.core.actor import DRIVER, MAKER, Actor
from network.people.models import Membership
from network.pickups.models import Pickup, PickupLine, Route
from network.pickups.queries import STANDING, STANDING_ROUTES, route_for
from network.pickups.services._shared import moment
from network.pickups.services.driving import end_pickup, release_lines


@transaction.atomic
def assign_driver(actor: Actor, *, route_id: UUID, driver_id: UUID) -> Route:
    """Give a route to one of the maker's people.

    Raises InvalidInput for someone who does not drive for that maker, WrongState once it ended.
    """
    route = route_for(actor, route_id, lock=True)
    actor.require(MAKER, organisation_id=route.maker_id)
    if route.status not in STANDING_ROUTES:
        raise WrongState(f"This route is {route.get_status_display()}: it needs no driver.")
    drives = Membership.objects.filter(
        community_id=actor.community_id,
        user_id=driver_id,
        organisation_id=route.maker_id,
        role__in=[DRIVER, MAKER],
    )
    if not drives.exists():
        raise InvalidInput.of(
            "driver_id", "That person does not drive for this maker.", "Choose one who does."
        )
    route.driver_id = driver_id
    route.save(update_fields=["driver"])
    return route_for(actor, route_id)


@transaction.atomic
def start_route(actor: Actor, *, route_id: UUID, at: datetime | None = None) -> Route:
    """Set out; whoever starts a route without a driver is its driver. Again changes nothing.

    Raises WrongState for a route that has ended.
    """
    route = route_for(actor, route_id, lock=True)
    actor.require(DRIVER, MAKER, organisation_id=route.maker_id)
    if route.status == Route.Status.UNDER_WAY:
        return route
    if route.status != Route.Status.PLANNED:
        raise WrongState(f"This route is {route.get_status_display()}: it is not started again.")
    route.status = Route.Status.UNDER_WAY
    route.started_at = moment(at, not_before=route.created_at)
    if route.driver_id is None:
        route.driver_id = actor.user_id
    route.save(update_fields=["status", "started_at", "driver"])
    _announce(Event.ROUTE_STARTED, route, route.started_at)
    return route_for(actor, route_id)


def _announce(event: Event, route: Route, at: datetime) -> None:
    announce(event, community_id=route.community_id, subject_id=route.id, at=at)


@transaction.atomic
def finish_route(actor: Actor, *, route_id: UUID, at: datetime | None = None) -> Route:
    """Bring a route home: all its lots go from the van to the store. Again changes nothing.

    Visits with all settled are ended with it. Raises WrongState naming the places that are not.
    """
    route = route_for(actor, route_id, lock=True)
    actor.require(DRIVER, MAKER, organisation_id=route.maker_id)
    if route.status == Route.Status.DONE:
        return route
    if route.status != Route.Status.UNDER_WAY:
        raise WrongState(f"This route is {route.get_status_display()}: start it first.")
    lines = PickupLine.objects.filter(community_id=route.community_id, pickup__route=route)
    _refuse_unsettled(lines.filter(outcome=PickupLine.Outcome.OPEN))
    when = moment(at, not_before=route.created_at)
    lots = list(Lot.objects.filter(pickup_line__in=lines).order_by("id"))
    if lots:
        bring_home(actor, lots=lots, vehicle_id=route.vehicle_id, at=when)
    for pickup in route.pickups.filter(status__in=STANDING).order_by("id"):
        end_pickup(pickup, Pickup.Status.DONE, reason="", at=when)
    route.status = Route.Status.DONE
    route.finished_at = when
    route.save(update_fields=["status", "finished_at"])
    return route


def _refuse_unsettled(open_lines: QuerySet[PickupLine]) -> None:
    unsettled = [
        {"pickup_id": str(pickup_id), "place": place, "container": tag}
        for pickup_id, place, tag in open_lines.order_by(
            "pickup__position", "container__tag"
        ).values_list("pickup_id", "pickup__place__name", "container__tag")
    ]
    if unsettled:
        names = ", ".join(f"{one['container']} at {one['place']}" for one in unsettled)
        raise WrongState(
            f"Not settled yet: {names}. Collect, turn away or skip each before finishing.",
            extra={"unsettled": unsettled},
        )


@transaction.atomic
def call_off_route(
    actor: Actor, *, route_id: UUID, reason: str, at: datetime | None = None
) -> Route:
    """Call a route off with the reason the places are told; visits asked for are asked for again.

    Again changes nothing. Raises WrongState once something is collected or turned away, or the
    route has ended; InvalidInput without a reason.
    """
    route = route_for(actor, route_id, lock=True)
    actor.require(MAKER, organisation_id=route.maker_id)
    if route.status == Route.Status.CALLED_OFF:
        return route
    if not reason.strip():
        raise InvalidInput.of("reason", "The places are told why.", "Write a few words.")
    _refuse_begun(route)
    when = moment(at, not_before=route.created_at)
    for pickup in route.pickups.filter(status__in=STANDING).order_by("id"):
        release_lines(pickup, reason=reason, at=when)
        call_off_pickup(pickup, reason=reason, at=when)
    route.status = Route.Status.CALLED_OFF
    route.finished_at = when
    route.save(update_fields=["status", "finished_at"])
    _announce(Event.ROUTE_CALLED_OFF, route, when)
    return route


def _refuse_begun(route: Route) -> None:
    if route.status not in STANDING_ROUTES:
        raise WrongState(f"This route is {route.get_status_display()}: it cannot be called off.")
    begun = [PickupLine.Outcome.COLLECTED, PickupLine.Outcome.TURNED_AWAY]
    if PickupLine.objects.filter(pickup__route=route, outcome__in=begun).exists():
        raise WrongState(
            "Something is collected or turned away already: skip what is left and finish the route."
        )


def call_off_pickup(pickup: Pickup, *, reason: str, at: datetime) -> None:
    """End the visit; where it was asked for, the ask stands again as a new one."""
    pickup.status = Pickup.Status.CALLED_OFF
    pickup.reason = reason
    pickup.finished_at = at
    pickup.save(update_fields=["status", "reason", "finished_at"])
    if pickup.asked_at is not None:
        Pickup.objects.create(
            community_id=pickup.community_id,
            maker_id=pickup.maker_id,
            place_id=pickup.place_id,
            status=Pickup.Status.ASKED,
            asked_at=pickup.asked_at,
            asked_by_id=pickup.asked_by_id,
            asked_note=pickup.asked_note,
            created_at=at,
        )
