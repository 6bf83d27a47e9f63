"""Hours that a place prefers within its windows: kept where that pays, else missed at a price.

On the cross (see pickup_problems) an hour of waiting costs 12.00 and a visit is worth 15.00.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.pickups.core.check import ViolationCode, check
from network.pickups.core.explain import explain
from network.pickups.core.plan import Plan, Stop
from network.pickups.core.problem import Place, Problem, Window
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


def prefers(name: str, *spans: Window, cost: str, worth: int = 15, required: bool = False) -> Place:
    """Open from nine to three as all are."""
    option = replace(visit_day(worth=worth), preferred=spans, missed_cost=Decimal(cost))
    return place(name, option, required=required)


def planned(problem: Problem) -> Plan:
    plan = solve(problem, seed=1, iterations=200)
    assert check(problem, plan) == []
    return plan


def stop_at(plan: Plan, name: str) -> Stop:
    return plan.visit_by_place[name][1]


def test_where_it_costs_nothing_the_preferred_hours_are_kept() -> None:
    plan = planned(cross_with(prefers("north", hours(13, 14), cost="1"), prefers("east", cost="1")))
    assert 13 * HOUR_S <= stop_at(plan, "north").start_s <= 14 * HOUR_S - 600
    assert stop_at(plan, "north").worth == Decimal(15)


@pytest.mark.parametrize(("cost", "kept"), [("5", False), ("25", True)])
def test_two_that_prefer_hours_apart_are_waited_for_where_that_costs_less(
    cost: str, *, kept: bool
) -> None:
    """North before ten and east from half past eleven: more than an hour of waiting, some 17.00."""
    problem = cross_with(
        prefers("north", hours(9, 10), cost=cost, worth=40),
        prefers("east", hours(11.5, 15), cost=cost, worth=40),
        shifts=(shift(),),
    )
    plan = planned(problem)
    missed = [name for name in ("north", "east") if stop_at(plan, name).worth < 40]
    assert len(missed) == (0 if kept else 1)
    for one in explain(problem, plan):
        codes = [reason.code for reason in one.reasons]
        assert (ReasonCode.HOURS_MISSED in codes) == (one.place_id in missed)


def test_one_that_must_be_visited_is_so_outside_of_them_if_need_be() -> None:
    """The van is home at eleven."""
    short = shift(end_s=11 * HOUR_S)
    asked = prefers("north", hours(13, 14), cost="50", required=True)
    plan = planned(cross_with(asked, shifts=(short,)))
    assert stop_at(plan, "north").worth == Decimal(15 - 50)


def test_that_the_hours_are_missed_is_said_also_where_it_costs_nothing() -> None:
    """The van is home at eleven."""
    problem = cross_with(
        prefers("north", hours(13, 14), cost="0", worth=40), shifts=(shift(end_s=11 * HOUR_S),)
    )
    [north] = [one for one in explain(problem, planned(problem)) if one.place_id == "north"]
    assert ReasonCode.HOURS_MISSED in {reason.code for reason in north.reasons}


def test_the_check_takes_the_price_off_by_itself() -> None:
    kind = prefers("north", hours(13, 14), cost="2")
    plain = cross_with(replace(kind, days=(replace(kind.days[0], preferred=()),)))
    soft = cross_with(kind)
    early = retime(plain, {"tern-0": ["north"]})
    route = early.routes[0]
    assert route.stops[0].departure_s < 13 * HOUR_S
    assert {v.code for v in check(soft, early)} == {ViolationCode.WRONG_WORTH}


@given(
    starts=st.lists(st.integers(9, 14), min_size=4, max_size=4),
    cost=st.integers(0, 30),
    seed=st.integers(0, 3),
)
@settings(deadline=None, max_examples=20)
def test_preferences_never_make_a_plan_that_breaks_rules_or_costs_more_than_missing_all(
    starts: list[int], cost: int, seed: int
) -> None:
    wishes = [
        prefers(name, hours(start, start + 1), cost=str(cost))
        for name, start in zip(NAMES, starts, strict=True)
    ]
    soft = cross(places=tuple(wishes))
    free = solve(cross(), seed=seed, iterations=100)
    plan = solve(soft, seed=seed, iterations=100)
    assert check(soft, plan) == []
    gain = plan.worth - plan.cost
    assert gain <= free.worth - free.cost
    assert gain >= free.worth - free.cost - 4 * cost
