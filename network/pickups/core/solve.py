"""Make a plan: who is visited when, by which van, in which order.

The search is PyVRP's iterated local search, side by side with others of its kind. For one seed,
iteration limit and number of searches it always gives the same plan. Nothing infeasible raises:
what cannot be is a plan with reasons.
"""

import warnings
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import pyvrp
from pyvrp.exceptions import PenaltyBoundWarning, ScalingWarning

from network.errors import InvalidInput
from network.pickups.core.mend import mended, rank, spare_for
from network.pickups.core.model import NO_SPARE, Model, Spare, VehicleKey, all_vehicles, build
from network.pickups.core.parts import pays_in_parts, search_in_parts
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.schedule import retime
from network.pickups.core.search import Effort, StopRule, search
from network.pickups.core.translate import orders_of, solution_of, sound_routes


def solve(
    problem: Problem,
    *,
    seed: int,
    iterations: int,
    searches: int = 1,
    warm_start: Plan | None = None,
    stop: StopRule | None = None,
) -> Plan:
    """Return the best plan found within so many iterations: least cost less worth of visits.

    `searches` go on side by side, each of so many iterations, and tell one another what they
    found: with as many cores they take hardly longer than one.

    Required and pinned visits come before any saving; where they cannot all be made, as many
    as can be are, and the rest are listed with reasons. `warm_start` gives the search a plan
    to improve on: visits that no longer fit are dropped from it. `stop` may end the search
    early (a time limit, a person's wish); the best so far is then returned, but only the
    iteration limit repeats exactly. At most four times that many iterations are run,
    eight times where a shift bounds its driver's time.
    """
    if seed < 0:
        raise InvalidInput.of("seed", f"must be zero or more, not {seed}")
    for name, count in (("iterations", iterations), ("searches", searches)):
        if count < 1:
            raise InvalidInput.of(name, f"must be 1 or more, not {count}")
    if not problem.shifts:
        return retime(problem, {})
    effort = Effort(seed=seed, iterations=iterations, searches=searches, stop=stop)
    with warnings.catch_warnings():
        # Both tell that a bound is hard to keep or a number large: here that is a result (fewer
        # visits, with reasons), not a fault to be told on the console. The filters are those of
        # all threads, so they are set before any is begun.
        warnings.simplefilter("ignore", PenaltyBoundWarning)
        warnings.simplefilter("ignore", ScalingWarning)
        if pays_in_parts(problem, effort):
            return search_in_parts(problem, effort, warm_start, search=_searched)
        return _searched(problem, effort, warm_start)


def _searched(problem: Problem, effort: Effort, warm_start: Plan | None) -> Plan:
    task = _Task(problem=problem, effort=effort, warm_start=warm_start)
    plan = task.plan()
    spare = spare_for(problem, plan)
    if spare is None:
        return plan
    tries = [plan, replace(task, spare=spare).plan()]
    return min((mended(problem, one) for one in tries), key=lambda one: rank(one, problem))


@dataclass(frozen=True, kw_only=True)
class _Outcome:
    """What a search ended on, with the model to read it by."""

    model: Model
    solution: pyvrp.Solution | None

    @property
    def is_sound(self) -> bool:
        """Whether the search ended on routes that break nothing."""
        return self.solution is None or self.solution.is_feasible()

    @cached_property
    def routes(self) -> tuple[pyvrp.Route, ...]:
        """The routes, each without what makes it break a bound."""
        return sound_routes(self.model, self.solution) if self.solution else ()


@dataclass(frozen=True, kw_only=True)
class _Task:
    """One problem with one effort, searched with one choice of vehicles or another."""

    problem: Problem
    effort: Effort
    warm_start: Plan | None
    spare: Spare = NO_SPARE

    def plan(self) -> Plan:
        """Search, settle each van on one setting, and work out times and loads."""
        outcome = self.best(all_vehicles(self.problem))
        settled = _settled(outcome)
        if settled is not None:
            outcome = self.best(settled)
        return retime(self.problem, orders_of(outcome.model, outcome.routes, like=self.warm_start))

    def best(self, vehicles: Sequence[VehicleKey]) -> _Outcome:
        """Search with all that is required held fast; where that fails, with as much as can be."""
        outcome = self._run(vehicles, enforce_required=True)
        if outcome.is_sound:
            return outcome
        return self._run(vehicles, enforce_required=False)

    def _run(self, vehicles: Sequence[VehicleKey], *, enforce_required: bool) -> _Outcome:
        model = build(self.problem, vehicles, enforce_required=enforce_required, spare=self.spare)
        if not model.clients:
            return _Outcome(model=model, solution=None)
        start = solution_of(model, self.warm_start) if self.warm_start else None
        return _Outcome(model=model, solution=search(model.data, self.effort, start))


def _settled(outcome: _Outcome) -> tuple[VehicleKey, ...] | None:
    """Where vans were used twice, in two settings, settle each on the one that brings in more.

    Each setting of a shift is a vehicle type of its own to the solver, which cannot be told
    that a van has but one. Returns None where no van was used twice.
    """
    vehicles = outcome.model.vehicles
    room = {id(key.kind): len(key.kind.shifts) for key in vehicles}
    used: Counter[int] = Counter()
    kept: Counter[int] = Counter()
    for route in sorted(outcome.routes, key=lambda route: _weight(outcome.model, route)):
        kind = id(vehicles[route.vehicle_type()].kind)
        used[kind] += 1
        if used[kind] <= room[kind]:
            kept[route.vehicle_type()] += 1
    crowded = {kind for kind, count in used.items() if count > room[kind]}
    if not crowded:
        return None
    return tuple(
        replace(key, count=kept[index]) if id(key.kind) in crowded else key
        for index, key in enumerate(vehicles)
        if id(key.kind) not in crowded or kept[index]
    )


def _weight(model: Model, route: pyvrp.Route) -> tuple[int, int]:
    """Order routes by how many visits that were asked for they hold, then by worth; most first."""
    visited = [model.clients[step.idx].place for step in route.schedule() if step.is_client()]
    return -sum(place.must_be_visited for place in visited), -route.prizes()
