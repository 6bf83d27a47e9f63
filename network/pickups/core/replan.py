"""The rest of a day planned anew from where the vans are, changing little.

What stands is kept while it can be: stops that lost their van, or are new, come in where they add
least, and the others stay on their van in their order. Only where that leaves a visit out, breaks
a rule, or costs much more than need be, does the search begin again from there; a stop that then
changes its van or its hour must pay for the trouble.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from network.pickups.core.check import ViolationCode, check
from network.pickups.core.obstacles import obstacles
from network.pickups.core.plan import Plan, Route, missing_visits
from network.pickups.core.problem import Place, Problem
from network.pickups.core.room import ShiftRoom, best_positions, rooms_of
from network.pickups.core.schedule import retime, timed_route
from network.pickups.core.search import StopRule
from network.pickups.core.solve import solve

Orders = Mapping[str, Sequence[str]]

SAME_HOUR_S = 1_800
"""By how much a visit may shift without its place being troubled (a guess, no published source)."""


def replan(
    problem: Problem,
    in_force: Orders,
    *,
    seed: int,
    iterations: int,
    trouble: Decimal,
    searches: int = 1,
    stop: StopRule | None = None,
) -> Plan:
    """Return a plan of the rest of the day; `in_force` has the stops still to come by shift.

    A place that must be visited and is in no order there has lost its van, or is urgent. With
    none such, and no rule broken, the plan in force is returned. `trouble` is what it costs that
    one stop changes its van or its hour.
    """
    standing = retime(problem, in_force)
    homeless = missing_visits(problem, standing)
    if not homeless and _is_sound(problem, standing):
        return standing
    patched = _patched(problem, _without_hopeless(problem, in_force), homeless)
    searched = solve(
        problem,
        seed=seed,
        iterations=iterations,
        searches=searches,
        warm_start=patched,
        stop=stop,
    )
    tries = [_Try.of(problem, plan, standing, trouble=trouble) for plan in (patched, searched)]
    return min(tries, key=lambda one: one.rank).plan


@dataclass(frozen=True, kw_only=True)
class _Try:
    """A plan with what it is judged by: rules broken, visits missing, then money."""

    plan: Plan
    rank: tuple[bool, int, Decimal]

    @classmethod
    def of(cls, problem: Problem, plan: Plan, standing: Plan, *, trouble: Decimal) -> "_Try":
        missing = len(missing_visits(problem, plan))
        money = plan.cost - plan.worth + trouble * _troubled(standing, plan)
        return cls(plan=plan, rank=(not _is_sound(problem, plan), missing, money))


def _is_sound(problem: Problem, plan: Plan) -> bool:
    codes = {violation.code for violation in check(problem, plan)}
    return codes <= {ViolationCode.REQUIRED_LEFT_OUT}


def _troubled(standing: Plan, plan: Plan) -> int:
    """How many visits that stood have changed their van or their hour, or are gone."""
    troubled = 0
    for place_id, (route, stop) in standing.visit_by_place.items():
        now = plan.visit_by_place.get(place_id)
        same = now is not None and now[0].shift_id == route.shift_id
        moved_s = abs(now[1].arrival_s - stop.arrival_s) if now else 0
        troubled += not same or moved_s > SAME_HOUR_S
    return troubled


def _without_hopeless(problem: Problem, in_force: Orders) -> Plan:
    """What stands, without the visits that no shift could make on its own."""
    hopeless = {place.id for place in problem.places if obstacles(problem, place)}
    return retime(
        problem,
        {
            shift: [stop for stop in order if stop not in hopeless]
            for shift, order in in_force.items()
        },
    )


def _patched(problem: Problem, standing: Plan, homeless: Sequence[Place]) -> Plan:
    """Put each of these places where it adds least, the one that adds least first."""
    plan, waiting = standing, list(homeless)
    while waiting:
        routes = {route.shift_id: route for route in plan.routes}
        rooms = rooms_of(problem, plan)
        best = min(
            (way for place in waiting for way in _ways_in(problem, routes, rooms, place)),
            key=lambda way: (way.added, way.place.id, way.shift_id),
            default=None,
        )
        if best is None:
            return plan
        plan = retime(problem, {**plan.orders, best.shift_id: best.order})
        waiting.remove(best.place)
    return plan


@dataclass(frozen=True, kw_only=True)
class _WayIn:
    """One sound way to take a place in: the shift's new order, and what it adds in money."""

    place: Place
    shift_id: str
    order: Sequence[str]
    added: Decimal


def _ways_in(
    problem: Problem, routes: Mapping[str, Route], rooms: Sequence[ShiftRoom], place: Place
) -> Iterator[_WayIn]:
    for shift, position, broken in best_positions(place, rooms):
        if broken is not None:
            continue
        route = routes.get(shift.id)
        order = route.order if route else []
        order.insert(position, place.id)
        cost = timed_route(problem, shift, order).cost.total
        before = route.cost.total if route else Decimal(0)
        yield _WayIn(place=place, shift_id=shift.id, order=order, added=cost - before)
