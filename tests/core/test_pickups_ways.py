"""The port of travel: two ways of knowing the ways, told apart by nothing but what they say."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.geo import Point, distance_m
from network.pickups.core.road_file import read_roads
from network.pickups.core.travel import NO_ROAD
from network.pickups.core.ways import RoadWays, StraightWays, Ways, corrected
from tests.core.road_graphs import collection, feature

A, B, FAR = Point(-31.42, 44.6), Point(-31.40, 44.6), Point(-31.0, 44.6)
BEND = Point(-31.41, 44.605)
STRAIGHT = StraightWays(road_factor=1.3, speed_km_per_h=40)
ROADS = RoadWays(
    network=read_roads(collection([feature([[*A], [*BEND], [*B]], highway="residential")]))
)


@pytest.mark.parametrize("ways", [STRAIGHT, ROADS])
def test_both_know_how_far_and_how_long_and_draw_the_way(ways: Ways) -> None:
    travel = ways.travel({"a": A, "b": B})
    assert travel.metres_between("a", "b") > distance_m(A, B)
    assert travel.seconds_between("a", "b") > 0
    (line,) = ways.lines([A, B])
    assert (line[0], line[-1]) == (A, B)


def test_a_road_is_drawn_with_its_bends_and_a_straight_way_without() -> None:
    assert BEND in ROADS.lines([A, B])[0]
    assert STRAIGHT.lines([A, B]) == [(A, B)]


def test_a_place_off_the_roads_has_no_way_and_is_drawn_straight() -> None:
    assert not ROADS.travel({"a": A, "far": FAR}).has_road("a", "far")
    assert list(ROADS.lines([A, FAR])[0]) == [A, FAR]


@given(st.decimals("0.5", "2", places=2))
def test_a_correction_stretches_seconds_and_leaves_metres(correction: Decimal) -> None:
    before = ROADS.travel({"a": A, "b": B, "far": FAR})
    after = corrected(before, float(correction))
    assert (after.metres == before.metres).all()
    exact = before.seconds_between("a", "b") * correction
    assert 0 <= after.seconds_between("a", "b") - exact < 1
    assert after.seconds_between("a", "far") == NO_ROAD


@pytest.mark.parametrize("correction", [0, -1, float("nan")])
def test_a_correction_that_is_none_is_refused(correction: float) -> None:
    with pytest.raises(InvalidInput):
        corrected(STRAIGHT.travel({"a": A, "b": B}), correction)
