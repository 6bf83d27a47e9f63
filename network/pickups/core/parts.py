"""A large plan in parts that lie in different directions, each searched on its own.

A search over all places tries most of its changes in vain where it has thousands to choose from.
Routes that lie in one direction, with the places near them, are a planning problem of their own:
parts are searched side by side, joined, split elsewhere and joined again (measured: decision 24).
"""

import math
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from network.pickups.core.plan import Plan, Route
from network.pickups.core.problem import Depot, Place, Problem, Shift
from network.pickups.core.schedule import retime
from network.pickups.core.search import Effort, Halt, StopRule

LARGE_PLACES = 300
"""From so many places on a plan is searched in parts."""

ITERATIONS_A_PLACE_MAX = 60
"""With more iterations than so many for each place, all are searched as a whole."""

PLACES_A_PART = 150
TURNS = 2

Part = tuple[Problem, Plan]
Search = Callable[[Problem, Effort, Plan | None], Plan]


def pays_in_parts(problem: Problem, effort: Effort) -> bool:
    """Whether a plan is large, and the search too short to look at all of it at once.

    A search that only time ends has no share of it to give to each part.
    """
    places = len(problem.places)
    return places >= LARGE_PLACES and effort.iterations <= ITERATIONS_A_PLACE_MAX * places


def search_in_parts(
    problem: Problem, effort: Effort, start: Plan | None, *, search: Search
) -> Plan:
    """Return a plan that is begun as a whole, bettered in parts, and ended as a whole.

    The thread that asks for it searches some of the parts, so that it alone asks the rule, with
    the cost of the whole plan as it was last known; the same effort gives the same plan.
    """
    places, said = len(problem.places), _Said(effort.stop)
    first = replace(effort, iterations=min(places, effort.iterations), stop=said)
    plan = search(problem, first, start)
    for turn in range(TURNS):
        parts = min(round(places / PLACES_A_PART), len(plan.routes))
        if parts > 1:
            halt = Halt(said.again)
            share = replace(effort, iterations=max(1, effort.iterations * 3 // 10), searches=1)
            split_up = split(problem, plan, parts=parts, turn=turn / TURNS)
            plan = joined(problem, _side_by_side(split_up, share, halt, effort.searches, search))
    last = replace(effort, iterations=max(1, effort.iterations // 10), stop=said)
    return search(problem, last, plan)


def _side_by_side(
    parts: Sequence[Part], effort: Effort, halt: Halt, threads: int, search: Search
) -> list[Plan]:
    """Search each part: every so many-th in this thread, the others in others."""

    def run(thread: int) -> list[Plan]:
        rule = halt.asking if thread == 0 else halt.following
        return [
            search(problem, replace(effort, seed=effort.seed + at, stop=rule), plan)
            for at, (problem, plan) in enumerate(parts)
            if at % threads == thread
        ]

    with ThreadPoolExecutor(threads) as pool:
        begun = [pool.submit(run, thread) for thread in range(1, threads)]
        try:
            found = run(0)
        except BaseException:
            halt.call()  # or the others would go on to their end
            raise
        return [*found, *(plan for one in begun for plan in one.result())]


class _Said:
    """A rule that remembers what it was last asked with."""

    def __init__(self, rule: StopRule | None) -> None:
        self._rule = rule
        self._cost = 0

    def __call__(self, best_cost: int) -> bool:
        self._cost = best_cost
        return self._rule is not None and self._rule(best_cost)

    def again(self, best_cost: int) -> bool:
        """Ask with the cost of the whole: what a part costs says nothing."""
        del best_cost
        return self._rule is not None and self._rule(self._cost)


def split(problem: Problem, plan: Plan, *, parts: int, turn: float) -> list[Part]:
    """Split a plan into so many parts by direction from the workshop, each with its own plan.

    `turn` is by how much of a part the borders are turned, from 0 to 1. A shift that stays at
    home goes with one part after another; a place without a visit with its nearest direction.
    """
    centre = problem.depot_by_id[problem.shifts[0].start_depot_id]
    routes = {route.shift_id: route for route in plan.routes}
    by_direction = sorted(plan.routes, key=lambda route: _direction(centre, _stops(problem, route)))
    offset = int(turn * len(by_direction) / parts)
    turned = [*by_direction[offset:], *by_direction[:offset]]
    part_of = {route.shift_id: at * parts // len(turned) for at, route in enumerate(turned)}
    idle = [shift for shift in problem.shifts if shift.id not in routes]
    part_of.update({shift.id: at % parts for at, shift in enumerate(idle)})
    place_part = {
        stop.location_id: part_of[route.shift_id] for route in plan.routes for stop in route.visits
    }
    place_part |= _with_the_nearest(problem, place_part)
    return [
        _part(
            problem,
            plan,
            shifts=[shift for shift in problem.shifts if part_of[shift.id] == number],
            places=[place for place in problem.places if place_part[place.id] == number],
        )
        for number in range(parts)
    ]


def joined(problem: Problem, plans: Iterable[Plan]) -> Plan:
    """Put the plans of all parts together again."""
    return retime(problem, {shift: order for plan in plans for shift, order in plan.orders.items()})


def _part(
    problem: Problem, plan: Plan, *, shifts: Sequence[Shift], places: Sequence[Place]
) -> Part:
    ids = {shift.id for shift in shifts}
    return (
        replace(problem, shifts=tuple(shifts), places=tuple(places)),
        replace(plan, routes=tuple(route for route in plan.routes if route.shift_id in ids)),
    )


def _stops(problem: Problem, route: Route) -> list[Place]:
    return [problem.place_by_id[stop.location_id] for stop in route.visits]


def _direction(centre: Depot, places: Sequence[Place]) -> float:
    """The direction of the middle of some places, as an angle."""
    east = sum(place.longitude - centre.longitude for place in places)
    north = sum(place.latitude - centre.latitude for place in places)
    return math.atan2(north, east * math.cos(math.radians(centre.latitude)))


def _with_the_nearest(problem: Problem, part_of: dict[str, int]) -> dict[str, int]:
    """Put each place without a visit into the part of the visit that it is nearest to."""
    travel, visited = problem.travel, list(part_of)
    columns = [travel.index(place_id) for place_id in visited]
    found: dict[str, int] = {}
    for place in problem.places:
        if place.id not in part_of:
            seconds = travel.seconds[travel.index(place.id), columns]
            ways = np.where(seconds < 0, np.iinfo(np.int64).max, seconds)
            found[place.id] = part_of[visited[int(ways.argmin())]]
    return found
