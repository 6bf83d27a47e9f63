"""Problems that make no sense, or are far too large: still a plan, with reasons."""

from dataclasses import replace

import numpy as np
import pytest

from network.pickups.core.check import ViolationCode, check
from network.pickups.core.explain import explain
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.reasons import ReasonCode
from network.pickups.core.solve import solve
from network.pickups.core.travel import NO_ROAD, Travel
from tests.core.pickup_problems import (
    NAMES,
    TERN,
    cross,
    cross_travel,
    hours,
    load,
    place,
    shift,
    visit_day,
)

MANY = 1_000


def planned(problem: Problem, *, iterations: int = 50) -> Plan:
    """A plan that breaks no rule, with a reason for each place that is left out."""
    plan = solve(problem, seed=1, iterations=iterations, searches=2)
    codes = {violation.code for violation in check(problem, plan)}
    assert codes <= {ViolationCode.REQUIRED_LEFT_OUT}
    assert all(one.reasons for one in plan.unplanned)
    return plan


def why(problem: Problem) -> set[ReasonCode]:
    """The reasons of a plan that visits nobody."""
    plan = planned(problem)
    assert plan.routes == ()
    told = {reason.code for one in explain(problem, plan) for reason in one.reasons}
    assert told == {reason.code for one in plan.unplanned for reason in one.reasons}
    return told


def everybody(**changes: object) -> Problem:
    """The cross with each place asking, and something wrong with all of it."""
    places = tuple(place(name, required=True) for name in NAMES)
    return cross(**{"places": places, **changes})


@pytest.mark.parametrize(
    ("problem", "code"),
    [
        (everybody(vans=(), shifts=()), ReasonCode.NO_SHIFT),
        (everybody(shifts=(shift(day=1),), days=2), ReasonCode.NO_SHIFT_THAT_DAY),
        (everybody(vans=(replace(TERN, payload_g=0),)), ReasonCode.TOO_HEAVY),
        (everybody(vans=(replace(TERN, volume_ml=0),)), ReasonCode.TOO_BULKY),
        (everybody(shifts=(shift(start_s=0, end_s=1),)), ReasonCode.NO_WINDOW_IN_SHIFT),
        (everybody(shifts=(shift(drive_s_max=1),)), ReasonCode.DRIVES_TOO_LONG),
        (everybody(shifts=(shift(work_s_max=1),)), ReasonCode.WORKS_TOO_LONG),
        (
            everybody(shifts=(shift(break_s=1, stretch_s_max=1),)),
            ReasonCode.NO_BREAK_FITS,
        ),
    ],
    ids=lambda value: str(value) if isinstance(value, ReasonCode) else "",
)
def test_where_nothing_can_be_each_place_says_why(problem: Problem, code: ReasonCode) -> None:
    assert why(problem) == {code}


def test_where_all_are_closed_each_says_so() -> None:
    shut = tuple(replace(place(name, required=True), days=()) for name in NAMES)
    assert why(cross(places=shut)) == {ReasonCode.CLOSED_ALL_DAYS}


def test_a_container_heavier_than_any_van_is_named_with_by_how_much() -> None:
    heavy = place("north", visit_day(loads=[load(mass_kg=501)]), required=True)
    problem = cross(places=(heavy, place("east", required=True)))
    (left_out,) = planned(problem).unplanned
    (reason,) = left_out.reasons
    assert (reason.code, reason.params["excess_g"]) == (ReasonCode.TOO_HEAVY, 1_000)


def test_a_matrix_with_a_hole_leaves_out_the_place_behind_it_only() -> None:
    travel = cross_travel()
    metres = travel.metres.copy()
    north = travel.index("north")
    metres[north, :] = metres[:, north] = NO_ROAD
    metres[north, north] = 0
    problem = everybody(travel=replace(travel, metres=metres))
    plan = planned(problem)
    assert set(plan.visit_by_place) == {"east", "south", "west"}
    assert [one.reasons[0].code for one in plan.unplanned] == [ReasonCode.NO_ROAD]


def test_a_matrix_of_nothing_but_holes_visits_nobody() -> None:
    holes = np.full((5, 5), NO_ROAD, dtype=np.int64)
    np.fill_diagonal(holes, 0)
    travel = Travel(ids=("workshop", *NAMES), metres=holes, seconds=holes)
    assert why(everybody(travel=travel)) == {ReasonCode.NO_ROAD}


def test_a_thousand_asks_at_once_fill_the_van_and_the_others_say_what_is_missing() -> None:
    """All stand at one door: the van takes 25 of 20 kg, and there is nothing else to choose by."""
    ids = ("workshop", *(f"door {number}" for number in range(MANY)))
    near = np.ones((MANY + 1, MANY + 1), dtype=np.int64) - np.eye(MANY + 1, dtype=np.int64)
    problem = cross(
        vans=(replace(TERN, volume_ml=10**9),),
        shifts=(shift(start_s=0, end_s=24 * 3600),),
        places=tuple(
            place(name, visit_day(windows=[hours(0, 24)]), required=True) for name in ids[1:]
        ),
        travel=Travel(ids=ids, metres=near, seconds=near),
    )
    plan = planned(problem, iterations=20)
    assert len(plan.visit_by_place) == 25
    told = {one.reasons[0].code for one in explain(problem, plan) if not one.is_planned}
    assert told == {ReasonCode.NO_PAYLOAD_LEFT}


def test_where_nothing_has_changed_the_plan_in_force_stays() -> None:
    first = solve(cross(), seed=1, iterations=300)
    for seed in range(2, 6):
        assert solve(cross(), seed=seed, iterations=50, searches=2, warm_start=first) == first
