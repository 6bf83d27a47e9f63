"""The driver works down the stops, in the planned order or another.

Everything on a route is guarded by one lock, the route's own row: it is taken first by every
function here, so two phones on one route take turns, and a second sending finds what was done.
"""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import InvalidInput, WrongState
from network.events import Event, announce
from network.lots.models import Inspection
from network.lots.services import Reading, take_from_container, turn_away_at_door
from network.people.core.actor import DRIVER, MAKER, Actor
from network.pickups.levels import level_percent_seen
from network.pickups.models import Pickup, PickupLine, Route
from network.pickups.queries import STANDING, pickups_seen_by, route_for
from network.pickups.services._shared import moment
from network.places.models import FillReport
from network.rows import one_of

REASON_LENGTH_MAX = 240


@transaction.atomic
def arrive(actor: Actor, *, pickup_id: UUID, at: datetime | None = None) -> Pickup:
    """Begin a visit, whichever the driver comes to next; arriving again changes nothing.

    Raises WrongState unless the route is under way and the visit still to come.
    """
    pickup = held_pickup(actor, pickup_id)
    if pickup.status == Pickup.Status.UNDER_WAY:
        return pickup
    _require_under_way(pickup)
    if pickup.status != Pickup.Status.PLANNED:
        raise WrongState(f"This visit is {pickup.get_status_display()}: it is not begun again.")
    pickup.status = Pickup.Status.UNDER_WAY
    pickup.arrived_at = _moment_of(pickup, at)
    pickup.save(update_fields=["status", "arrived_at"])
    return pickup


@transaction.atomic
def collect_line(
    actor: Actor,
    *,
    line_id: UUID,
    lot_id: UUID,
    reading: Reading,
    look: Mapping[str, object] | None = None,
    note: str = "",
    at: datetime | None = None,
) -> PickupLine:
    """Take what is in a container: a new lot on the van, its weighing, and the level it was at.

    The reading's `percent` is how full it was, whatever the method. The same lot id again changes
    nothing. Raises WrongState for a line that is settled, or when by what was seen the
    rules turn it away; InvalidInput for a reading that cannot be.
    """
    line = held_line(actor, line_id)
    if line.outcome == PickupLine.Outcome.COLLECTED and line.lot_id == lot_id:
        return line
    _require_open(line)
    when = _moment_of(line.pickup, at)
    lot, weighing, inspection = take_from_container(
        actor,
        lot_id=lot_id,
        container=line.container,
        vehicle_id=_route_of(line).vehicle_id,
        reading=reading,
        observation=look,
        note=note,
        at=when,
    )
    line.lot, line.weighing, line.look = lot, weighing, inspection
    seen = level_percent_seen(line, net_g=weighing.net_g, told=reading.percent)
    _report_emptied(actor, line, percent=seen, at=when)
    return _settle(line, PickupLine.Outcome.COLLECTED, reason="", at=when)


def _report_emptied(actor: Actor, line: PickupLine, *, percent: int, at: datetime) -> None:
    FillReport.objects.create(
        community_id=actor.community_id,
        container=line.container,
        percent=percent,
        origin=FillReport.Origin.EMPTIED,
        at=at,
        by_id=actor.user_id,
    )


@transaction.atomic
def turn_away_line(
    actor: Actor,
    *,
    line_id: UUID,
    inspection_id: UUID,
    look: Mapping[str, object],
    note: str = "",
    at: datetime | None = None,
) -> PickupLine:
    """Leave a container's content where it is, with what was seen and the rules' reasons.

    The same inspection id again changes nothing. Raises WrongState for a line that is settled,
    InvalidInput when the rules would take it and no note says why the driver does not.
    """
    line = held_line(actor, line_id)
    if line.outcome == PickupLine.Outcome.TURNED_AWAY and line.look_id == inspection_id:
        return line
    _require_open(line)
    when = _moment_of(line.pickup, at)
    inspection = turn_away_at_door(
        actor,
        container=line.container,
        observation=look,
        note=note,
        at=when,
        inspection_id=inspection_id,
    )
    line.look = inspection
    return _settle(line, PickupLine.Outcome.TURNED_AWAY, reason=_reason_of(inspection), at=when)


def _reason_of(inspection: Inspection) -> str:
    """The gravest reason of the rules, or the driver's own."""
    words = [reason["words"] for reason in inspection.reasons]
    return str((words or [inspection.note])[0])[:REASON_LENGTH_MAX]


@transaction.atomic
def skip_line(
    actor: Actor, *, line_id: UUID, reason: str, at: datetime | None = None
) -> PickupLine:
    """Leave a container out of this visit, with the reason; skipping it again changes nothing.

    Raises WrongState for a line that is settled otherwise, InvalidInput without a reason.
    """
    line = held_line(actor, line_id)
    if line.outcome == PickupLine.Outcome.SKIPPED and line.reason == reason:
        return line
    _require_reason(reason)
    _require_open(line)
    return _settle(line, PickupLine.Outcome.SKIPPED, reason=reason, at=_moment_of(line.pickup, at))


