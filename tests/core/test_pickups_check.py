"""The independent check finds each kind of broken rule: a sound plan is spoilt in one way each.

The plan is the cross's (see pickup_problems): north, east, south, west, home. It leaves at 08:55
to be in the north at 09:00.
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from network.pickups.core.check import ViolationCode, check
from network.pickups.core.plan import Plan, Route, Stop, StopKind, Unplanned
from network.pickups.core.problem import Problem
from network.pickups.core.reasons import Reason, ReasonCode
from network.pickups.core.schedule import retime
from network.pickups.core.travel import NO_ROAD, Travel
from tests.core.pickup_problems import (
    HOUR_S,
    NAMES,
    TERN,
    cross,
    cross_travel,
    load,
    place,
    shift,
    visit_day,
)

ROUND = {"tern-0": NAMES}
LEFT_OUT = (Reason(code=ReasonCode.LEFT_OUT),)
Spoiler = Callable[[Plan], Plan]


def codes(problem: Problem, plan: Plan) -> set[ViolationCode]:
    return {violation.code for violation in check(problem, plan)}


def on_route(**changes: Any) -> Spoiler:
    """Change something of the only route."""

    def spoil(plan: Plan) -> Plan:
        return replace(plan, routes=(replace(plan.routes[0], **changes),))

    return spoil


def on_stop(index: int, **changes: Any) -> Spoiler:
    """Change something of one stop."""

    def spoil(plan: Plan) -> Plan:
        stops = list(plan.routes[0].stops)
        stops[index] = replace(stops[index], **changes)
        return on_route(stops=tuple(stops))(plan)

    return spoil


def on_cost(**changes: Decimal) -> Spoiler:
    """Change a part of the cost."""
    return lambda plan: on_route(cost=replace(plan.routes[0].cost, **changes))(plan)


def later(plan: Plan, *, by_s: int) -> Plan:
    """The same round, all of it later."""

    def put_off(stop: Stop) -> Stop:
        return replace(
            stop,
            arrival_s=stop.arrival_s + by_s,
            start_s=stop.start_s + by_s,
            departure_s=stop.departure_s + by_s,
        )

    route: Route = plan.routes[0]
    return on_route(
        start_s=route.start_s + by_s,
        end_s=route.end_s + by_s,
        stops=tuple(put_off(stop) for stop in route.stops),
    )(plan)


SPOILT: list[tuple[ViolationCode, Spoiler]] = [
    (ViolationCode.WRONG_CURRENCY, lambda plan: replace(plan, currency="GBP")),
    (ViolationCode.UNKNOWN_SHIFT, on_route(shift_id="gull-0")),
    (ViolationCode.SHIFT_USED_TWICE, lambda plan: replace(plan, routes=plan.routes * 2)),
    (ViolationCode.VISITED_TWICE, lambda plan: replace(plan, routes=plan.routes * 2)),
    (ViolationCode.WRONG_VAN, on_route(van_id="gull")),
    (ViolationCode.WRONG_VAN, on_route(day=1)),
    (ViolationCode.NO_STOP, on_route(stops=())),
    (ViolationCode.UNKNOWN_LOCATION, on_stop(0, location_id="nowhere")),
    (ViolationCode.UNKNOWN_LOCATION, on_stop(0, kind=StopKind.UNLOAD)),
    (ViolationCode.LEAVES_BEFORE_SHIFT, lambda plan: later(plan, by_s=-HOUR_S)),
    (ViolationCode.HOME_AFTER_SHIFT, lambda plan: later(plan, by_s=6 * HOUR_S + 300)),
    (ViolationCode.OUTSIDE_WINDOWS, lambda plan: later(plan, by_s=-1)),
    (ViolationCode.OUTSIDE_WINDOWS, lambda plan: later(plan, by_s=5 * HOUR_S + 1)),
    (ViolationCode.WRONG_LEG, on_stop(1, leg_m=3999)),
    (ViolationCode.WRONG_LEG, on_stop(1, leg_s=399)),
    (ViolationCode.WRONG_LEG, on_route(return_m=2999)),
    (ViolationCode.WRONG_LEG, on_route(return_s=299)),
    (ViolationCode.WRONG_TIME, on_route(start_s=8 * HOUR_S)),
    (ViolationCode.WRONG_TIME, on_route(end_s=15 * HOUR_S)),
    (ViolationCode.WRONG_TIME, on_stop(1, arrival_s=9 * HOUR_S)),
    (ViolationCode.WRONG_TIME, on_stop(1, start_s=9 * HOUR_S)),
    (ViolationCode.WRONG_TIME, on_stop(1, departure_s=12 * HOUR_S)),
    (ViolationCode.WRONG_LOAD, on_stop(1, loads=(load(10),))),
    (ViolationCode.WRONG_LOAD, on_stop(1, onboard_mass_g=1)),
    (ViolationCode.WRONG_LOAD, on_stop(1, onboard_volume_ml=1)),
    (ViolationCode.WRONG_WORTH, on_stop(1, worth=Decimal(99))),
    (ViolationCode.WRONG_COST, on_cost(shift=Decimal("9.99"))),
    (ViolationCode.WRONG_COST, on_cost(distance=Decimal(0))),
    (ViolationCode.WRONG_COST, on_cost(time=Decimal(0))),
    (
        ViolationCode.WRONG_LEFT_OUT,
        lambda plan: replace(plan, unplanned=(Unplanned(place_id="north", reasons=LEFT_OUT),)),
    ),
    (
        ViolationCode.WRONG_LEFT_OUT,
        lambda plan: replace(plan, unplanned=(Unplanned(place_id="nowhere", reasons=LEFT_OUT),)),
    ),
    (ViolationCode.WRONG_LEFT_OUT, lambda plan: replace(plan, routes=())),
]


def test_the_plan_that_is_spoilt_below_is_sound() -> None:
    assert check(cross(), retime(cross(), ROUND)) == []


@pytest.mark.parametrize(("code", "spoil"), SPOILT)
def test_a_spoilt_plan_is_found_out(code: ViolationCode, spoil: Spoiler) -> None:
    plan = spoil(retime(cross(), ROUND))
    assert code in codes(cross(), plan)


def test_a_round_driven_twice_breaks_no_other_rule() -> None:
    plan = retime(cross(), ROUND)
    doubled = replace(plan, routes=plan.routes * 2)
    assert codes(cross(), doubled) == {
        ViolationCode.SHIFT_USED_TWICE,
        ViolationCode.VISITED_TWICE,
    }


ORDERS: list[tuple[ViolationCode, Problem]] = [
    (ViolationCode.TOO_HEAVY, cross(vans=(replace(TERN, payload_g=79_999),))),
    (ViolationCode.TOO_BULKY, cross(vans=(replace(TERN, volume_ml=799_999),))),
    (ViolationCode.STREAM_TOO_BULKY, cross(vans=(replace(TERN, stream_volume_ml={"caps": 1}),))),
    (
        ViolationCode.CLOSED_THAT_DAY,
        cross(places=tuple(place(name, days=()) for name in NAMES)),
    ),
    (
        ViolationCode.DAY_RULED_OUT,
        cross(places=tuple(place(name, forbidden_days=frozenset({0})) for name in NAMES)),
    ),
    (
        ViolationCode.DAY_RULED_OUT,
        cross(days=2, places=tuple(place(name, pinned_day=1) for name in NAMES)),
    ),
    (
        ViolationCode.VAN_NOT_ALLOWED,
        cross(places=tuple(place(name, van_ids=frozenset()) for name in NAMES)),
    ),
    (
        ViolationCode.STREAMS_MIXED,
        cross(
            places=tuple(
                place(name, visit_day(loads=(load(stream_id=stream_id),)))
                for name, stream_id in zip(NAMES, ("caps", "bottles") * 2, strict=True)
            ),
            apart=(frozenset({"caps", "bottles"}),),
        ),
    ),
    (
        ViolationCode.NO_ROAD,
        cross(
            travel=Travel(
                ids=cross_travel().ids,
                metres=np.full((5, 5), NO_ROAD) - NO_ROAD * np.eye(5, dtype=np.int64),
                seconds=cross_travel().seconds,
            )
        ),
    ),
]


@pytest.mark.parametrize(("code", "problem"), ORDERS, ids=[row[0] for row in ORDERS])
def test_an_order_by_hand_that_breaks_a_rule_is_timed_and_found_out(
    code: ViolationCode, problem: Problem
) -> None:
    plan = retime(problem, ROUND)
    assert code in codes(problem, plan)
    assert ViolationCode.WRONG_TIME not in codes(problem, plan)


def test_an_unloading_too_many_is_found_out() -> None:
    order = {"tern-0": ("north", "workshop", "east", "south", "west")}
    assert codes(cross(), retime(cross(), order)) == {ViolationCode.TOO_MANY_UNLOADINGS}
    allowed = cross(shifts=(shift(unloads_max=1),))
    assert check(allowed, retime(allowed, order)) == []


def test_what_was_unloaded_counts_no_more() -> None:
    small = replace(TERN, payload_g=40_000)
    problem = cross(vans=(small,), shifts=(shift(unloads_max=1),))
    assert ViolationCode.TOO_HEAVY in codes(problem, retime(problem, ROUND))
    halved = retime(problem, {"tern-0": ("north", "east", "workshop", "south", "west")})
    assert check(problem, halved) == []


def test_streams_kept_apart_may_follow_one_another_after_an_unloading() -> None:
    caps, bottles = visit_day(), visit_day(loads=(load(stream_id="bottles"),))
    problem = cross(
        places=(place("north", caps), place("east", bottles)),
        shifts=(shift(unloads_max=1),),
        apart=(frozenset({"caps", "bottles"}),),
    )
    assert codes(problem, retime(problem, {"tern-0": ("north", "east")})) == {
        ViolationCode.STREAMS_MIXED
    }
    assert check(problem, retime(problem, {"tern-0": ("north", "workshop", "east")})) == []


def test_loads_at_an_unloading_are_found_out() -> None:
    problem = cross(shifts=(shift(unloads_max=1),))
    plan = retime(problem, {"tern-0": ("north", "workshop", *NAMES[1:])})
    assert ViolationCode.WRONG_LOAD in codes(problem, on_stop(1, loads=(load(),))(plan))


def test_a_visit_that_was_asked_for_and_is_missing_is_told() -> None:
    asked = cross(places=(place("north"), place("west", required=True)))
    plan = retime(asked, {"tern-0": ("north",)})
    (violation,) = check(asked, plan)
    assert violation.code is ViolationCode.REQUIRED_LEFT_OUT
    assert violation.location_id == "west"


def test_a_violation_says_by_how_much() -> None:
    problem = cross(vans=(replace(TERN, payload_g=75_000),))
    (violation,) = check(problem, retime(problem, ROUND))
    assert violation.code is ViolationCode.TOO_HEAVY
    assert (violation.shift_id, violation.location_id) == ("tern-0", "west")
    assert violation.params == {"excess_g": 5_000}
