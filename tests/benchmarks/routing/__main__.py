"""Millrace's planner held against other open-source solvers, and how it grows.

    uv run --group benchmarks python -m tests.benchmarks.routing --instances FOLDER --seconds 30
    uv run --group benchmarks python -m tests.benchmarks.routing --growth 50 200 500 1000 2000

Each solver has so many seconds for each instance: VROOM at most, as it ends by itself. OR-Tools and
VROOM count by the clock on the wall, ours by the processor, so the machine should be quiet. Ours is
shown with one search, and with two side by side that end by the same clock on two cores. Gaps are
to the best known value; a plan that breaks a rule shows none.
"""

import argparse
import resource
import sys
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

from network.pickups.core.check import check
from network.pickups.core.model import NO_SPARE, all_vehicles, build
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from tests.benchmarks.routing.invented import community
from tests.benchmarks.routing.published import Instance, as_problem, read
from tests.benchmarks.routing.rivals import Orders, ortools_routes, vroom_routes
from tests.benchmarks.routing.test_instances import NO_LIMIT, SEED, TimeLimit

GROWTH_ITERATIONS = 3_000
SOLVERS = ("one search", "two searches", "OR-Tools", "VROOM")


def gaps(instance: Instance, *, seconds: float) -> list[Decimal | None]:
    """Return each solver's gap to the best known, None where a plan breaks a rule."""
    problem = as_problem(instance)

    def ours(searches: int) -> Decimal | None:
        limit = TimeLimit(seconds * searches)
        plan = solve(problem, seed=SEED, iterations=NO_LIMIT, searches=searches, stop=limit)
        return None if check(problem, plan) else instance.gap(plan.cost)

    def theirs(routes: Callable[..., Orders]) -> Decimal | None:
        return _judged(instance, problem, routes(instance, seconds=seconds))

    return [ours(1), ours(2), theirs(ortools_routes), theirs(vroom_routes)]


def _judged(instance: Instance, problem: Problem, orders: Orders) -> Decimal | None:
    driven = [order for order in orders if order]
    named = zip(problem.shifts, driven, strict=False)
    plan = retime(problem, {shift.id: [str(row) for row in order] for shift, order in named})
    return None if check(problem, plan) else instance.gap(plan.cost)


def against_others(folder: Path, *, seconds: float) -> None:
    """Print the gaps of all instances in a folder, and their means."""
    paths = sorted(path for path in folder.iterdir() if path.suffix in {".vrp", ".txt"})
    _say(f"{'instance':40}" + "".join(f"{name:>14}" for name in SOLVERS))
    columns: list[list[Decimal]] = [[] for _ in SOLVERS]
    for path in paths:
        found = gaps(read(path), seconds=seconds)
        _say(f"{path.stem:40}" + "".join(f"{_percent(gap):>14}" for gap in found))
        for column, gap in zip(columns, found, strict=True):
            column.extend([] if gap is None else [gap])
    means = [sum(column, Decimal(0)) / len(column) if column else None for column in columns]
    _say(f"{'mean gap %':40}" + "".join(f"{_percent(mean):>14}" for mean in means))


def growth(sizes: list[int]) -> None:
    """Print how time, memory and what is made of a plan grow with the number of places."""
    _say(f"{'places':>7}{'seconds':>9}{'own %':>7}{'visited':>9}{'net worth':>11}{'memory MB':>11}")
    for places in sizes:
        problem = community(places, seed=SEED)
        began, spun_s = time.perf_counter(), time.process_time()
        plan = solve(problem, seed=SEED, iterations=GROWTH_ITERATIONS, searches=2)
        spent_s, spun_s = time.perf_counter() - began, time.process_time() - spun_s
        memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        _say(
            f"{places:7}{spent_s:9.2f}{_own_s(problem, plan) / spun_s * 100:7.1f}"
            f"{len(plan.visit_by_place):9}{plan.worth - plan.cost:11}{memory_mb:11.0f}"
        )


def _own_s(problem: Problem, plan: Plan) -> float:
    """What Millrace itself does for a plan: put it to the solver, time it, and check it."""
    orders = plan.orders
    began = time.process_time()
    build(problem, all_vehicles(problem), enforce_required=True, spare=NO_SPARE)
    violations = check(problem, retime(problem, orders))
    if violations:
        raise SystemExit(f"the plan breaks a rule: {violations[0].code}")
    return time.process_time() - began


def _percent(gap: Decimal | None) -> str:
    return "-" if gap is None else f"{gap * 100:.2f}"


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """Run what is asked for."""
    parser = argparse.ArgumentParser(description="Compare solvers on published instances.")
    parser.add_argument("--instances", type=Path, help="folder of .vrp or .txt with .sol")
    parser.add_argument("--seconds", type=float, default=30, help="processor seconds for each")
    parser.add_argument("--growth", type=int, nargs="*", default=[], help="numbers of places")
    options = parser.parse_args()
    if options.instances:
        against_others(options.instances, seconds=options.seconds)
    if options.growth:
        growth(options.growth)


if __name__ == "__main__":
    main()
