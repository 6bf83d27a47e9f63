"""Plans of the cross (see pickup_problems): who is visited, when, and what is left out and why."""

from dataclasses import replace
from decimal import Decimal
from threading import get_ident

import numpy as np
import pytest

from network.errors import InvalidInput
from network.pickups.core.check import ViolationCode, check
from network.pickups.core.cost import RouteCost
from network.pickups.core.plan import Plan, StopKind
from network.pickups.core.problem import Place, Problem
from network.pickups.core.reasons import ReasonCode
from network.pickups.core.solve import solve
from network.pickups.core.travel import NO_ROAD, Travel
from tests.core.pickup_problems import (
    HOUR_S,
    NAMES,
    TERN,
    cross,
    cross_travel,
    cross_with,
    hours,
    load,
    place,
    shift,
    visit_day,
)

GULL = replace(TERN, id="gull")


def solved(problem: Problem, warm_start: Plan | None = None) -> Plan:
    """The plan of a tiny problem, which must keep every rule but visits that cannot be made."""
    plan = solve(problem, seed=1, iterations=300, warm_start=warm_start)
    codes = {violation.code for violation in check(problem, plan)}
    assert codes <= {ViolationCode.REQUIRED_LEFT_OUT}
    return plan


def visited(plan: Plan) -> set[str]:
    return set(plan.visit_by_place)


def reasons(plan: Plan, place_id: str) -> list[ReasonCode]:
    (unplanned,) = (one for one in plan.unplanned if one.place_id == place_id)
    return [reason.code for reason in unplanned.reasons]


def test_one_round_visits_all_four_places_the_short_way() -> None:
    # Out 3 km, three sides of 4 km, home 3 km: 18 km; 30 minutes of driving, 40 of work.
    plan = solved(cross())
    (route,) = plan.routes
    assert visited(plan) == set(NAMES)
    assert plan.distance_m == 18_000
    assert plan.duration_s == 1800 + 4 * 600
    assert (plan.mass_g, plan.volume_ml) == (80_000, 800_000)
    # 10 for the shift, 18 km x 0.50 = 9, 70 minutes x 12 an hour = 14.
    assert route.cost == RouteCost(shift=Decimal(10), distance=Decimal(9), time=Decimal(14))
    assert plan.cost == Decimal(33)
    # 33 / 80 kg = 0.4125, half to even at the cent.
    assert plan.cost_per_kg == Decimal("0.41")


def test_a_place_that_is_not_worth_the_way_is_left_out() -> None:
    poor = place("west", visit_day(worth=1))
    plan = solved(cross_with(*(place(name) for name in NAMES[:3]), poor))
    assert visited(plan) == {"north", "east", "south"}
    assert reasons(plan, "west") == [ReasonCode.LEFT_OUT]


def test_no_van_goes_out_where_all_visits_together_are_not_worth_it() -> None:
    plan = solved(cross(places=tuple(place(name, visit_day(worth=5)) for name in NAMES)))
    assert plan.routes == ()
    assert plan.cost == 0
    assert plan.cost_per_kg is None


def test_a_required_visit_is_made_whatever_it_costs() -> None:
    plan = solved(cross_with(place("west", visit_day(worth=0), required=True)))
    assert visited(plan) == {"west"}


def test_a_pinned_day_is_kept_although_another_day_is_cheaper() -> None:
    far = [place(name, visit_day(0)) for name in ("north", "east")]
    pinned = place("west", visit_day(0), visit_day(1), pinned_day=1)
    plan = solved(cross_with(*far, pinned, days=2, shifts=(shift(), shift(day=1))))
    assert plan.visit_by_place["west"][0].day == 1


def test_a_forbidden_day_is_never_used() -> None:
    spared = place("west", visit_day(0, worth=90), visit_day(1), forbidden_days=frozenset({0}))
    plan = solved(cross_with(spared, place("north"), days=2, shifts=(shift(), shift(day=1))))
    assert "west" not in visited(plan) or plan.visit_by_place["west"][0].day == 1


