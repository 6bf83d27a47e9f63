"""On the road, a visit that a place asks for is taken on as well."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import AlreadyBooked, NotFound, WrongState
from network.events import Event, announce
from network.people.core.actor import DRIVER, MAKER, Actor
from network.pickups.models import Pickup, PickupLine, Route
from network.pickups.queries import STANDING_ROUTES, lines_of_asks, put_last, route_for
from network.pickups.services._shared import moment, refused_by
from network.places.models import Container


@transaction.atomic
def add_stop(actor: Actor, *, route_id: UUID, pickup_id: UUID, at: datetime | None = None) -> Route:
    """Put a visit that was asked for on a route, after its last stop; again changes nothing.

    Locks the route, then the containers in the order of their ids, then the visit. Raises NotFound,
    AlreadyBooked, or WrongState where the route has ended, nobody asks any more or nothing there
    is free to be emptied.
    """
    route = route_for(actor, route_id, lock=True)
    actor.require(DRIVER, MAKER, organisation_id=route.maker_id)
    asked = Pickup.objects.filter(community_id=route.community_id, maker_id=route.maker_id)
    if asked.filter(id=pickup_id, route=route).exists():
        return route
    if route.status not in STANDING_ROUTES:
        raise WrongState(f"This route is {route.get_status_display()}: no stop is added to it.")
    pickup = asked.filter(id=pickup_id).select_related("place").first()
    if pickup is None:
        raise NotFound("There is no such visit here.")
    _lock(pickup)
    if pickup.status != Pickup.Status.ASKED:
        raise WrongState(
            f"The visit to {pickup.place.name} is {pickup.get_status_display()}: "
            "nobody asks for it any more."
        )
    _put_on(route, pickup, at=moment(at, not_before=route.created_at))
    return route


def _lock(pickup: Pickup) -> None:
    """Hold the containers of a place and the visit, and read the visit as it is now."""
    containers = Container.objects.filter(agreement__place_id=pickup.place_id).order_by("id")
    list(containers.select_for_update(of=("self",), no_key=True).values_list("id", flat=True))
    pickup.refresh_from_db(from_queryset=Pickup.objects.select_for_update(no_key=True))


def _put_on(route: Route, pickup: Pickup, *, at: datetime) -> None:
    lines = lines_of_asks(route, [pickup])[pickup.id]
    if not lines:
        raise WrongState(f"Nothing at {pickup.place.name} is free to be emptied.")
    put_last(route, [pickup])
    pickup.route, pickup.day = route, route.day
    pickup.save()
    refusal = AlreadyBooked(f"A container at {pickup.place.name} is booked.")
    with refused_by("container_booked_once", refusal):
        PickupLine.objects.bulk_create(lines)
    announce(Event.PICKUP_ADDED, community_id=route.community_id, subject_id=pickup.id, at=at)
