"""What a plan comes to, and how two plans differ: kilometres, time, money and overflow."""

from dataclasses import dataclass
from decimal import Decimal

from network.pickups.core.plan import Plan
from network.pickups.core.problem import Place, Problem


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """A plan's sums, or the difference of two plans' sums.

    `full_days` counts the days, one for each container, on which something is expected to stand
    full under the plan. What is emptied once is taken to be so on each later day on which somebody
    could come.
    """

    places: int
    shifts: int
    distance_m: int
    duration_s: int
    mass_g: int
    cost: Decimal
    worth: Decimal
    full_days: Decimal


def outcome_of(problem: Problem, plan: Plan) -> Outcome:
    """Return what a plan of that problem comes to."""
    return Outcome(
        places=len(plan.visit_by_place),
        shifts=len(plan.routes),
        distance_m=plan.distance_m,
        duration_s=plan.duration_s,
        mass_g=plan.mass_g,
        cost=plan.cost,
        worth=plan.worth,
        full_days=sum((_full_days(plan, place) for place in problem.places), Decimal(0)),
    )


def _full_days(plan: Plan, place: Place) -> Decimal:
    visit = plan.visit_by_place.get(place.id)
    option = place.on(visit[0].day) if visit else None
    return place.full_days - (option.full_days_avoided if option else 0)


def difference(before: Outcome, after: Outcome) -> Outcome:
    """Return by how much each sum is greater after than before; below zero where it is less."""
    return Outcome(
        places=after.places - before.places,
        shifts=after.shifts - before.shifts,
        distance_m=after.distance_m - before.distance_m,
        duration_s=after.duration_s - before.duration_s,
        mass_g=after.mass_g - before.mass_g,
        cost=after.cost - before.cost,
        worth=after.worth - before.worth,
        full_days=after.full_days - before.full_days,
    )
