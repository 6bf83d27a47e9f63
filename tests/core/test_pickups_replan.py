"""The rest of a day planned anew on the cross (see pickup_problems): little changes."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from network.pickups.core.check import ViolationCode, check
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.replan import replan
from tests.core.pickup_problems import NAMES, TERN, cross, hours, place, shift, visit_day

# Both are out already: that is paid for.
OUT = replace(TERN, cost_per_shift=Decimal(0))
GULL = replace(OUT, id="gull")
TROUBLE = Decimal(5)
# A solver's time depends on the machine, so no deadline is set.
PATIENT = settings(deadline=None, max_examples=25)


def two_vans(**changes: object) -> Problem:
    given_parts = {
        "vans": (OUT, GULL),
        "shifts": (shift(), shift("gull")),
        "places": tuple(place(name, required=True) for name in NAMES),
    }
    return cross(**{**given_parts, **changes})


def replanned(problem: Problem, in_force: Mapping[str, Sequence[str]]) -> Plan:
    return replan(problem, in_force, seed=7, iterations=200, trouble=TROUBLE)


@PATIENT
@given(st.permutations(NAMES), st.integers(0, 4))
def test_with_nothing_changed_nothing_changes(names: list[str], cut: int) -> None:
    """However poor the order, as long as it breaks no rule."""
    in_force = {"tern-0": names[:cut], "gull-0": names[cut:]}
    in_force = {name: order for name, order in in_force.items() if order}
    assert replanned(two_vans(), in_force).orders == in_force


@PATIENT
@given(st.permutations(NAMES), st.integers(0, 4))
def test_a_plan_made_anew_is_sound_and_stands_when_it_is_made_again(
    names: list[str], kept: int
) -> None:
    problem = two_vans()
    plan = replanned(problem, {"tern-0": names[:kept]} if kept else {})
    assert check(problem, plan) == []
    assert replanned(problem, plan.orders).orders == plan.orders


def test_the_stops_of_a_broken_van_go_to_the_one_that_is_out() -> None:
    problem = two_vans(vans=(OUT,), shifts=(shift(),))
    after = replanned(problem, {"tern-0": ["north", "south"]}).orders["tern-0"]
    assert sorted(after) == sorted(NAMES)
    assert after.index("north") < after.index("south")


def test_an_urgent_stop_moves_no_other_van() -> None:
    problem = two_vans()
    in_force = {"tern-0": ["north", "east"], "gull-0": ["south"]}
    plan = replanned(problem, in_force)
    after = plan.orders
    assert [name for name in after["tern-0"] if name != "west"] == ["north", "east"]
    assert [name for name in after["gull-0"] if name != "west"] == ["south"]
    assert "west" in [*after["tern-0"], *after["gull-0"]]


def test_what_one_van_cannot_carry_is_searched_for_until_it_fits() -> None:
    """Three places of 20 kg are too much for a van of 45 kg; the other takes one over."""
    light = replace(OUT, payload_g=45_000)
    problem = two_vans(
        vans=(light, replace(GULL, payload_g=45_000)),
    )
    plan = replanned(problem, {"tern-0": ["north", "east", "south"], "gull-0": ["west"]})
    assert check(problem, plan) == []
    assert sorted(len(order) for order in plan.orders.values()) == [2, 2]


def test_what_nobody_can_reach_any_more_is_left_out_and_the_rest_goes_on() -> None:
    gone = visit_day(windows=(hours(6, 7),))
    problem = two_vans(
        places=(
            *(place(name, required=True) for name in NAMES[:3]),
            place("west", gone, required=True),
        )
    )
    plan = replanned(problem, {"tern-0": ["north", "east"], "gull-0": ["south", "west"]})
    assert [one.place_id for one in plan.unplanned] == ["west"]
    assert {violation.code for violation in check(problem, plan)} == {
        ViolationCode.REQUIRED_LEFT_OUT
    }
    assert plan.orders == {"tern-0": ["north", "east"], "gull-0": ["south"]}


def test_the_same_seed_gives_the_same_plan() -> None:
    problem = two_vans(vans=(replace(OUT, payload_g=45_000), GULL))
    in_force = {"tern-0": ["north", "east", "south"]}
    assert replanned(problem, in_force).orders == replanned(problem, in_force).orders
