"""Quickest ways along roads, held against networkx (an outside check) on random networks."""

import math
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.geo import Point, distance_m
from network.pickups.core.road_file import USUAL_KM_PER_H, read_roads
from network.pickups.core.road_ways import OFF_ROAD_KM_PER_H, lines_by_road, travel_by_road
from network.pickups.core.roads import OFF_ROAD_M_MAX
from network.pickups.core.travel import NO_ROAD
from tests.core.road_graphs import (
    CORNER,
    SIZE,
    STEP_DEGREES,
    Road,
    as_networkx,
    collection,
    crossing,
    feature,
    road_files,
)

WEST, MIDDLE, EAST = [-31.42, 44.6], [-31.41, 44.6], [-31.40, 44.6]
# One degree along the parallel of 44.6 degrees north, on the sphere of network.geo.
HUNDREDTH_M = distance_m(Point(*WEST), Point(*MIDDLE))


def one_road(**tags: object) -> Road:
    return collection([feature([WEST, MIDDLE, EAST], **{"highway": "residential", **tags})])


def between(roads: Road, *points: Point) -> Any:
    named = {str(number): point for number, point in enumerate(points)}
    return travel_by_road(read_roads(roads), named)


@st.composite
def files_with_points(draw: st.DrawFn, *, oneway: bool = True) -> tuple[Road, list[Point]]:
    """Some roads, and points beside them."""
    roads = draw(road_files(oneway=oneway))
    across = st.floats(0, SIZE * STEP_DEGREES)
    points = draw(st.lists(st.tuples(across, across), min_size=2, max_size=5))
    return roads, [Point(CORNER.longitude + x, CORNER.latitude + y) for x, y in points]


@settings(deadline=None)
@given(road_files())
def test_times_between_crossings_are_those_that_networkx_finds(roads: Road) -> None:
    graph = as_networkx(roads, dict(USUAL_KM_PER_H))
    crossings = [Point(*node) for node in graph]
    travel = between(roads, *crossings)
    for row, start in enumerate(graph):
        found = nx.single_source_dijkstra_path_length(graph, start)
        for column, end in enumerate(graph):
            if row != column:
                assert travel.seconds[row, column] == pytest.approx(found[end], abs=1.001)


@given(files_with_points())
def test_no_detour_is_quicker_than_the_way_itself(drawn: tuple[Road, list[Point]]) -> None:
    seconds = between(drawn[0], *drawn[1]).seconds
    on_road = [n for n in range(len(drawn[1])) if (seconds[n] != NO_ROAD).sum() > 1]
    for start in on_road:
        for by in on_road:
            for end in on_road:
                assert seconds[start, end] <= seconds[start, by] + seconds[by, end]


@given(files_with_points(oneway=False))
def test_where_no_road_is_one_way_it_is_as_long_back(drawn: tuple[Road, list[Point]]) -> None:
    travel = between(drawn[0], *drawn[1])
    # A sum in another order may fall on the other side of a whole second.
    assert abs(travel.seconds - travel.seconds.T).max() <= 1


@given(files_with_points(), st.floats(1, 3))
def test_a_higher_limit_makes_no_way_slower(drawn: tuple[Road, list[Point]], factor: float) -> None:
    roads, points = drawn
    before = between(roads, *points).seconds
    for road in roads["features"]:  # type: ignore[attr-defined]
        if "maxspeed_kmh" in road["properties"]:
            road["properties"]["maxspeed_kmh"] *= factor
    assert (between(roads, *points).seconds <= before).all()


@settings(deadline=None)
@given(files_with_points())
def test_a_way_is_drawn_as_long_as_it_is_counted(drawn: tuple[Road, list[Point]]) -> None:
    roads, points = drawn
    network = read_roads(roads)
    travel = between(roads, *points)
    for index, line in enumerate(lines_by_road(network, points)):
        told_m = travel.metres[index, index + 1]
        assert (line is None) == (told_m == NO_ROAD)
        if line is not None and points[index] != points[index + 1]:
            drawn_m = sum(map(distance_m, line, line[1:]))
            assert (line[0], line[-1]) == (points[index], points[index + 1])
            # Each step is rounded to a metre; beside a road a plane is taken for the sphere.
            assert drawn_m == pytest.approx(told_m, abs=len(line) + 2)


def test_the_way_along_one_road_at_its_speed() -> None:
    travel = between(one_road(maxspeed_kmh=18), Point(*WEST), Point(*EAST))
    assert travel.metres_between("0", "1") == pytest.approx(2 * HUNDREDTH_M, abs=1)
    assert travel.seconds_between("0", "1") == math.ceil(travel.metres_between("0", "1") / 5)


def test_the_worked_numbers_of_the_rules() -> None:
    beside = Point(-31.42, 44.601)
    travel = between(one_road(maxspeed_kmh=18), Point(*WEST), Point(*EAST), beside)
    assert (travel.metres[0, 1], travel.seconds[0, 1]) == (1_583, 317)
    assert (travel.metres[2, 1], travel.seconds[2, 1]) == (1_695, 357)


def test_two_points_between_two_crossings_are_joined_directly() -> None:
    near, further = Point(-31.418, 44.6), Point(-31.412, 44.6)
    travel = between(one_road(), near, further)
    assert travel.metres_between("0", "1") == pytest.approx(0.6 * HUNDREDTH_M, abs=1)


