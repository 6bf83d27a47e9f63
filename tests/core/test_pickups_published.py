"""Small published instances, with their figures, through our own problem and check.

Their best-known values are proven optima, so a shorter plan would tell that the problem was put
wrongly, and a much longer one that the search is. The iteration limit is fixed.
"""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from network.pickups.core.check import check
from network.pickups.core.problem import Problem
from network.pickups.core.solve import solve
from tests.benchmarks.routing.published import (
    TENTHS,
    Instance,
    as_problem,
    rounded_euclidean,
    truncated_tenths,
)

# Christofides and Eilon 1969, "An algorithm for the vehicle-dispatching problem", Oper. Res. Q.
# 20:309; as E-n22-k4 in CVRPLIB. Optimum 375 as stated in the instance's own comment.
# Rows: x, y, demand; the first is the depot.
E_N22_K4 = """
145 215 0     151 264 1100  159 261 700   130 254 800   128 252 1400  163 247 2100
146 246 400   161 242 800   142 239 100   163 236 500   148 232 600   128 231 1200
156 217 1300  129 214 1300  146 208 300   164 208 900   141 206 2100  147 193 1000
164 193 900   129 189 2500  155 185 1800  139 182 700
"""

# Augerat et al. 1995, set A; as A-n32-k5 in CVRPLIB. Optimum 784, stated with the instance.
A_N32_K5 = """
82 76 0    96 44 19   50 5 21    49 8 6     13 7 19    29 89 7    58 30 12   84 39 16
14 24 6    2 39 16    3 82 8     5 10 14    98 52 21   84 25 16   61 59 3    1 65 22
88 51 18   91 2 19    19 32 1    93 3 24    50 93 8    98 14 12   5 42 4     42 9 8
61 62 24   9 97 24    80 55 2    57 69 20   23 15 15   20 70 2    85 60 14   98 5 9
"""

# Solomon 1987, "Algorithms for the vehicle routing and scheduling problems with time window
# constraints", Oper. Res. 35:254: RC108, its first 25 customers, each with 10 minutes of work.
# Rows: x, y, demand, ready, due. Optimum 294.5 with distances cut after one decimal (Kohl et al.
# 1999, "2-path cuts", Transp. Sci. 33:101; the value from memory).
RC108_25 = """
40 50 0 0 240     25 85 20 49 191   22 75 30 30 168   22 85 10 95 152   20 80 40 69 193
20 85 20 40 189   18 75 20 60 159   15 75 20 54 133   15 80 10 67 144   10 35 20 57 154
10 40 30 106 161  8 40 40 33 152    8 45 20 32 148    5 35 10 53 191    5 45 10 35 194
2 40 20 39 163    0 40 20 41 141    0 45 20 51 189    44 5 20 73 130    42 10 40 40 148
42 15 10 94 179   40 5 10 45 161    40 15 40 64 149   38 5 30 45 164    38 15 10 51 194
35 5 20 45 183
"""

GAP_MAX = Decimal("0.01")
SEED = 1
ITERATIONS = 300


def by_capacity(name: str, rows: str, *, capacity: int, best_known: int) -> Instance:
    table = np.array(rows.split(), dtype=np.int64).reshape(-1, 3)
    return Instance(
        name=name,
        distances=rounded_euclidean(table[:, :2]),
        demands=tuple(int(demand) for demand in table[:, 2]),
        capacity=capacity,
        vehicles=len(table) - 1,
        services=(0,) * len(table),
        windows=None,
        per_unit=1,
        best_known=Decimal(best_known),
    )


def by_windows(name: str, rows: str, *, capacity: int, best_known: str) -> Instance:
    table = np.array(rows.split(), dtype=np.int64).reshape(-1, 5)
    return Instance(
        name=name,
        distances=truncated_tenths(table[:, :2]),
        demands=tuple(int(demand) for demand in table[:, 2]),
        capacity=capacity,
        vehicles=25,
        services=(0, *(10 * TENTHS,) * (len(table) - 1)),
        windows=tuple((int(a) * TENTHS, int(b) * TENTHS) for a, b in table[:, 3:]),
        per_unit=TENTHS,
        best_known=Decimal(best_known),
    )


INSTANCES = (
    by_capacity("E-n22-k4", E_N22_K4, capacity=6000, best_known=375),
    by_capacity("A-n32-k5", A_N32_K5, capacity=100, best_known=784),
    by_windows("RC108, 25 customers", RC108_25, capacity=200, best_known="294.5"),
)


@pytest.mark.parametrize("instance", INSTANCES, ids=[instance.name for instance in INSTANCES])
def test_a_small_published_instance_is_solved_within_one_per_cent(instance: Instance) -> None:
    problem = as_problem(instance)
    plan = solve(problem, seed=SEED, iterations=ITERATIONS)
    assert check(problem, plan) == []
    assert plan.unplanned == ()
    assert 0 <= instance.gap(plan.cost) <= GAP_MAX, f"{plan.cost} against {instance.best_known}"


@pytest.mark.parametrize("instance", INSTANCES, ids=[instance.name for instance in INSTANCES])
def test_the_total_demand_needs_as_many_vans_as_are_used(instance: Instance) -> None:
    plan = solve(as_problem(instance), seed=SEED, iterations=ITERATIONS)
    assert sum(route.mass_g for route in plan.routes) == sum(instance.demands)
    assert len(plan.routes) >= -(-sum(instance.demands) // instance.capacity)


def test_with_a_van_too_few_some_places_are_left_out_and_say_so() -> None:
    # 22,500 units wait; three vans of 6,000 take 18,000 at most.
    problem: Problem = as_problem(replace(INSTANCES[0], vehicles=3))
    plan = solve(problem, seed=SEED, iterations=ITERATIONS)
    assert {violation.code for violation in check(problem, plan)} == {"required_left_out"}
    assert 17_000 <= plan.mass_g <= 18_000
    assert plan.unplanned