def test_a_place_is_visited_at_most_once_in_the_horizon() -> None:
    days = tuple(visit_day(day, worth=50) for day in range(5))
    shifts = tuple(shift(day=day) for day in range(5))
    plan = solved(cross_with(place("west", *days), days=5, shifts=shifts))
    assert len([stop for route in plan.routes for stop in route.visits]) == 1


def test_the_day_with_more_worth_is_chosen() -> None:
    days = (visit_day(0, worth=20), visit_day(1, worth=30), visit_day(2, worth=25))
    shifts = tuple(shift(day=day) for day in range(3))
    plan = solved(cross_with(place("west", *days), days=3, shifts=shifts))
    assert plan.visit_by_place["west"][0].day == 1


def test_a_van_never_carries_more_than_its_payload_at_once() -> None:
    small = replace(TERN, payload_g=45_000)
    plan = solved(cross(vans=(small,)))
    assert plan.mass_g == 40_000


def test_a_van_never_carries_more_than_its_volume_at_once() -> None:
    small = replace(TERN, volume_ml=650_000)
    plan = solved(cross(vans=(small,)))
    assert plan.volume_ml == 600_000


def test_unloading_on_the_way_lets_a_small_van_do_all() -> None:
    small = replace(TERN, payload_g=45_000, cost_per_shift=Decimal(0))
    plan = solved(cross(vans=(small,), shifts=(shift(unloads_max=1),)))
    (route,) = plan.routes
    assert visited(plan) == set(NAMES)
    assert [stop.kind for stop in route.stops].count(StopKind.UNLOAD) == 1
    unloading = next(stop for stop in route.stops if stop.kind is StopKind.UNLOAD)
    assert unloading.departure_s - unloading.start_s == 600
    assert unloading.onboard_mass_g == 0


def test_a_stream_with_a_compartment_is_bound_by_it() -> None:
    divided = replace(TERN, stream_volume_ml={"caps": 450_000})
    plan = solved(cross(vans=(divided,)))
    assert plan.volume_ml == 400_000


def test_a_stream_that_a_van_does_not_take_stays_where_it_is() -> None:
    without = replace(TERN, stream_volume_ml={"caps": 0})
    plan = solved(cross(vans=(without,)))
    assert plan.routes == ()
    assert reasons(plan, "north") == [ReasonCode.STREAM_TOO_BULKY]


def mixed_places() -> tuple[Place, ...]:
    caps, bottles = visit_day(worth=20), visit_day(loads=(load(stream_id="bottles"),), worth=40)
    return (
        place("north", caps),
        place("south", caps),
        place("east", bottles),
        place("west", bottles),
    )


def test_streams_that_may_not_share_a_load_ride_in_different_vans() -> None:
    apart = (frozenset({"caps", "bottles"}),)
    both = cross(
        places=mixed_places(),
        vans=(TERN, GULL),
        shifts=(shift("tern"), shift("gull")),
        apart=apart,
    )
    plan = solved(both)
    assert visited(plan) == set(NAMES)
    for route in plan.routes:
        assert len({item.stream_id for stop in route.stops for item in stop.loads}) == 1


def test_a_single_van_takes_the_worthier_of_two_streams_kept_apart() -> None:
    plan = solved(cross(places=mixed_places(), apart=(frozenset({"caps", "bottles"}),)))
    assert visited(plan) == {"east", "west"}


def test_streams_share_a_load_where_nothing_keeps_them_apart() -> None:
    plan = solved(cross(places=mixed_places()))
    assert visited(plan) == set(NAMES)


def test_only_an_allowed_van_comes() -> None:
    choosy = place("west", visit_day(worth=90), van_ids=frozenset({"gull"}))
    vans = (TERN, replace(GULL, cost_per_shift=Decimal(60)))
    plan = solved(cross_with(choosy, vans=vans, shifts=(shift("tern"), shift("gull"))))
    assert plan.visit_by_place["west"][0].van_id == "gull"


