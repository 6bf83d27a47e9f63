"""The best plan of a tiny problem, by trying every order of every choice of places."""

from collections.abc import Iterator
from decimal import Decimal
from itertools import permutations, product

from network.pickups.core.check import ViolationCode, check
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.schedule import retime


def gain(plan: Plan) -> Decimal:
    """What the solver makes as large as it can: worth of the visits less their cost."""
    return plan.worth - plan.cost


def is_sound(problem: Problem, plan: Plan) -> bool:
    """Whether the routes keep every rule, apart from visits that were asked for and are missing."""
    codes = {violation.code for violation in check(problem, plan)}
    return codes <= {ViolationCode.REQUIRED_LEFT_OUT}


Score = tuple[int, Decimal]

ROUNDING = Decimal("0.02")
"""Each route's costs are rounded to a cent by part; the solver counts them finer."""


def score(problem: Problem, plan: Plan) -> Score:
    """What makes one plan better than another: visits that were asked for first, then the gain."""
    asked_for = [place.id for place in problem.places if place.must_be_visited]
    return sum(place_id in plan.visit_by_place for place_id in asked_for), gain(plan)


def best_score(problem: Problem) -> Score:
    """The best of all sound plans without unloadings.

    For up to four places and two shifts: some 600 orders.
    """
    return max(score(problem, plan) for plan in _all_plans(problem) if is_sound(problem, plan))


def is_as_good(one: Score, other: Score) -> bool:
    """Whether one score is no worse than another, but for the rounding of two routes' costs."""
    return one[0] > other[0] or (one[0] == other[0] and one[1] >= other[1] - ROUNDING)


def _all_plans(problem: Problem) -> Iterator[Plan]:
    shift_ids = [shift.id for shift in problem.shifts]
    place_ids = [place.id for place in problem.places]
    for choice in product([None, *shift_ids], repeat=len(place_ids)):
        chosen = {
            shift_id: [p for p, s in zip(place_ids, choice, strict=True) if s == shift_id]
            for shift_id in shift_ids
        }
        for orders in product(*(permutations(ids) for ids in chosen.values())):
            yield retime(problem, dict(zip(chosen, orders, strict=True)))