@transaction.atomic
def skip_pickup(
    actor: Actor, *, pickup_id: UUID, reason: str, at: datetime | None = None
) -> Pickup:
    """Leave a whole visit out, with the reason the place is told; again changes nothing.

    Raises WrongState once something there is settled (finish the visit then), InvalidInput
    without a reason.
    """
    pickup = held_pickup(actor, pickup_id)
    if pickup.status == Pickup.Status.MISSED and pickup.reason == reason:
        return pickup
    _require_reason(reason)
    _require_under_way(pickup)
    if pickup.status not in STANDING:
        raise WrongState(f"This visit is {pickup.get_status_display()}: it cannot be skipped.")
    settled = pickup.lines.exclude(outcome=PickupLine.Outcome.OPEN)
    if settled.exclude(outcome=PickupLine.Outcome.SKIPPED).exists():
        raise WrongState("Something here is collected or turned away: finish the visit instead.")
    when = _moment_of(pickup, at)
    release_lines(pickup, reason=reason, at=when)
    return end_pickup(pickup, Pickup.Status.MISSED, reason=reason, at=when)


@transaction.atomic
def finish_pickup(actor: Actor, *, pickup_id: UUID, at: datetime | None = None) -> Pickup:
    """End a visit, once each of its containers is settled; again changes nothing.

    Raises WrongState naming the containers that are not.
    """
    pickup = held_pickup(actor, pickup_id)
    if pickup.status == Pickup.Status.DONE:
        return pickup
    if pickup.status != Pickup.Status.UNDER_WAY:
        raise WrongState(f"This visit is {pickup.get_status_display()}: arrive there first.")
    open_lines = pickup.lines.filter(outcome=PickupLine.Outcome.OPEN)
    tags = list(open_lines.order_by("container__tag").values_list("container__tag", flat=True))
    if tags:
        raise WrongState(
            f"Not settled yet: {', '.join(tags)}. Collect, turn away or skip each.",
            extra={"unsettled": tags},
        )
    return end_pickup(pickup, Pickup.Status.DONE, reason="", at=_moment_of(pickup, at))


def held_pickup(actor: Actor, pickup_id: UUID) -> Pickup:
    """Return a pickup with its route locked; raises NotFound, NotAllowed, WrongState off a route.

    A pickup that has a route keeps it, so reading it before the lock is safe.
    """
    # Only who may see it matters here, not its lines.
    seen = one_of(pickups_seen_by(actor).prefetch_related(None), pickup_id)
    actor.require(DRIVER, MAKER, organisation_id=seen.maker_id)
    if seen.route_id is None:
        raise WrongState("This visit is asked for but not planned yet.")
    route_for(actor, seen.route_id, lock=True)
    return Pickup.objects.select_related("place", "maker", "route").get(id=pickup_id)


def held_line(actor: Actor, line_id: UUID) -> PickupLine:
    """Return a line with its route locked; raises as `held_pickup` does."""
    found = one_of(PickupLine.objects.filter(community_id=actor.community_id), line_id)
    held_pickup(actor, found.pickup_id)
    return PickupLine.objects.select_related(
        "pickup__route",
        "container__agreement__stream",
        "container__agreement__rule_version",
        "container__agreement__main_item",
    ).get(id=line_id)


def _route_of(line: PickupLine) -> Route:
    route = line.pickup.route
    if route is None:
        raise WrongState("This visit is asked for but not planned yet.")
    return route


def _moment_of(pickup: Pickup, at: datetime | None) -> datetime:
    return moment(at, not_before=pickup.route.created_at if pickup.route else None)


def _require_under_way(pickup: Pickup) -> None:
    if pickup.route is None or pickup.route.status != Route.Status.UNDER_WAY:
        status = pickup.route.get_status_display() if pickup.route else "not planned"
        raise WrongState(f"The route is {status}: it must be under way for that.")


def _require_open(line: PickupLine) -> None:
    if line.outcome != PickupLine.Outcome.OPEN:
        raise WrongState(f"This container is {line.get_outcome_display()} already.")
    if line.pickup.status != Pickup.Status.UNDER_WAY:
        status = line.pickup.get_status_display()
        raise WrongState(f"This visit is {status}: arrive there first.")


def _require_reason(reason: str) -> None:
    if not reason.strip():
        raise InvalidInput.of(
            "reason", "The place is told why, so a reason is needed.", "Write a few words."
        )


def _settle(line: PickupLine, outcome: str, *, reason: str, at: datetime) -> PickupLine:
    line.outcome = outcome
    line.reason = reason
    line.done_at = at
    line.save()
    return line


def release_lines(pickup: Pickup, *, reason: str, at: datetime) -> None:
    """Let go of the containers of a visit that does not happen."""
    pickup.lines.filter(outcome=PickupLine.Outcome.OPEN).update(
        outcome=PickupLine.Outcome.SKIPPED, reason=reason, done_at=at
    )


def end_pickup(pickup: Pickup, status: str, *, reason: str, at: datetime) -> Pickup:
    """End a visit as done or missed, unasked; the place is told."""
    pickup.status = status
    pickup.reason = reason
    pickup.finished_at = at
    pickup.save(update_fields=["status", "reason", "finished_at"])
    event = Event.PICKUP_DONE if status == Pickup.Status.DONE else Event.PICKUP_MISSED
    announce(event, community_id=pickup.community_id, subject_id=pickup.id, at=at)
    return pickup
