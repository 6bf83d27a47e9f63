"""A large plan: split by direction, searched in parts, and joined."""

from itertools import count
from threading import get_ident

import pytest

from network.pickups.core.check import check
from network.pickups.core.parts import ITERATIONS_A_PLACE_MAX, LARGE_PLACES, joined, split
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.solve import solve
from tests.benchmarks.routing.invented import community


@pytest.fixture(scope="module")
def problem() -> Problem:
    return community(LARGE_PLACES, seed=1)


@pytest.fixture(scope="module")
def plan(problem: Problem) -> Plan:
    return solve(problem, seed=1, iterations=30, searches=2)


def test_a_large_plan_keeps_all_rules_and_is_the_same_each_time(
    problem: Problem, plan: Plan
) -> None:
    assert check(problem, plan) == []
    assert plan.worth > plan.cost
    assert solve(problem, seed=1, iterations=30, searches=2) == plan


@pytest.mark.parametrize("turn", [0, 0.5])
def test_each_place_and_each_shift_is_in_one_part_with_its_own_route(
    problem: Problem, plan: Plan, turn: float
) -> None:
    parts = split(problem, plan, parts=2, turn=turn)
    places = [place.id for part, _ in parts for place in part.places]
    shifts = [shift.id for part, _ in parts for shift in part.shifts]
    assert sorted(places) == sorted(place.id for place in problem.places)
    assert sorted(shifts) == sorted(shift.id for shift in problem.shifts)
    for part, own in parts:
        assert own.routes
        assert {route.shift_id for route in own.routes} <= set(part.shift_by_id)
        assert set(own.visit_by_place) <= set(part.place_by_id)


def test_parts_that_nobody_changed_join_to_the_same_plan(problem: Problem, plan: Plan) -> None:
    assert joined(problem, [own for _, own in split(problem, plan, parts=2, turn=0)]) == plan


def test_the_rule_is_asked_in_one_thread_and_ends_all_parts(problem: Problem) -> None:
    askers: list[int] = []

    def stop(best_cost: int) -> bool:
        assert best_cost
        askers.append(get_ident())
        return len(askers) >= LARGE_PLACES + 10

    iterations = ITERATIONS_A_PLACE_MAX * LARGE_PLACES
    ended = solve(problem, seed=1, iterations=iterations, searches=2, stop=stop)
    assert set(askers) == {get_ident()}
    assert check(problem, ended) == []


def test_a_search_that_only_its_rule_ends_looks_at_the_whole(
    problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    def searched() -> Plan:
        asked = count()
        return solve(
            problem, seed=1, iterations=10**9, stop=lambda _: next(asked) >= 3 * LARGE_PLACES
        )

    found = searched()
    monkeypatch.setattr("network.pickups.core.solve.pays_in_parts", lambda *_: False)
    assert searched() == found
