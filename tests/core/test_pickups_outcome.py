"""What plans of the cross (see pickup_problems) come to beside each other."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from network.pickups.core.check import check
from network.pickups.core.outcome import difference, outcome_of
from network.pickups.core.placing import with_stop
from network.pickups.core.problem import Problem
from network.pickups.core.schedule import retime
from tests.core.pickup_problems import NAMES, TERN, cross, cross_with, place, shift, visit_day


def filling(name: str) -> Problem:
    """The cross over two days, where one place is expected to stand full on three days if left."""
    days = (
        replace(visit_day(0), full_days_avoided=Decimal(3)),
        replace(visit_day(1), full_days_avoided=Decimal("2.25")),
    )
    return cross_with(
        place(name, *days, full_days=Decimal(3)),
        days=2,
        shifts=(shift(), shift(day=1)),
    )


def test_a_place_stands_full_until_it_is_visited() -> None:
    problem = filling("north")
    left, today, tomorrow = (
        outcome_of(problem, retime(problem, orders)).full_days
        for orders in ({}, {"tern-0": ["north"]}, {"tern-1": ["north"]})
    )
    assert (left, today, tomorrow) == (Decimal(3), Decimal(0), Decimal("0.75"))


def test_a_stop_taken_out_saves_what_it_added() -> None:
    # Without east 3 + 6 + 3 km instead of 3 + 4 + 4 + 3; the time is 200 s of way and the work.
    problem = cross()
    before = outcome_of(problem, retime(problem, {"tern-0": ["north", "east", "south"]}))
    after = outcome_of(problem, retime(problem, {"tern-0": ["north", "south"]}))
    change = difference(before, after)
    assert (change.places, change.distance_m, change.duration_s) == (-1, -2_000, -800)
    assert change.cost == Decimal("-3.67")


def test_a_stop_moved_by_hand_comes_in_where_its_detour_is_shortest() -> None:
    problem = cross()
    plan = retime(problem, {"tern-0": ["north", "south"]})
    # East between them adds 2 km; before north or after south 4 km.
    assert with_stop(problem, plan, "tern-0", "east") == ["north", "east", "south"]


def test_a_stop_goes_where_the_clock_allows_rather_than_the_way() -> None:
    early = visit_day(windows=[replace(visit_day().windows[0], end_s=9 * 3600 + 1200)])
    problem = cross(places=tuple(place(n, *([early] if n == "east" else [])) for n in NAMES))
    plan = retime(problem, {"tern-0": ["north", "south"]})
    order = with_stop(problem, plan, "tern-0", "east")
    assert not [v for v in check(problem, retime(problem, {"tern-0": order})) if v.location_id]


def test_a_place_that_fits_nowhere_is_put_all_the_same_and_the_check_tells() -> None:
    problem = cross(vans=(replace(TERN, payload_g=45_000),))
    plan = retime(problem, {"tern-0": ["north", "south"]})
    order = with_stop(problem, plan, "tern-0", "east")
    assert sorted(order) == ["east", "north", "south"]
    assert {v.code for v in check(problem, retime(problem, {"tern-0": order}))} == {"too_heavy"}


@given(st.permutations(NAMES), st.integers(0, 4))
def test_the_other_stops_keep_their_order(names: list[str], kept: int) -> None:
    problem = cross()
    others = names[: min(kept, 3)]
    plan = retime(problem, {"tern-0": others})
    order = with_stop(problem, plan, "tern-0", names[-1])
    assert [name for name in order if name != names[-1]] == others
