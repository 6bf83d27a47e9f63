"""Larger published instances, read from a folder, through Millrace's own problem and check.

    uv run pytest tests/benchmarks/routing --routing-instances FOLDER --routing-seconds 10

The folder holds `.vrp` or `.txt` files, each with its best-known `.sol` beside it. Time and gap
are shown, not asserted: they depend on the machine. What is asserted holds on any machine: the
plan is sound, nobody is left out, and it is not better than the best known, which would tell
that the problem was put wrongly.
"""

import time
from decimal import Decimal
from pathlib import Path

import pytest

from network.pickups.core.check import check
from network.pickups.core.solve import solve
from tests.benchmarks.routing.published import as_problem, read
from tests.benchmarks.routing.table import Row

SEED = 1
NO_LIMIT = 10**9


class TimeLimit:
    """Stops a search so many seconds of this process's time after it was first asked.

    Processor time, so that a busy machine does not make a search look worse than it is.
    """

    def __init__(self, limit_s: float) -> None:
        self.limit_s = limit_s
        self.started: float | None = None
        self.asked: float = 0

    def __call__(self, best_cost: int) -> bool:
        self.asked = time.process_time()
        self.started = self.asked if self.started is None else self.started
        return self.asked - self.started >= self.limit_s

    @property
    def searched_s(self) -> float:
        """From the first time it was asked to the last."""
        return self.asked - (self.started or self.asked)


def test_a_published_instance_is_planned_soundly(
    instance_path: Path, table: list[Row], request: pytest.FixtureRequest
) -> None:
    instance = read(instance_path)
    limit = TimeLimit(float(request.config.getoption("--routing-seconds")))
    began = time.process_time()
    problem = as_problem(instance)
    plan = solve(problem, seed=SEED, iterations=NO_LIMIT, stop=limit)
    violations = check(problem, plan)
    total_s = time.process_time() - began
    assert violations == []
    assert plan.unplanned == ()
    gap = instance.gap(plan.cost)
    assert gap >= 0
    table.append(
        Row(
            name=instance.name,
            best_known=instance.best_known,
            length=plan.cost / Decimal(instance.per_unit),
            gap=gap,
            total_s=total_s,
            own_share=1 - limit.searched_s / total_s,
        )
    )
