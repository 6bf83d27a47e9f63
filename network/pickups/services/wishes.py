"""Whether what a maker wants planned can be asked for at all."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from uuid import UUID

from network.errors import AlreadyBooked, FieldError, InvalidInput
from network.people.core.actor import MAKER, Actor
from network.people.models import Organisation
from network.pickups.models import Vehicle
from network.pickups.planning import workshop_of
from network.pickups.queries import STANDING_ROUTES, free_containers
from network.pickups.request_data import PlanRequest, ShiftWish
from network.pickups.words import clock_text, day_text
from network.places.queries import local_day

HORIZON_DAYS_MAX = 10
AHEAD_DAYS_MAX = 60
SHIFTS_MAX = 20
MONEY_MAX = 10_000


def maker_of_request(actor: Actor, request: PlanRequest, *, now: datetime) -> Organisation:
    """Return the maker whose vans are asked for.

    Raises InvalidInput naming each shift or place that cannot be, AlreadyBooked for a van that is
    out then, WrongState where the maker has no workshop to start from.
    """
    if not 1 <= len(request.shifts) <= SHIFTS_MAX:
        raise InvalidInput.of("shifts", f"A plan has 1 to {SHIFTS_MAX} shifts.", "Send as many.")
    vehicles = _vehicles(actor, request.shifts)
    maker = next(iter(vehicles.values())).maker
    today = local_day(maker.community, now)
    # A day far off is told alone: on it nothing else can be reckoned.
    faults = list(_faults_of_days(request.shifts, today)) or [
        *_faults_of_hours(request.shifts, maker.community.timezone, today=today, now=now),
        *_faults_of_overlap(request.shifts),
        *_faults_of_breaks(request.shifts),
        *_faults_of_places(request, maker),
        *_faults_of_money(request),
    ]
    if faults:
        raise InvalidInput("These shifts cannot be planned.", fields=tuple(faults))
    workshop_of(maker)
    for shift in request.shifts:
        starts_at, ends_at = shift.span(maker.community.timezone)
        refuse_booked(vehicles[shift.vehicle_id], starts_at, ends_at)
    return maker


def refuse_booked(vehicle: Vehicle, starts_at: datetime, ends_at: datetime) -> None:
    """Raise AlreadyBooked, with which route and when, for a van that is out in that time."""
    route = (
        vehicle.routes.filter(
            status__in=STANDING_ROUTES,
            starts_at__lt=ends_at,
            ends_at__gt=starts_at,
        )
        .order_by("starts_at")
        .first()
    )
    if route is None:
        return
    zone = vehicle.community.timezone
    hours = f"{clock_text(route.starts_at, zone)} to {clock_text(route.ends_at, zone)}"
    raise AlreadyBooked(
        f"{vehicle.name} is booked already on {day_text(route.day)} from {hours}.",
        extra={"vehicle_id": str(vehicle.id), "route_id": str(route.id)},
    )


def _vehicles(actor: Actor, shifts: Iterable[ShiftWish]) -> Mapping[UUID, Vehicle]:
    """Return the vans by id, all in use and of one maker that the actor acts for."""
    wanted = {shift.vehicle_id: number for number, shift in reversed(list(enumerate(shifts)))}
    vehicles = {
        vehicle.id: vehicle
        for vehicle in Vehicle.objects.filter(
            community_id=actor.community_id,
            id__in=wanted,
            maker_id__in=actor.held_for(MAKER),
            retired_at__isnull=True,
        ).select_related("maker__community", "community")
    }
    faults = [
        FieldError(
            field=f"shifts[{number}].vehicle_id",
            detail="There is no such van in use here.",
            mend="Choose one of your vans.",
        )
        for vehicle_id, number in wanted.items()
        if vehicle_id not in vehicles
    ]
    if faults:
        raise InvalidInput("These shifts cannot be planned.", fields=tuple(faults))
    if len({vehicle.maker_id for vehicle in vehicles.values()}) > 1:
        raise InvalidInput.of("shifts", "The vans are of several makers.", "Plan one at a time.")
    return vehicles


def _faults_of_days(shifts: Iterable[ShiftWish], today: date) -> Iterator[FieldError]:
    first_day = min(shift.day for shift in shifts)
    for number, shift in enumerate(shifts):
        if not today <= shift.day <= today + timedelta(days=AHEAD_DAYS_MAX):
            yield FieldError(
                field=f"shifts[{number}].day",
                detail=f"A plan is for today or up to {AHEAD_DAYS_MAX} days ahead.",
                mend=f"Choose a day from {today.isoformat()} on.",
            )
        elif (shift.day - first_day).days >= HORIZON_DAYS_MAX:
            yield FieldError(
                field=f"shifts[{number}].day",
                detail=f"A plan spans at most {HORIZON_DAYS_MAX} days.",
                mend="Plan the later days on their own.",
            )


def _faults_of_hours(
    shifts: Iterable[ShiftWish], zone: str, *, today: date, now: datetime
) -> Iterator[FieldError]:
    for number, shift in enumerate(shifts):
        starts_at, ends_at = shift.span(zone)
        if starts_at >= ends_at:
            detail, mend = "A shift ends after it starts.", "Choose a later time."
        elif ends_at <= now and shift.day == today:
            detail, mend = "That shift is over already.", "Choose a later time or day."
        else:
            continue
        yield FieldError(field=f"shifts[{number}].ends", detail=detail, mend=mend)


def _faults_of_overlap(shifts: Iterable[ShiftWish]) -> Iterator[FieldError]:
    """A van drives one shift at a time."""
    before: list[ShiftWish] = []
    for number, shift in enumerate(shifts):
        for other in before:
            same = (other.vehicle_id, other.day) == (shift.vehicle_id, shift.day)
            if same and shift.starts < other.ends and other.starts < shift.ends:
                yield FieldError(
                    field=f"shifts[{number}].starts",
                    detail="That van is in another of these shifts at that time.",
                    mend="Let one shift begin when the other has ended.",
                )
                break
        before.append(shift)


def _faults_of_breaks(shifts: Iterable[ShiftWish]) -> Iterator[FieldError]:
    """A break has a length and a stretch after which it is due at the latest."""
    for number, shift in enumerate(shifts):
        if shift.break_s and shift.stretch_s_max is None:
            yield FieldError(
                field=f"shifts[{number}].stretch_s_max",
                detail="A break is due after so long at the latest.",
                mend="Say how long a driver may be out without one.",
            )
        if shift.stretch_s_max is not None and not shift.break_s:
            yield FieldError(
                field=f"shifts[{number}].break_s",
                detail="A break has a length.",
                mend="Say how long the break is.",
            )


def _faults_of_places(request: PlanRequest, maker: Organisation) -> Iterator[FieldError]:
    known = set(free_containers(maker).values_list("agreement__place_id", flat=True))
    named = {
        "must_visit": request.must_visit,
        "never_visit": request.never_visit,
        "closed": {place_id for place_id, _ in request.closed},
    }
    for name, place_ids in named.items():
        for place_id in sorted(place_ids - known):
            yield FieldError(
                field=name,
                detail=f"There is nothing that could be collected at the place {place_id}.",
                mend="Choose a place with a running agreement that is not booked already.",
            )
    for place_id in sorted(request.must_visit & request.never_visit):
        yield FieldError(
            field="never_visit",
            detail=f"The place {place_id} is to be visited as well.",
            mend="Choose one of the two.",
        )


def _faults_of_money(request: PlanRequest) -> Iterator[FieldError]:
    for name in ("value_per_kg", "overflow_cost", "missed_hours_cost"):
        if not 0 <= getattr(request, name) <= MONEY_MAX:
            yield FieldError(
                field=name,
                detail=f"It is an amount of money from 0 to {MONEY_MAX}.",
                mend="Write it in the community's currency.",
            )
