"""The same problem with other weights: less money, fewer vans out, fewer full containers.

Each is solved like any other problem. What its plan comes to is then reckoned with the usual
weights, so that all of them can be told side by side.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from enum import StrEnum

from network.pickups.core.outcome import Outcome
from network.pickups.core.problem import Place, Problem, Van
from network.units import S_PER_HOUR, to_cents


class Aim(StrEnum):
    """What a plan is made for."""

    BALANCED = "balanced"
    LEAST_MONEY = "least_money"
    FEWEST_SHIFTS = "fewest_shifts"
    LEAST_OVERFLOW = "least_overflow"


# How much a day with a full container counts (guesses, no published source).
OVERFLOW_WEIGHT = {Aim.LEAST_MONEY: Decimal("0.25"), Aim.LEAST_OVERFLOW: Decimal(4)}

FullDaysCosts = Mapping[str, Mapping[int, Decimal]]
"""By place and day, the part of a visit's worth that stands for the full days it avoids."""


def weighed(problem: Problem, aim: Aim, *, full_days_costs: FullDaysCosts) -> Problem:
    """Return the problem as that aim weighs it.

    For less money a full day counts a quarter, for less overflow four times as much. For fewer
    shifts each van that goes out counts twice, and its hours as if it were out for all of them.
    """
    if aim is Aim.FEWEST_SHIFTS:
        return replace(problem, vans=tuple(_as_if_out_all_day(problem, v) for v in problem.vans))
    weight = OVERFLOW_WEIGHT.get(aim, Decimal(1))
    return replace(
        problem,
        places=tuple(
            _with_overflow(place, weight, full_days_costs.get(place.id, {}))
            for place in problem.places
        ),
    )


def _as_if_out_all_day(problem: Problem, van: Van) -> Van:
    longest_s = max((s.end_s - s.start_s for s in problem.shifts if s.van_id == van.id), default=0)
    all_day = to_cents(van.cost_per_hour * longest_s / S_PER_HOUR)
    return replace(van, cost_per_shift=2 * van.cost_per_shift + all_day)


def _with_overflow(place: Place, weight: Decimal, costs: Mapping[int, Decimal]) -> Place:
    return replace(
        place,
        days=tuple(
            replace(
                option,
                worth=to_cents(option.worth + (weight - 1) * costs.get(option.day, Decimal(0))),
            )
            for option in place.days
        ),
    )


def front(outcomes: Sequence[tuple[Aim, Outcome]]) -> list[Aim]:
    """Return the aims whose plan says something new, in their order; the first always does.

    One is dropped where nobody goes out, or where another is at least as good in money, shifts,
    full days and kilograms; of two that are equal in all four the earlier stays.
    """
    sides = [_sides(outcome) for _, outcome in outcomes]
    return [
        aim
        for index, (aim, outcome) in enumerate(outcomes)
        if index == 0
        or (outcome.shifts and not any(_beats(sides, other, index) for other in range(len(sides))))
    ]


_Sides = tuple[Decimal, ...]


def _sides(outcome: Outcome) -> _Sides:
    """What is compared: less of each is better."""
    shifts, mass_g = Decimal(outcome.shifts), Decimal(outcome.mass_g)
    return outcome.cost, shifts, outcome.full_days, -mass_g


def _beats(sides: Sequence[_Sides], other: int, mine: int) -> bool:
    as_good = all(a <= b for a, b in zip(sides[other], sides[mine], strict=True))
    return as_good and (sides[other] != sides[mine] or other < mine)