def test_the_stretch_to_the_road_is_slow() -> None:
    beside = Point(-31.41, 44.601)
    off_m = distance_m(beside, Point(*MIDDLE))
    travel = between(one_road(), Point(*MIDDLE), beside)
    assert travel.metres_between("0", "1") == pytest.approx(off_m, abs=1)
    slow_s = off_m / (OFF_ROAD_KM_PER_H / 3.6)
    assert travel.seconds_between("0", "1") == pytest.approx(slow_s, abs=2)


@pytest.mark.parametrize(("metres", "has_way"), [(-5, True), (5, False)])
def test_a_point_too_far_from_every_road_has_no_way(metres: int, has_way: bool) -> None:
    off = Point(-31.41, 44.6 + (OFF_ROAD_M_MAX + metres) / 111_195.08)
    travel = between(one_road(), Point(*MIDDLE), off, Point(*EAST))
    assert travel.has_road("0", "1") is has_way
    assert travel.has_road("1", "0") is has_way
    assert travel.has_road("0", "2")


def test_a_one_way_street_is_left_by_the_long_way() -> None:
    north = [-31.41, 44.61]
    round_trip = collection(
        [
            feature([WEST, EAST], highway="residential", oneway="yes"),
            feature([EAST, north, WEST], highway="residential"),
        ]
    )
    travel = between(round_trip, Point(*WEST), Point(*EAST))
    assert travel.metres_between("0", "1") == pytest.approx(2 * HUNDREDTH_M, abs=1)
    assert travel.metres_between("1", "0") > 2 * HUNDREDTH_M
    round_trip["features"][0]["properties"]["oneway"] = "-1"  # type: ignore[index]
    turned = between(round_trip, Point(*WEST), Point(*EAST))
    assert turned.metres_between("1", "0") == travel.metres_between("0", "1")


def test_the_quicker_way_is_taken_though_it_is_longer() -> None:
    detour = [-31.41, 44.603]
    roads = collection(
        [
            feature([WEST, EAST], highway="track"),
            feature([WEST, detour, EAST], highway="primary"),
        ]
    )
    travel = between(roads, Point(*WEST), Point(*EAST))
    way_m = sum(map(distance_m, (Point(*WEST), Point(*detour)), (Point(*detour), Point(*EAST))))
    assert travel.metres_between("0", "1") == pytest.approx(way_m, abs=1)
    primary_s = way_m / (USUAL_KM_PER_H["primary"] / 3.6)
    assert travel.seconds_between("0", "1") == pytest.approx(primary_s, abs=1)


@pytest.mark.parametrize(
    ("tags", "km_per_h"),
    [
        ({"highway": "residential"}, 25),
        ({"highway": "primary_link"}, 60),
        ({"highway": "primary", "maxspeed_kmh": 30}, 30),
        ({"highway": "primary", "maxspeed_kmh": 90}, 60),
        ({"highway": "primary", "maxspeed": "30"}, 30),
        ({"highway": "primary", "maxspeed": "20 mph"}, 32.18688),
        ({"highway": "primary", "maxspeed": "walk"}, 60),
        ({"highway": "unclassified", "surface": "gravel"}, 25),
    ],
)
def test_how_fast_a_road_is_driven(tags: dict[str, object], km_per_h: float) -> None:
    network = read_roads(collection([feature([WEST, EAST], **tags)]))
    assert network.km_per_h.tolist() == pytest.approx([km_per_h])


def test_what_a_van_may_not_drive_on_is_left_out() -> None:
    north, far = [-31.41, 44.605], [-31.2, 44.6]
    roads = collection(
        [
            feature([WEST, MIDDLE, EAST], highway="residential"),
            feature([WEST, north], highway="footway"),
            feature([EAST, north], highway="residential", access="private"),
            feature([far, [-31.2, 44.61]], highway="residential"),
            feature([MIDDLE, north], highway="residential", oneway="yes"),
        ]
    )
    network = read_roads(roads)
    assert network.length_m == pytest.approx(2 * HUNDREDTH_M, abs=1)
    alone_m = distance_m(Point(*far), Point(-31.2, 44.61))
    dead_end_m = distance_m(Point(*MIDDLE), Point(*north))
    assert network.left_out_m == pytest.approx(alone_m + dead_end_m, abs=2)


@pytest.mark.parametrize(
    ("data", "field"),
    [
        ([], "roads"),
        ({"type": "Feature"}, "roads"),
        (collection([]), "roads"),
        (collection([feature([WEST, EAST], highway="footway")]), "roads"),
        (one_road(maxspeed_kmh=0), "features[0].maxspeed_kmh"),
        (one_road(maxspeed_kmh="fast"), "features[0].maxspeed_kmh"),
        (one_road(oneway="perhaps"), "features[0].oneway"),
        (collection([feature([WEST], highway="road")]), "features[0].coordinates"),
        (collection([feature([WEST, [200, 0]], highway="road")]), "features[0].coordinates"),
        (collection([feature([WEST, ["a", 1]], highway="road")]), "features[0].coordinates"),  # type: ignore[list-item]
        ({"type": "FeatureCollection", "features": [7]}, "features[0]"),
    ],
)
def test_a_file_that_is_no_road_map_is_refused_by_its_feature(data: Any, field: str) -> None:
    with pytest.raises(InvalidInput) as refused:
        read_roads(data)
    assert [fault.field for fault in refused.value.fields] == [field]


def test_crossings_of_the_random_networks_are_all_apart() -> None:
    places = {tuple(crossing(number)) for number in range(SIZE * SIZE)}
    assert len(places) == SIZE * SIZE