def test_a_place_with_several_windows_is_visited_inside_one_of_them() -> None:
    split = place("west", visit_day(windows=(hours(9, 10), hours(14, 15)), worth=90))
    early = place("north", visit_day(windows=(hours(13, 13.5),), worth=90))
    plan = solved(cross_with(split, early))
    stop = plan.visit_by_place["west"][1]
    assert stop.start_s >= 14 * HOUR_S
    assert visited(plan) == {"west", "north"}


def test_the_driver_does_not_set_out_hours_before_the_first_door_opens() -> None:
    late = place("west", visit_day(windows=(hours(14, 15),), worth=90))
    (route,) = solved(cross_with(late)).routes
    assert route.start_s == 14 * HOUR_S - 300
    assert route.stops[0].wait_s == 0


NONSENSE: list[tuple[str, Problem, ReasonCode]] = [
    ("no van", cross(vans=(), shifts=()), ReasonCode.NO_SHIFT),
    ("no shift", cross(shifts=()), ReasonCode.NO_SHIFT),
    (
        "all closed",
        cross(places=tuple(place(name, days=()) for name in NAMES)),
        ReasonCode.CLOSED_ALL_DAYS,
    ),
    (
        "open at night only",
        cross(places=tuple(place(name, visit_day(windows=(hours(1, 5),))) for name in NAMES)),
        ReasonCode.NO_WINDOW_IN_SHIFT,
    ),
    (
        "never open on its day",
        cross(places=tuple(place(name, visit_day(windows=())) for name in NAMES)),
        ReasonCode.NO_WINDOW_IN_SHIFT,
    ),
    (
        "heavier than any van",
        cross(places=tuple(place(name, visit_day(loads=(load(501),))) for name in NAMES)),
        ReasonCode.TOO_HEAVY,
    ),
    (
        "bulkier than any van",
        cross(places=tuple(place(name, visit_day(loads=(load(1, 3001),))) for name in NAMES)),
        ReasonCode.TOO_BULKY,
    ),
    (
        "home too late",
        cross(shifts=(shift(end_s=9 * HOUR_S + 899),)),
        ReasonCode.TOO_FAR,
    ),
    (
        "every day forbidden",
        cross(places=tuple(place(name, forbidden_days=frozenset({0})) for name in NAMES)),
        ReasonCode.DAYS_RULED_OUT,
    ),
    (
        "no van allowed",
        cross(places=tuple(place(name, van_ids=frozenset()) for name in NAMES)),
        ReasonCode.VAN_NOT_ALLOWED,
    ),
    (
        "vans out on other days",
        cross(days=2, shifts=(shift(day=1),)),
        ReasonCode.NO_SHIFT_THAT_DAY,
    ),
]


@pytest.mark.parametrize(
    ("problem", "code"), [row[1:] for row in NONSENSE], ids=[row[0] for row in NONSENSE]
)
def test_what_cannot_be_planned_is_a_plan_with_reasons(problem: Problem, code: ReasonCode) -> None:
    plan = solved(problem)
    assert plan.routes == ()
    assert [reasons(plan, name) for name in NAMES] == [[code]] * 4


def test_a_problem_without_places_says_so() -> None:
    plan = solved(cross(places=()))
    assert [note.code for note in plan.notes] == [ReasonCode.NO_PLACE]


def test_required_visits_that_cannot_be_made_leave_the_others_their_plan() -> None:
    heavy = place("west", visit_day(loads=(load(501),)), required=True)
    problem = cross_with(*(place(name) for name in NAMES[:3]), heavy)
    plan = solved(problem)
    assert visited(plan) == {"north", "east", "south"}
    assert [v.code for v in check(problem, plan)] == [ViolationCode.REQUIRED_LEFT_OUT]


def test_of_required_visits_that_compete_as_many_as_fit_are_made() -> None:
    tight = replace(TERN, payload_g=45_000)
    required = tuple(place(name, visit_day(worth=0), required=True) for name in NAMES)
    plan = solved(cross(vans=(tight,), places=required))
    assert len(visited(plan)) == 2


