"""What a planning problem may not hold, and how it says so."""

import math
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from network.errors import InvalidInput
from network.pickups.core.problem import Depot, Problem, Van, VisitDay, Window, first_fitting
from network.pickups.core.travel import Travel
from tests.core.pickup_problems import (
    TERN,
    WORKSHOP,
    cross,
    cross_travel,
    hours,
    load,
    place,
    shift,
    visit_day,
)


def tern(**changes: Any) -> Van:
    """The van with changes that its types may not allow."""
    return replace(TERN, **changes)


IMPOSSIBLE: list[tuple[str, Callable[[], object]]] = [
    ("depot far.longitude", lambda: Depot(id="far", longitude=181, latitude=0)),
    ("depot workshop.latitude", lambda: replace(WORKSHOP, latitude=math.nan)),
    ("depot workshop.unload_s", lambda: replace(WORKSHOP, unload_s=-1)),
    ("van tern.payload_g", lambda: tern(payload_g=-1)),
    ("van tern.volume_ml", lambda: tern(volume_ml=1.5)),
    ("van tern.cost_per_km", lambda: tern(cost_per_km=0.5)),
    ("van tern.cost_per_hour", lambda: tern(cost_per_hour=Decimal("NaN"))),
    ("van tern.cost_per_shift", lambda: tern(cost_per_shift=Decimal(-1))),
    ("van tern.stream_volume_ml[caps]", lambda: tern(stream_volume_ml={"caps": -1})),
    ("shift tern-0.end_s", lambda: shift(end_s=0)),
    ("shift tern-0.unloads_max", lambda: shift(unloads_max=-1)),
    ("load caps.mass_g", lambda: load(mass_kg=-1)),
    ("load caps.volume_ml", lambda: load(volume_l=-1)),
    ("window.end_s", lambda: Window(start_s=60, end_s=60)),
    ("visit_day.worth", lambda: visit_day(worth=-1)),
    ("visit_day.loads", lambda: visit_day(loads=(load(), load()))),
    ("place north.service_s", lambda: place("north", service_s=-1)),
    ("place north.latitude", lambda: place("north", latitude=91)),
    ("place north.days", lambda: place("north", visit_day(0), visit_day(0))),
    ("place north.pinned_day", lambda: place("north", pinned_day=0, forbidden_days={0})),
    ("days", lambda: cross(days=0)),
    ("days", lambda: cross(days=32)),
    ("currency", lambda: cross(currency="euro")),
    ("vans", lambda: cross(vans=(TERN, TERN))),
    ("shifts", lambda: cross(shifts=(shift(), shift()))),
    ("places", lambda: cross(places=(place("north"), place("north")))),
    ("places", lambda: cross(places=(place("workshop"),))),
    ("travel.ids", lambda: cross(places=(place("nowhere"),))),
    ("shifts.van_id", lambda: cross(shifts=(shift("gull"),))),
    ("shifts.start_depot_id", lambda: cross(shifts=(shift(start_depot_id="shed"),))),
    ("shifts.end_depot_id", lambda: cross(shifts=(shift(end_depot_id="shed"),))),
    ("place north.van_ids", lambda: cross(places=(place("north", van_ids=frozenset({"gull"})),))),
    ("shift tern-1.day", lambda: cross(shifts=(shift(day=1),))),
    ("place north.days", lambda: cross(places=(place("north", visit_day(1)),))),
]


@pytest.mark.parametrize(("field", "make"), IMPOSSIBLE)
def test_a_value_that_cannot_be_is_refused_by_its_field(
    field: str, make: Callable[[], object]
) -> None:
    with pytest.raises(InvalidInput) as refused:
        make()
    assert [error.field for error in refused.value.fields] == [field]


def test_a_van_cannot_have_two_shifts_at_once() -> None:
    with pytest.raises(InvalidInput, match="another shift of van tern"):
        cross(shifts=(shift(), shift(id="second", start_s=9 * 3600)))


def test_a_day_ends_before_the_next_one_begins() -> None:
    late = shift(id="night", end_s=2 * 24 * 3600)
    with pytest.raises(InvalidInput, match="earlier day"):
        cross(days=2, shifts=(late, shift("gull", day=1)), vans=(TERN, tern(id="gull")))


@pytest.mark.parametrize(
    ("field", "metres"),
    [
        ("travel.metres", np.zeros((4, 5), dtype=np.int64)),
        ("travel.metres", np.zeros((5, 5))),
        ("travel.metres", np.full((5, 5), -2, dtype=np.int64)),
        ("travel.metres", np.ones((5, 5), dtype=np.int64)),
    ],
)
def test_a_travel_matrix_is_square_whole_and_zero_at_home(
    field: str, metres: np.ndarray[tuple[int, int], np.dtype[np.int64]]
) -> None:
    sound = cross_travel()
    with pytest.raises(InvalidInput) as refused:
        Travel(ids=sound.ids, metres=metres, seconds=sound.seconds)
    assert refused.value.fields[0].field == field


def test_a_travel_matrix_names_each_location_once() -> None:
    sound = cross_travel()
    with pytest.raises(InvalidInput, match="twice"):
        Travel(ids=("workshop",) * 5, metres=sound.metres, seconds=sound.seconds)


def test_the_first_window_that_still_holds_the_visit_is_taken() -> None:
    windows = (hours(13, 15), hours(9, 10))
    assert first_fitting(windows, arrival_s=8 * 3600, service_s=600) == hours(9, 10)
    assert first_fitting(windows, arrival_s=9 * 3600 + 3001, service_s=600) == hours(13, 15)
    assert first_fitting(windows, arrival_s=15 * 3600, service_s=600) is None
    assert first_fitting((), arrival_s=0, service_s=0) is None


def test_a_pinned_day_shuts_out_the_others_and_asks_for_a_visit() -> None:
    pinned = place("north", visit_day(0), visit_day(1), pinned_day=1)
    assert [option.day for option in pinned.allowed_days()] == [1]
    assert pinned.must_be_visited


def test_a_forbidden_day_is_left_out_of_the_open_days() -> None:
    spared = place("north", visit_day(0), visit_day(1), forbidden_days=frozenset({0}))
    assert [option.day for option in spared.allowed_days()] == [1]
    assert not spared.must_be_visited


def test_what_waits_at_a_place_is_the_sum_over_its_streams() -> None:
    option: VisitDay = visit_day(loads=(load(20, 200, "caps"), load(5, 300, "bottles")))
    assert (option.mass_g, option.volume_ml) == (25_000, 500_000)


def test_a_problem_knows_its_parts_by_id() -> None:
    problem: Problem = cross()
    assert problem.van_of(problem.shifts[0]) is TERN
    assert problem.place_by_id["north"] is problem.places[0]
    assert problem.depot_by_id["workshop"] is WORKSHOP
