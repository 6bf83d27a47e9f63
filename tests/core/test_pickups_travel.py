"""Travel by great circle, held against the ellipsoid of geographiclib (an outside check).

A sphere of the Earth's mean radius is within 0.5 % of the ellipsoid on most ways. The worst is
0.56 %, due north at the equator, where the ellipsoid's radius of curvature is a(1 - e2), 6,335.4 km
(WGS 84), against the mean of 6,371.0 km.
"""

import math

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.geo import EARTH_RADIUS_M, Point, great_circle_m
from network.pickups.core.travel import travel_by_great_circle

TOLERANCE = 0.005
TOLERANCE_AT_WORST = 0.0057

# From geographiclib 2.0 (Karney 2013, doi:10.1007/s00190-012-0578-z), run when this was written.
KNOWN_M = [
    ("one degree of the equator", Point(0, 0), Point(1, 0), 111_319.491),
    ("London to Paris", Point(-0.1246, 51.5007), Point(2.2945, 48.8584), 340_894.8),
]

PAIRS = [
    *((start, end) for _, start, end, _ in KNOWN_M),
    (Point(-30.0, -40.0), Point(-29.99, -40.01)),
    (Point(-30.0, -40.0), Point(-29.4, -39.7)),
    (Point(10.0, 0.0), Point(11.0, 1.0)),
    (Point(179.9, 10.0), Point(-179.9, 10.0)),
    (Point(25.0, 70.0), Point(26.0, 71.0)),
]

longitudes = st.floats(-180, 180)
latitudes = st.floats(-89, 89)


def ellipsoid_m(start: Point, end: Point) -> float:
    found = Geodesic.WGS84.Inverse(start.latitude, start.longitude, end.latitude, end.longitude)
    return float(found["s12"])


@pytest.mark.parametrize(("name", "start", "end", "known_m"), KNOWN_M)
def test_known_distances_are_met(name: str, start: Point, end: Point, known_m: float) -> None:
    assert ellipsoid_m(start, end) == pytest.approx(known_m, abs=0.1), name
    assert great_circle_m([start], [end])[0, 0] == pytest.approx(known_m, rel=TOLERANCE), name


@pytest.mark.parametrize(("start", "end"), PAIRS)
def test_the_sphere_is_within_half_a_per_cent_of_the_ellipsoid(start: Point, end: Point) -> None:
    ours_m = great_circle_m([start], [end])[0, 0]
    assert ours_m == pytest.approx(ellipsoid_m(start, end), rel=TOLERANCE)


@given(longitudes, latitudes, st.floats(-1, 1), st.floats(-1, 1))
def test_any_short_way_is_within_the_worst_case_of_the_ellipsoid(
    longitude: float, latitude: float, east: float, north: float
) -> None:
    start = Point(longitude, latitude)
    end = Point(longitude + east, latitude + north)
    ours_m = great_circle_m([start], [end])[0, 0]
    # Up to a centimetre is rounding of the angles themselves.
    known_m = ellipsoid_m(start, end)
    assert ours_m == pytest.approx(known_m, rel=TOLERANCE_AT_WORST, abs=0.01)


def test_due_north_at_the_equator_is_the_worst_case() -> None:
    ours_m = great_circle_m([Point(10, 0)], [Point(10, 0.1)])[0, 0]
    excess = ours_m / ellipsoid_m(Point(10, 0), Point(10, 0.1)) - 1
    assert TOLERANCE < excess < TOLERANCE_AT_WORST


def test_one_degree_on_the_mean_sphere_is_its_radius_times_the_angle() -> None:
    # 2 pi R / 360 with R = 6,371,008.8 m (IUGG) is 111,195.080 m.
    ours_m = great_circle_m([Point(0, 0)], [Point(1, 0)])[0, 0]
    assert ours_m == pytest.approx(math.radians(1) * EARTH_RADIUS_M, rel=1e-12)
    assert ours_m == pytest.approx(111_195.080, abs=0.001)


def test_roads_are_longer_than_the_straight_way_by_the_road_factor() -> None:
    # 111,195.080 m x 1.3 = 144,553.6 m; at 40 km/h 13,009.8 s, rounded up.
    points = {"a": Point(0, 0), "b": Point(1, 0)}
    travel = travel_by_great_circle(points, road_factor=1.3, speed_km_per_h=40)
    assert travel.metres_between("a", "b") == 144_554
    assert travel.seconds_between("a", "b") == 13_010
    assert travel.metres_between("b", "b") == 0
    assert travel.has_road("a", "b")


@given(st.lists(st.tuples(longitudes, latitudes), min_size=2, max_size=6, unique=True))
def test_ways_are_alike_in_both_directions_and_never_faster_than_the_speed(
    coordinates: list[tuple[float, float]],
) -> None:
    points = {str(index): Point(*pair) for index, pair in enumerate(coordinates)}
    travel = travel_by_great_circle(points, road_factor=1.25, speed_km_per_h=36)
    assert (travel.metres == travel.metres.T).all()
    # 36 km/h is 10 m/s; half a metre is the rounding of metres.
    assert (travel.seconds * 10 >= travel.metres - 0.5).all()


@pytest.mark.parametrize(
    ("field", "road_factor", "speed_km_per_h"),
    [
        ("road_factor", 0.9, 40),
        ("road_factor", float("nan"), 40),
        ("speed_km_per_h", 1.3, 0),
        ("speed_km_per_h", 1.3, float("inf")),
    ],
)
def test_a_road_factor_below_one_or_no_speed_is_refused(
    field: str, road_factor: float, speed_km_per_h: float
) -> None:
    with pytest.raises(InvalidInput) as refused:
        travel_by_great_circle({}, road_factor=road_factor, speed_km_per_h=speed_km_per_h)
    assert refused.value.fields[0].field == field


def test_a_point_without_numbers_is_refused() -> None:
    points = {"a": Point(0, 0), "b": Point(float("nan"), 0)}
    with pytest.raises(InvalidInput, match="longitude and latitude"):
        travel_by_great_circle(points, road_factor=1.3, speed_km_per_h=40)
