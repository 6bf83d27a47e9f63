"""The benchmark's own arithmetic, on an invented instance small enough to try every plan."""

from itertools import permutations, product
from pathlib import Path

import numpy as np
import pytest

from tests.benchmarks.inventory.improving import improve
from tests.benchmarks.inventory.instances import Instance, read

# Two periods of a van with room for 30; a depot that makes 25, three customers; invented.
SMALL = """4 3 30 1
0 0 0 60 25 0.10
1 30 40 10 30 0 10 0.30
2 60 0 15 30 0 5 0.05
3 0 -50 10 20 0 10 0.20
"""


@pytest.fixture
def small(tmp_path: Path) -> Instance:
    path = tmp_path / "small.dat"
    path.write_text(SMALL)
    return read(path)


def test_an_instance_is_read_as_its_mirror_image(small: Instance) -> None:
    assert small.fill.tolist() == [20, 15, 10]
    assert small.metres[0].tolist() == [0, 50, 60, 50]
    assert small.faults(np.zeros((3, 3), dtype=np.int64)) == [
        "a container stands more than full",
    ]


def test_holding_is_that_of_the_deliveries_worked_by_hand(small: Instance) -> None:
    """20 to the first and 10 to the third in the second period.

    Stocks at the ends: 0, 10, 0; 10, 5, 0; 0, 0, -10 without the third's visit, so 0, 0, 0 with it;
    the depot's: 85, 110 - 30, 135 - 30.
    """
    collected = np.zeros((3, 3), dtype=np.int64)
    collected[0, 1], collected[2, 1] = 20, 10
    customers = 0.30 * (0 + 10 + 0) + 0.05 * (10 + 5 + 0) + 0.20 * (0 + 0 - 10)
    depot = 0.10 * (85 + 80 + 105)
    assert small.holding(collected) == pytest.approx(customers + depot)


def test_a_small_instance_is_solved_as_well_as_by_trying_every_plan(small: Instance) -> None:
    plan = improve(small, seconds=0.5, seed=1)
    assert plan.faults() == []
    assert plan.cost == pytest.approx(_least(small))


def _least(instance: Instance) -> float:
    """The least cost over all plans in amounts of fives."""
    ways = {
        visited: min(_length(instance, order) for order in permutations(visited))
        for size in range(4)
        for visited in _subsets(size)
    }
    amounts = range(0, 31, 5)
    rows = [
        [row for row in product(amounts, repeat=3) if _is_sound(instance, place, row)]
        for place in range(3)
    ]
    costs = []
    for plan in product(*rows):
        collected = np.array(plan)
        if collected.sum(axis=0).max() > instance.capacity or instance.faults(collected):
            continue
        visits = (tuple(np.flatnonzero(collected[:, day]).tolist()) for day in range(3))
        costs.append(sum(ways[visited] for visited in visits) + instance.holding(collected))
    return min(costs)


def _subsets(size: int) -> list[tuple[int, ...]]:
    return [
        visited for visited in product(range(3), repeat=size) if sorted(set(visited)) == [*visited]
    ]


def _length(instance: Instance, order: tuple[int, ...]) -> int:
    rows = [0, *(place + 1 for place in order), 0]
    return int(instance.metres[rows[:-1], rows[1:]].sum())


def _is_sound(instance: Instance, place: int, row: tuple[int, ...]) -> bool:
    there = int(instance.fill[place])
    for amount in row:
        there -= amount
        if there < 0 or there + instance.inflow[place] > instance.room[place]:
            return False
        there += int(instance.inflow[place])
    return True
