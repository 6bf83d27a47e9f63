"""What a visit is worth, with the numbers of docs/rules/planning.md."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.pickups.core.prize import (
    PATIENCE_DAYS,
    full_days_cost,
    stop_cost,
    visit_prize,
    way_there,
    worth_of_waiting,
)
from network.pickups.core.solve import solve
from network.pickups.core.travel import NO_ROAD, Travel
from tests.core.pickup_problems import (
    HOUR_S,
    NAMES,
    TERN,
    cross,
    cross_travel,
    hours,
    place,
    shift,
    visit_day,
)

fills = st.decimals(0, 2, places=3)
money = st.decimals(0, 500, places=2)


def prize(fill: str, *, full_days_cost: str = "0") -> Decimal:
    return visit_prize(
        typical_cost=Decimal("6.00"),
        fill_fraction=Decimal(fill),
        full_days_cost=Decimal(full_days_cost),
    )


@pytest.mark.parametrize(
    ("fill", "full_days_cost", "worth"),
    [
        ("0", "0", "0.00"),
        ("0.5", "0", "1.50"),
        ("1", "0", "6.00"),
        ("1.4", "0", "6.00"),
        ("1", "9.50", "15.50"),
    ],
)
def test_a_visit_saves_a_part_of_the_next_one_and_the_days_on_which_it_would_stand_full(
    fill: str, full_days_cost: str, worth: str
) -> None:
    assert prize(fill, full_days_cost=full_days_cost) == Decimal(worth)


@given(fills, fills, money, money)
def test_a_fuller_container_is_never_worth_less(
    one: Decimal, other: Decimal, cost: Decimal, full_days_cost: Decimal
) -> None:
    worths = [
        visit_prize(typical_cost=cost, fill_fraction=fill, full_days_cost=full_days_cost)
        for fill in sorted((one, other))
    ]
    assert worths[0] <= worths[1]


@pytest.mark.parametrize(
    ("days", "lost_g", "cost"),
    [("0", 900, "0.90"), ("0.5", 0, "7.50"), ("0.5", 900, "8.40"), ("2", 900, "30.90")],
)
def test_days_that_stand_full_cost_their_nuisance_and_what_no_longer_goes_in(
    days: str, lost_g: int, cost: str
) -> None:
    """15.00 for each day, and 0.90 kg at 1.00."""
    found = full_days_cost(
        days=Decimal(days),
        nuisance_cost=Decimal(15),
        lost_g=lost_g,
        value_per_kg=Decimal(1),
    )
    assert found == Decimal(cost)


def test_less_than_empty_is_refused() -> None:
    with pytest.raises(InvalidInput):
        prize("-0.1")


def test_a_stop_costs_its_way_and_the_time_of_way_and_stop() -> None:
    # 4 km x 0.50 and (400 + 600) s x 12 / 3,600.
    assert stop_cost(TERN, way_m=4_000, way_s=400, service_s=600) == Decimal("5.33")


def test_the_way_there_is_half_of_that_to_each_of_two_neighbours() -> None:
    # From north: 3 km to the workshop, then 4 to the east and 4 to the west.
    ids = ("workshop", *NAMES)
    assert way_there(cross_travel(), "north", ids, one_in=1) == (3_500, 350)
    # Every second is visited too: the second nearest and the fourth.
    assert way_there(cross_travel(), "north", ids, one_in=2) == (5_000, 500)


def test_a_place_that_is_alone_or_cut_off_has_no_way_to_share() -> None:
    cut_off = np.full((2, 2), NO_ROAD, dtype=np.int64)
    np.fill_diagonal(cut_off, 0)
    travel = Travel(ids=("a", "b"), metres=cut_off, seconds=cut_off)
    assert way_there(travel, "a", ("a",)) == (0, 0)
    assert way_there(travel, "a", ("a", "b")) == (0, 0)


def test_no_neighbour_at_all_is_refused() -> None:
    with pytest.raises(InvalidInput):
        way_there(cross_travel(), "north", NAMES, one_in=0)


def test_a_place_that_is_not_full_is_left_unless_it_lies_on_the_way() -> None:
    """Alone a trip costs 7.00 and is worth 6.08; beside a full one it adds 5.33."""
    van = replace(TERN, cost_per_shift=Decimal(0))
    cost = stop_cost(van, way_m=6_000, way_s=600, service_s=600)
    half, full = (
        visit_prize(
            typical_cost=cost, fill_fraction=Decimal(fill), full_days_cost=Decimal(full_days_cost)
        )
        for fill, full_days_cost in (("0.8", "1.60"), ("1", "10"))
    )
    north_alone = cross(vans=(van,), places=(place("north", visit_day(worth=half)),))
    assert solve(north_alone, seed=1, iterations=100).routes == ()
    with_east = cross(
        vans=(van,),
        places=(place("north", visit_day(worth=half)), place("east", visit_day(worth=full))),
    )
    (route,) = solve(with_east, seed=1, iterations=100).routes
    assert {stop.location_id for stop in route.visits} == {"north", "east"}


@pytest.mark.parametrize(
    ("days", "fill", "worth"),
    [
        (0, "1", "0"),
        (28, "1", "0"),
        (29, "1", "1.60"),
        (48, "0.75", "32.00"),
        (400, "0.74", "0"),
    ],
)
def test_waiting_counts_after_four_weeks_and_more_each_day(
    days: int, fill: str, worth: str
) -> None:
    added = worth_of_waiting(
        TERN, typical_cost=Decimal("6.00"), fill_fraction=Decimal(fill), waited_days=days
    )
    assert added == Decimal(worth)


@given(st.integers(1, 400), st.integers(75, 100))
@settings(deadline=None, max_examples=25)
def test_nobody_waits_for_ever_however_far(way_km: int, percent: int) -> None:
    """A world in which nothing changes but the day, with one place far off, visited by no one yet.

    A van there and back costs less than shift and twice its typical cost, so that its worth has
    grown past that within 20 days more.
    """
    far = np.array([[0, way_km * 1000], [way_km * 1000, 0]], dtype=np.int64)
    travel = Travel(ids=("workshop", "north"), metres=far, seconds=far // 20)
    way_m, way_s = way_there(travel, "north", travel.ids)
    typical = stop_cost(TERN, way_m=way_m, way_s=way_s, service_s=600)
    fill = Decimal(percent) / 100
    saved = visit_prize(typical_cost=typical, fill_fraction=fill, full_days_cost=Decimal(0))

    def is_visited(day: int) -> bool:
        worth = saved + worth_of_waiting(
            TERN, typical_cost=typical, fill_fraction=fill, waited_days=day
        )
        north = place("north", visit_day(windows=[hours(0, 48)], worth=worth))
        out = shift(start_s=0, end_s=48 * HOUR_S)
        problem = cross(places=(north,), shifts=(out,), travel=travel)
        return bool(solve(problem, seed=1, iterations=20).routes)

    assert is_visited(PATIENCE_DAYS + 21)