def test_a_place_without_any_way_to_it_is_left_out_and_named() -> None:
    sound = cross_travel()
    metres = sound.metres.copy()
    metres[4, :] = NO_ROAD
    np.fill_diagonal(metres, 0)
    travel = Travel(ids=sound.ids, metres=metres, seconds=sound.seconds)
    plan = solved(cross(travel=travel))
    assert visited(plan) == {"north", "east", "south"}
    assert reasons(plan, "west") == [ReasonCode.NO_ROAD]


def test_a_way_that_is_missing_between_two_places_is_never_driven() -> None:
    sound = cross_travel()
    seconds = sound.seconds.copy()
    seconds[1, 2] = seconds[2, 1] = NO_ROAD
    travel = Travel(ids=sound.ids, metres=sound.metres, seconds=seconds)
    assert visited(solved(cross(travel=travel))) == set(NAMES)


def test_streams_kept_apart_that_wait_in_one_place_are_named() -> None:
    both = place("west", visit_day(loads=(load(), load(stream_id="bottles"))))
    plan = solved(cross_with(both, apart=(frozenset({"caps", "bottles"}),)))
    assert reasons(plan, "west") == [ReasonCode.STREAMS_APART]


def test_a_plan_made_again_from_itself_does_not_change() -> None:
    problem = cross(vans=(TERN, GULL), shifts=(shift("tern"), shift("gull")))
    plan = solved(problem)
    assert solved(problem, warm_start=plan) == plan


def test_a_small_change_keeps_the_vans_on_their_rounds() -> None:
    small = tuple(replace(van, payload_g=45_000) for van in (TERN, GULL))
    worthy = tuple(place(name, visit_day(worth=40)) for name in NAMES)
    before = cross(vans=small, shifts=(shift("tern"), shift("gull")), places=worthy)
    first = solved(before)
    closed = replace(before.places[0], days=())
    second = solved(replace(before, places=(closed, *before.places[1:])), warm_start=first)
    rounds = [
        {name: route.van_id for name, (route, _) in plan.visit_by_place.items() if name != "north"}
        for plan in (first, second)
    ]
    assert rounds[1] == rounds[0]


@pytest.mark.parametrize(("north", "south"), [("tern", "gull"), ("gull", "tern")])
def test_of_vans_that_are_alike_each_place_sees_the_one_that_came_last(
    north: str, south: str
) -> None:
    small = [replace(van, payload_g=25_000) for van in (TERN, GULL)]
    last = {"north": north, "south": south}
    problem = cross(
        vans=tuple(small),
        shifts=(shift("tern"), shift("gull")),
        places=tuple(place(name, visit_day(worth=40), last_van_id=last[name]) for name in last),
    )
    visits = solved(problem).visit_by_place
    assert {name: route.van_id for name, (route, _) in visits.items()} == last


def test_a_plan_of_another_week_still_serves_as_a_start() -> None:
    other = solved(cross(days=2, shifts=(shift(id="old", unloads_max=2),)))
    assert visited(solved(cross(), warm_start=other)) == set(NAMES)


def test_the_search_stops_when_told_to() -> None:
    asked: list[int] = []

    def stop(best_cost: int) -> bool:
        asked.append(best_cost)
        return len(asked) == 3

    plan = solve(cross(), seed=1, iterations=10_000, stop=stop)
    assert len(asked) == 3
    assert check(cross(), plan) == []


def test_searches_side_by_side_ask_the_rule_once_and_end_together() -> None:
    asked: list[int] = []

    def stop(best_cost: int) -> bool:
        asked.append(best_cost)
        assert get_ident() == here
        return len(asked) == 50

    here = get_ident()

    plan = solve(cross(), seed=1, iterations=10**9, searches=3, stop=stop)
    assert len(asked) == 50
    assert visited(plan) == set(NAMES)


@pytest.mark.parametrize(
    ("field", "seed", "iterations", "searches"),
    [("seed", -1, 1, 1), ("iterations", 1, 0, 1), ("searches", 1, 1, 0)],
)
def test_a_search_without_limit_or_seed_is_refused(
    field: str, seed: int, iterations: int, searches: int
) -> None:
    with pytest.raises(InvalidInput) as refused:
        solve(cross(), seed=seed, iterations=iterations, searches=searches)
    assert refused.value.fields[0].field == field
