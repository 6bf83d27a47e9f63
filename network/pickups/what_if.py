"""A plan's problem with something supposed to be otherwise; the world stays as it is."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from network.errors import InvalidInput
from network.pickups.core.prize import (
    VisitWorth,
    cheapest,
    way_and_time_cost,
    worth_of_waiting,
)
from network.pickups.core.problem import Place, Problem, Shift, Van
from network.pickups.plan_data import Data, Groundwork
from network.pickups.request_data import PlanRequest, ShiftWish
from network.units import to_cents

_THE_VAN_MORE = "van more"


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """What is supposed; None leaves it as it is.

    A place is closed on a day, or on all of them without one. Payload, volume and the cost of a
    kilometre are those of the van more, where there is one, else of all vans. `ends` is the end of
    each van's last shift of a day, by the community's clock.
    """

    closed_place_id: UUID | None = None
    closed_day: date | None = None
    without_vehicle_id: UUID | None = None
    more_like_vehicle_id: UUID | None = None
    payload_g: int | None = None
    volume_ml: int | None = None
    cost_per_km: Decimal | None = None
    ends: time | None = None
    overflow_cost: Decimal | None = None


_OF_DATA: Mapping[str, Callable[[str], object]] = {
    "closed_place_id": UUID,
    "closed_day": date.fromisoformat,
    "without_vehicle_id": UUID,
    "more_like_vehicle_id": UUID,
    "payload_g": int,
    "volume_ml": int,
    "cost_per_km": Decimal,
    "ends": time.fromisoformat,
    "overflow_cost": Decimal,
}


def what_if_to_data(what_if: WhatIf) -> Data:
    """Return what is supposed as plain JSON data, without what stays as it is."""
    return {name: str(value) for name, value in vars(what_if).items() if value is not None}


def what_if_from_data(data: Data) -> WhatIf:
    """Return what `what_if_to_data` wrote."""
    read: dict[str, Any] = {name: _OF_DATA[name](text) for name, text in data.items()}
    return WhatIf(**read)


def supposed(groundwork: Groundwork, what_if: WhatIf, *, overflow_cost: Decimal) -> Groundwork:
    """Return the groundwork as it would be; `overflow_cost` is what a full day costs now.

    Raises InvalidInput for a place, day or van that is not part of it, and for shifts that would
    end before they begin.
    """
    problem = groundwork.problem
    _refuse_unknown(groundwork, what_if)
    problem = replace(
        problem,
        vans=_vans(problem, what_if),
        shifts=_shifts(groundwork, what_if),
        places=tuple(_closed(groundwork, place, what_if) for place in problem.places),
    )
    worths = _worths(groundwork, what_if, problem.vans, overflow_cost)
    return replace(
        groundwork,
        worths=worths,
        problem=replace(
            problem,
            places=tuple(_worth_anew(place, groundwork.worths, worths) for place in problem.places),
        ),
    )


def supposed_request(request: PlanRequest, what_if: WhatIf) -> PlanRequest:
    """Return what to ask for so that it is planned as supposed; vans are as they are."""
    closed = what_if.closed_place_id
    for_days = {(closed, what_if.closed_day)} if closed and what_if.closed_day else set()
    never = {closed} if closed and not what_if.closed_day else set()
    return replace(
        request,
        shifts=tuple(
            replace(wish, ends=what_if.ends) if what_if.ends and _is_last(wish, request) else wish
            for wish in request.shifts
            if wish.vehicle_id != what_if.without_vehicle_id
        ),
        must_visit=request.must_visit - never,
        never_visit=request.never_visit | never,
        closed=request.closed | for_days,
        overflow_cost=(
            request.overflow_cost if what_if.overflow_cost is None else what_if.overflow_cost
        ),
    )


def _is_last(wish: ShiftWish, request: PlanRequest) -> bool:
    same = [w for w in request.shifts if (w.vehicle_id, w.day) == (wish.vehicle_id, wish.day)]
    return wish.starts == max(other.starts for other in same)


def _refuse_unknown(groundwork: Groundwork, what_if: WhatIf) -> None:
    problem = groundwork.problem
    vans = {str(what_if.without_vehicle_id), str(what_if.more_like_vehicle_id)} - {"None"}
    if vans - set(problem.van_by_id):
        name = "without_vehicle_id" if what_if.without_vehicle_id else "more_like_vehicle_id"
        raise InvalidInput.of(
            name, "That van is not part of this proposal.", "Choose one of its vans."
        )
    place_id = what_if.closed_place_id
    if place_id is not None and str(place_id) not in problem.place_by_id:
        raise InvalidInput.of(
            "closed_place_id",
            "That place is not part of this proposal.",
            "Choose among its stops and those left out.",
        )
    day = what_if.closed_day
    if day is not None and not 0 <= (day - groundwork.first_day).days < problem.days:
        raise InvalidInput.of(
            "closed_day", "That day is not part of this proposal.", "Choose one of its days."
        )


def _vans(problem: Problem, what_if: WhatIf) -> tuple[Van, ...]:
    if what_if.more_like_vehicle_id is None:
        return tuple(_otherwise(van, what_if) for van in problem.vans)
    like = problem.van_by_id[str(what_if.more_like_vehicle_id)]
    return (*problem.vans, replace(_otherwise(like, what_if), id=_THE_VAN_MORE))


def _otherwise(van: Van, what_if: WhatIf) -> Van:
    return replace(
        van,
        payload_g=van.payload_g if what_if.payload_g is None else what_if.payload_g,
        volume_ml=van.volume_ml if what_if.volume_ml is None else what_if.volume_ml,
        cost_per_km=van.cost_per_km if what_if.cost_per_km is None else what_if.cost_per_km,
    )


def _shifts(groundwork: Groundwork, what_if: WhatIf) -> tuple[Shift, ...]:
    own = groundwork.problem.shifts
    shifts = [_ending(groundwork, s, what_if.ends) if _is_van_last(s, own) else s for s in own]
    more = [s for s in shifts if s.van_id == str(what_if.more_like_vehicle_id)]
    return (
        *(s for s in shifts if s.van_id != str(what_if.without_vehicle_id)),
        *(
            replace(s, id=str(len(own) + number), van_id=_THE_VAN_MORE)
            for number, s in enumerate(more)
        ),
    )


def _is_van_last(shift: Shift, shifts: tuple[Shift, ...]) -> bool:
    same = [s.start_s for s in shifts if (s.van_id, s.day) == (shift.van_id, shift.day)]
    return shift.start_s == max(same)


def _ending(groundwork: Groundwork, shift: Shift, ends: time | None) -> Shift:
    if ends is None:
        return shift
    clock = ZoneInfo(groundwork.timezone)
    ends_at = datetime.combine(groundwork.day(shift.day), ends, tzinfo=clock)
    end_s = int((ends_at - groundwork.starts_at).total_seconds())
    if end_s <= shift.start_s:
        raise InvalidInput.of("ends", "A shift ends after it starts.", "Choose a later time.")
    return replace(shift, end_s=end_s)


def _closed(groundwork: Groundwork, place: Place, what_if: WhatIf) -> Place:
    if place.id != str(what_if.closed_place_id):
        return place
    if what_if.closed_day is None:
        every_day = frozenset(range(groundwork.problem.days))
        return replace(place, forbidden_days=every_day, required=False, pinned_day=None)
    index = (what_if.closed_day - groundwork.first_day).days
    return replace(place, forbidden_days=place.forbidden_days | {index})


def _worths(
    groundwork: Groundwork, what_if: WhatIf, vans: tuple[Van, ...], overflow_cost: Decimal
) -> Mapping[str, Mapping[int, VisitWorth]]:
    """What visits are worth at these costs of a kilometre and of a full day."""
    van = cheapest(vans)
    a_day = what_if.overflow_cost
    dearer = Decimal(0) if a_day is None else a_day - overflow_cost

    def anew(worth: VisitWorth) -> VisitWorth:
        way_cost, time_cost = way_and_time_cost(
            van, way_m=worth.way_m, way_s=worth.way_s, service_s=worth.service_s
        )
        full_days_cost = to_cents(worth.full_days_cost + worth.full_days * dearer)
        return replace(
            worth,
            way_cost=way_cost,
            time_cost=time_cost,
            full_days_cost=max(Decimal(0), full_days_cost),
            waiting_worth=worth_of_waiting(
                van,
                typical_cost=way_cost + time_cost,
                fill_fraction=worth.fill_fraction,
                waited_days=worth.waited_days,
            ),
        )

    return {
        place_id: {day: anew(worth) for day, worth in by_day.items()}
        for place_id, by_day in groundwork.worths.items()
    }


def _worth_anew(
    place: Place,
    before: Mapping[str, Mapping[int, VisitWorth]],
    after: Mapping[str, Mapping[int, VisitWorth]],
) -> Place:
    def more(day: int) -> Decimal:
        if day not in before.get(place.id, {}):
            return Decimal(0)
        return after[place.id][day].total - before[place.id][day].total

    return replace(
        place,
        days=tuple(
            replace(option, worth=max(Decimal(0), option.worth + more(option.day)))
            for option in place.days
        ),
    )
