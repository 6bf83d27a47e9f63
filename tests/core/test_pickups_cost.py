"""Costs, with the numbers of docs/rules/planning.md."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.pickups.core.cost import RouteCost, route_cost
from network.pickups.core.schedule import retime
from tests.core.pickup_problems import (
    HOUR_S,
    NAMES,
    TERN,
    cross,
    cross_with,
    hours,
    place,
    shift,
    visit_day,
)

money = st.decimals(0, 500, places=4)


def test_a_route_costs_its_shift_its_way_and_its_time() -> None:
    # 18 km x 0.50 and 4,200 s x 12 / 3,600.
    cost = route_cost(TERN, distance_m=18_000, duration_s=4_200)
    assert cost == RouteCost(shift=Decimal(10), distance=Decimal(9), time=Decimal(14))
    assert cost.total == 33


@given(money, money, money, st.integers(0, 500_000), st.integers(0, 50_000))
def test_the_parts_of_a_cost_sum_to_the_total_and_are_whole_cents(
    per_shift: Decimal, per_km: Decimal, per_hour: Decimal, distance_m: int, duration_s: int
) -> None:
    van = replace(TERN, cost_per_shift=per_shift, cost_per_km=per_km, cost_per_hour=per_hour)
    cost = route_cost(van, distance_m=distance_m, duration_s=duration_s)
    parts = (cost.shift, cost.distance, cost.time)
    assert sum(parts) == cost.total
    assert all(part == part.quantize(Decimal("0.01")) for part in parts)


def test_an_order_by_hand_is_timed_loaded_and_costed() -> None:
    plan = retime(cross(), {"tern-0": NAMES})
    (route,) = plan.routes
    assert route.start_s == 9 * HOUR_S - 300
    # Ten minutes at each of four places, 400 s between them: 09:00, 09:16:40, 09:33:20, 09:50.
    assert [stop.start_s - 9 * HOUR_S for stop in route.stops] == [0, 1_000, 2_000, 3_000]
    assert [stop.onboard_mass_g for stop in route.stops] == [20_000, 40_000, 60_000, 80_000]
    assert [stop.onboard_volume_ml for stop in route.stops] == [200_000, 400_000, 600_000, 800_000]
    assert route.end_s == 9 * HOUR_S + 3_600 + 300
    assert route.cost_per_kg == plan.cost_per_kg == Decimal("0.41")


def test_a_longer_order_by_hand_shows_its_price() -> None:
    # North and south, then east and west: 3 + 6 + 4 + 6 + 3 = 22 km instead of 18.
    short = retime(cross(), {"tern-0": NAMES})
    zigzag = retime(cross(), {"tern-0": ("north", "south", "east", "west")})
    assert zigzag.distance_m == 22_000
    assert zigzag.cost - short.cost == Decimal("2.00") + Decimal("1.33")


def test_an_early_arrival_waits_for_the_door() -> None:
    late = place("east", visit_day(windows=(hours(10, 15),)))
    narrow = place("north", visit_day(windows=(hours(9, 9.5),)))
    plan = retime(cross_with(narrow, late), {"tern-0": ("north", "east")})
    # As late as the north allows: work there 09:20 to 09:30, 400 s on the way, then a wait.
    waits = [stop.wait_s for stop in plan.routes[0].stops]
    assert waits == [0, 1_800 - 400]
    assert plan.routes[0].stops[0].departure_s == 9 * HOUR_S + 1_800


def test_of_two_windows_the_one_that_makes_the_shorter_day_is_taken() -> None:
    split = place("north", visit_day(windows=(hours(9, 10), hours(14, 15))))
    late = place("east", visit_day(windows=(hours(14, 15),)))
    plan = retime(cross_with(split, late), {"tern-0": ("north", "east")})
    assert plan.routes[0].stops[0].start_s >= 14 * HOUR_S
    assert plan.routes[0].duration_s == 300 + 600 + 400 + 600 + 300


def test_a_door_that_is_missed_is_worked_at_on_arrival() -> None:
    shut = place("north", visit_day(windows=(hours(5, 6),)))
    plan = retime(cross_with(shut), {"tern-0": ("north",)})
    assert plan.routes[0].stops[0].arrival_s == plan.routes[0].stops[0].start_s
    assert plan.routes[0].start_s == 8 * HOUR_S


def test_shifts_without_stops_have_no_route() -> None:
    problem = cross(days=2, shifts=(shift(), shift(day=1)))
    plan = retime(problem, {"tern-0": NAMES, "tern-1": ()})
    assert [route.shift_id for route in plan.routes] == ["tern-0"]


def test_an_order_for_a_shift_that_is_not_there_is_refused() -> None:
    with pytest.raises(InvalidInput, match="gull-0"):
        retime(cross(), {"gull-0": NAMES})


def test_an_order_with_a_place_that_is_not_there_is_refused() -> None:
    with pytest.raises(InvalidInput, match="nowhere"):
        retime(cross(), {"tern-0": ("nowhere",)})
