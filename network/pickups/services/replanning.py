"""The rest of a day planned anew: a van has broken down, a stop fell out, a place cannot wait."""

from collections.abc import Collection, Iterable
from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from network.errors import DifferentBody, FieldError, InvalidInput, WrongState
from network.people.core.actor import MAKER, Actor
from network.pickups.models import Proposal, Route, Vehicle
from network.pickups.queries import (
    STANDING_ROUTES,
    free_containers,
    route_for,
    vehicles_seen_by,
)
from network.pickups.request_data import PlanRequest, RestOfDay, ShiftWish, request_to_data
from network.pickups.rest_of_day import end_of_shift, limits_of, stops_to_come
from network.pickups.services._shared import moment
from network.pickups.services.proposals import queue_proposal
from network.pickups.services.wishes import refuse_booked

HELPERS_MAX = 5


@transaction.atomic
def replan_day(
    actor: Actor,
    *,
    proposal_id: UUID,
    route_id: UUID,
    broken: bool,
    helper_ids: Collection[UUID] = (),
    urgent_ids: Collection[UUID] = (),
    at: datetime | None = None,
) -> Proposal:
    """Ask for a plan of the rest of a route's day, for all routes of its maker that stand then.

    `broken` says that the route's van cannot go on, `helper_ids` which vans are sent out as well
    (until the latest shift's end, their drivers bound as the route's is), `urgent_ids` which
    places must be visited beside those to come.
    Nothing changes until it is booked. Raises WrongState where nothing is left to plan.
    """
    route = route_for(actor, route_id)
    actor.require(MAKER, organisation_id=route.maker_id)
    sent_before = Proposal.objects.filter(id=proposal_id).first()
    if sent_before is not None:
        if sent_before.maker_id != route.maker_id or not _is_of(sent_before, route):
            raise DifferentBody
        return sent_before
    now = moment(at)
    request = _request(
        actor, route, broken=broken, helper_ids=helper_ids, urgent_ids=urgent_ids, now=now
    )
    wish = request_to_data(request)
    return queue_proposal(
        actor, proposal_id=proposal_id, maker_id=route.maker_id, wish=wish, now=now
    )


def _is_of(proposal: Proposal, route: Route) -> bool:
    rest = proposal.request.get("rest_of_day")
    return rest is not None and str(route.id) in {*rest["route_ids"], *rest["broken_ids"]}


def _request(
    actor: Actor,
    route: Route,
    *,
    broken: bool,
    helper_ids: Collection[UUID],
    urgent_ids: Collection[UUID],
    now: datetime,
) -> PlanRequest:
    if route.status not in STANDING_ROUTES:
        raise WrongState(f"This route is {route.get_status_display()}: nothing of it is planned.")
    standing = _standing(route)
    going_on = [one for one in standing if not (broken and one.id == route.id)]
    ends = max(end_of_shift(one) for one in standing)
    helpers = _helpers(actor, route, helper_ids, now=now, ends=ends)
    if not going_on and not helpers:
        raise WrongState("No other van is out that day: choose one to send.")
    if not urgent_ids and not stops_to_come(standing):
        raise WrongState("Nothing of that day is still to come.")
    _refuse_unknown(route, urgent_ids)
    zone = route.community.timezone
    return PlanRequest(
        shifts=(
            *(
                _wish(one.vehicle_id, one, one.starts_at, end_of_shift(one), zone)
                for one in going_on
            ),
            *(_wish(van.id, route, max(now, route.starts_at), ends, zone) for van in helpers),
        ),
        must_visit=frozenset(urgent_ids),
        rest_of_day=RestOfDay(
            route_ids=(*(one.id for one in going_on), *(None for _ in helpers)),
            broken_ids=frozenset({route.id} if broken else ()),
        ),
    )


def _standing(route: Route) -> list[Route]:
    rows = Route.objects.filter(
        community_id=route.community_id,
        maker_id=route.maker_id,
        day=route.day,
        status__in=STANDING_ROUTES,
    )
    return list(rows.select_related("proposal", "community").order_by("starts_at", "id"))


def _wish(
    vehicle_id: UUID, route: Route, starts_at: datetime, ends_at: datetime, zone: str
) -> ShiftWish:
    """A shift on the route's day, in whole minutes of the clock, with what bounds its driver."""
    clock = ZoneInfo(zone)
    return ShiftWish(
        vehicle_id=vehicle_id,
        day=route.day,
        starts=starts_at.astimezone(clock).time().replace(second=0, microsecond=0),
        ends=(ends_at + timedelta(seconds=59))
        .astimezone(clock)
        .time()
        .replace(second=0, microsecond=0),
        **limits_of(route),
    )


def _helpers(
    actor: Actor, route: Route, helper_ids: Collection[UUID], *, now: datetime, ends: datetime
) -> list[Vehicle]:
    """The vans to be sent as well; raises InvalidInput or AlreadyBooked for one that cannot be."""
    if len(helper_ids) > HELPERS_MAX:
        raise InvalidInput.of("helper_ids", f"At most {HELPERS_MAX} vans are sent as well.")
    own = vehicles_seen_by(actor).filter(maker_id=route.maker_id, retired_at__isnull=True)
    found = {vehicle.id: vehicle for vehicle in own.filter(id__in=helper_ids)}
    _refuse("helper_ids", set(helper_ids) - set(found), "There is no such van in use here.")
    vehicles = [found[vehicle_id] for vehicle_id in sorted(found)]
    for vehicle in vehicles:
        refuse_booked(vehicle, max(now, route.starts_at), ends)
    return vehicles


def _refuse_unknown(route: Route, urgent_ids: Collection[UUID]) -> None:
    free = free_containers(route.maker).filter(agreement__place_id__in=urgent_ids)
    known = set(free.values_list("agreement__place_id", flat=True))
    _refuse("urgent_ids", set(urgent_ids) - known, "Nothing is free to be collected there.")


def _refuse(field: str, unknown: Iterable[UUID], detail: str) -> None:
    faults = tuple(
        FieldError(field=field, detail=f"{detail} ({one})", mend="Choose another.")
        for one in sorted(unknown)
    )
    if faults:
        raise InvalidInput("The rest of the day cannot be planned so.", fields=faults)
