"""A driver's break, driving and time out: kept by plans, told by reasons, held by the check.

On the cross (see pickup_problems) one round of all four is 1,800 s of driving and 2,400 s of work.
"""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.pickups.core.check import ViolationCode, check
from network.pickups.core.explain import explain
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem, Shift
from network.pickups.core.reasons import ReasonCode
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from tests.core.pickup_problems import (
    HOUR_S,
    NAMES,
    cross,
    cross_with,
    hours,
    place,
    shift,
    visit_day,
)

MINUTE_S = 60
HALF_HOUR_S = 30 * MINUTE_S


def planned(problem: Problem) -> Plan:
    plan = solve(problem, seed=1, iterations=200)
    codes = {violation.code for violation in check(problem, plan)}
    assert codes <= {ViolationCode.REQUIRED_LEFT_OUT}
    return plan


def with_break(stretch_s_max: int) -> Shift:
    return replace(shift(), break_s=HALF_HOUR_S, stretch_s_max=stretch_s_max)


def breaks(plan: Plan) -> list[int]:
    return [stop.break_s for route in plan.routes for stop in route.stops if stop.break_s]


def why(problem: Problem, plan: Plan, place_id: str) -> ReasonCode:
    (told,) = (one for one in explain(problem, plan) if one.place_id == place_id)
    return told.reasons[0].code


def test_a_route_within_one_stretch_has_no_break() -> None:
    # 1,800 s + 2,400 s = 70 minutes.
    plan = planned(cross(shifts=(with_break(70 * MINUTE_S),)))
    assert breaks(plan) == []
    assert set(plan.visit_by_place) == set(NAMES)


def test_a_longer_route_has_its_break_with_no_stretch_too_long() -> None:
    problem = cross(shifts=(with_break(60 * MINUTE_S),))
    plan = planned(problem)
    (route,) = plan.routes
    assert breaks(plan) == [HALF_HOUR_S]
    assert set(plan.visit_by_place) == set(NAMES)
    assert (route.work_s, route.duration_s) == (70 * MINUTE_S, 100 * MINUTE_S)
    assert route.stretch_s <= 60 * MINUTE_S
    told = {
        one.place_id
        for one in explain(problem, plan)
        if ReasonCode.BREAK_FIRST in [reason.code for reason in one.reasons]
    }
    assert told == {stop.location_id for stop in route.stops if stop.break_s}


def test_a_break_is_taken_while_a_place_is_still_closed() -> None:
    # North opens at nine, east at half past: without a break the van would wait for it anyway.
    problem = cross_with(
        place("north", visit_day(windows=[hours(9, 9.25)])),
        place("east", visit_day(windows=[hours(10, 11)])),
        shifts=(with_break(HOUR_S),),
    )
    (route,) = planned(problem).routes
    assert [stop.break_s for stop in route.stops] == [0, HALF_HOUR_S]
    # Left for north at 8:55 at the latest; 9:15, 9:21:40 at east, which opens at ten.
    assert route.stops[1].start_s == 10 * HOUR_S
    assert route.stops[1].wait_s == route.stops[1].start_s - route.stops[1].arrival_s - HALF_HOUR_S


def test_visits_for_which_two_stretches_are_too_short_are_left_out_and_say_so() -> None:
    # Two stretches of 22 minutes are 2,640 s. Two places take 300 + 600 + 400 s before the break on
    # arrival at the second, and 600 + 300 s after it; three take 3,200 s.
    problem = cross(shifts=(with_break(22 * MINUTE_S),))
    plan = planned(problem)
    (route,) = plan.routes
    assert route.stretch_s <= 22 * MINUTE_S
    assert len(route.visits) == 2
    left_out = next(name for name in NAMES if name not in plan.visit_by_place)
    assert why(problem, plan, left_out) is ReasonCode.NO_BREAK_FITS


def test_driving_is_bounded_and_the_place_that_is_too_much_says_so() -> None:
    # Three places: 300 + 400 + 400 + 300 s of driving; the fourth makes it 1,800 s.
    problem = cross(shifts=(shift(drive_s_max=1400),))
    plan = planned(problem)
    (route,) = plan.routes
    assert route.drive_s == 1400
    (left_out,) = plan.unplanned
    assert why(problem, plan, left_out.place_id) is ReasonCode.DRIVES_TOO_LONG


def test_time_out_is_bounded_whatever_the_hours_of_the_shift() -> None:
    problem = cross(shifts=(shift(work_s_max=1400 + 3 * 600),))
    plan = planned(problem)
    assert len(plan.visit_by_place) == 3
    (left_out,) = plan.unplanned
    assert why(problem, plan, left_out.place_id) is ReasonCode.WORKS_TOO_LONG


def test_a_place_too_far_for_the_driving_allowed_is_never_visited() -> None:
    problem = cross(shifts=(shift(drive_s_max=599),))
    plan = planned(problem)
    assert plan.routes == ()
    assert {one.reasons[0].code for one in plan.unplanned} == {ReasonCode.DRIVES_TOO_LONG}


def test_where_the_way_is_slow_driving_is_bounded_by_time_and_not_by_metres() -> None:
    # South is as near as the others in metres, at a third of their speed.
    travel = cross().travel
    seconds = travel.seconds.copy()
    south = travel.index("south")
    seconds[south, :] *= 3
    seconds[:, south] *= 3
    problem = cross(travel=replace(travel, seconds=seconds), shifts=(shift(drive_s_max=1800),))
    (route,) = planned(problem).routes
    assert route.drive_s <= 1800
    assert len(route.visits) == 3


def test_a_break_comes_before_a_required_visit_that_closes_early() -> None:
    # All must be visited, and each closes before a break at the end of the round could be.
    problem = cross(
        shifts=(with_break(50 * MINUTE_S),),
        places=tuple(
            place(name, visit_day(windows=[hours(9, 10.75)]), required=True) for name in NAMES
        ),
    )
    plan = planned(problem)
    assert set(plan.visit_by_place) == set(NAMES)
    assert breaks(plan) == [HALF_HOUR_S]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"break_s": 1800}, "shift tern-0.break_s"),
        ({"stretch_s_max": 1800}, "shift tern-0.break_s"),
        ({"drive_s_max": 0}, "shift tern-0.drive_s_max"),
        ({"work_s_max": -1}, "shift tern-0.work_s_max"),
    ],
)
def test_a_break_without_its_stretch_or_a_bound_of_nothing_is_refused(
    changes: dict[str, Any], field: str
) -> None:
    with pytest.raises(InvalidInput) as refused:
        replace(shift(), **changes)
    assert refused.value.fields[0].field == field


@pytest.mark.parametrize(
    ("limits", "code"),
    [
        ({"drive_s_max": 1799}, ViolationCode.DRIVES_TOO_LONG),
        ({"work_s_max": 4199}, ViolationCode.WORKS_TOO_LONG),
        ({"break_s": 60, "stretch_s_max": 4199}, ViolationCode.BREAK_TOO_LATE),
    ],
)
def test_the_check_finds_a_route_one_second_too_long(
    limits: dict[str, Any], code: ViolationCode
) -> None:
    plan = retime(cross(), {"tern-0": NAMES})
    bound = cross(shifts=(replace(shift(), **limits),))
    assert [(v.code, v.params) for v in check(bound, plan)] == [(code, {"excess_s": 1})]


def test_the_check_finds_a_break_that_is_cut_short_or_worked_through() -> None:
    problem = cross(shifts=(with_break(HOUR_S),))
    plan = planned(problem)
    (route,) = plan.routes
    at = next(index for index, stop in enumerate(route.stops) if stop.break_s)
    for break_s, code in (
        (HALF_HOUR_S - 1, ViolationCode.WRONG_BREAK),
        (HALF_HOUR_S + 1, ViolationCode.WRONG_TIME),
    ):
        stops = list(route.stops)
        stops[at] = replace(stops[at], break_s=break_s)
        spoilt = replace(plan, routes=(replace(route, stops=tuple(stops)),))
        assert code in {violation.code for violation in check(problem, spoilt)}


@given(
    stretch_s_max=st.integers(600, 5000),
    drive_s_max=st.none() | st.integers(500, 2500),
    work_s_max=st.none() | st.integers(1000, 5000),
    opens=st.lists(st.sampled_from([8, 8.5, 9, 9.5]), min_size=4, max_size=4),
    required=st.booleans(),
)
@settings(deadline=None, max_examples=40)
def test_every_plan_with_bounds_passes_the_check(
    stretch_s_max: int,
    drive_s_max: int | None,
    work_s_max: int | None,
    opens: list[float],
    required: bool,
) -> None:
    shifts = (
        shift(
            break_s=HALF_HOUR_S,
            stretch_s_max=stretch_s_max,
            drive_s_max=drive_s_max,
            work_s_max=work_s_max,
        ),
    )
    places = tuple(
        place(name, visit_day(windows=[hours(at, at + 1)]), required=required)
        for name, at in zip(NAMES, opens, strict=True)
    )
    problem = cross(shifts=shifts, places=places)
    plan = planned(problem)
    assert len(explain(problem, plan)) == 4


# Out since 8:20 and at the workshop again at nine, when all places open.
OUT = shift(start_s=9 * HOUR_S, out_since_s=9 * HOUR_S - 40 * MINUTE_S)


def test_a_stretch_counts_from_when_the_driver_left() -> None:
    """70 minutes more fit into a stretch of 80; with 40 before them there is a break."""
    tired = replace(OUT, break_s=HALF_HOUR_S, stretch_s_max=80 * MINUTE_S)
    fresh = replace(tired, out_since_s=None)
    assert breaks(planned(cross(shifts=(fresh,)))) == []
    plan = planned(cross(shifts=(tired,)))
    assert breaks(plan) == [HALF_HOUR_S]
    [stop] = [stop for stop in plan.routes[0].stops if stop.break_s]
    assert stop.arrival_s <= OUT.start_s + 40 * MINUTE_S
    assert set(plan.visit_by_place) == set(NAMES)


def test_the_time_out_before_counts_and_the_place_that_is_too_much_says_so() -> None:
    problem = cross(shifts=(replace(OUT, work_s_max=40 * MINUTE_S + 1400 + 3 * 600),))
    plan = planned(problem)
    assert len(plan.visit_by_place) == 3
    (left_out,) = plan.unplanned
    assert why(problem, plan, left_out.place_id) is ReasonCode.WORKS_TOO_LONG


def test_the_check_counts_from_when_the_driver_left() -> None:
    bound = replace(OUT, break_s=HALF_HOUR_S, stretch_s_max=80 * MINUTE_S, work_s_max=6000)
    fresh = retime(cross(shifts=(replace(bound, out_since_s=None),)), {OUT.id: NAMES})
    codes = {violation.code for violation in check(cross(shifts=(bound,)), fresh)}
    assert codes == {ViolationCode.BREAK_TOO_LATE, ViolationCode.WORKS_TOO_LONG}


def test_nobody_is_out_since_later_than_now() -> None:
    with pytest.raises(InvalidInput, match="out_since_s"):
        replace(OUT, out_since_s=10 * HOUR_S)
