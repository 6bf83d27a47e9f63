"""The point that is shown for a place tells its street or its village, and no more."""

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from network.geo import Point
from network.places.core.precision import Precision, point_for_outsiders

LATITUDES = st.floats(-85, 85)
LONGITUDES = st.floats(-180, 180)
CELLS_M = {Precision.STREET: 100, Precision.DISTRICT: 2_000, Precision.HIDDEN: 2_000}


def apart_m(one: Point, other: Point) -> float:
    """Return the distance over the ellipsoid (WGS 84), by GeographicLib."""
    line = Geodesic.WGS84.Inverse(one.latitude, one.longitude, other.latitude, other.longitude)
    distance_m: float = line["s12"]
    return distance_m


def test_an_exact_place_is_shown_where_it_is() -> None:
    here = Point(-29.987654, 45.012345)
    assert point_for_outsiders(here, Precision.EXACT) == here


@pytest.mark.parametrize("precision", CELLS_M)
@given(longitude=LONGITUDES, latitude=LATITUDES)
def test_a_shown_point_is_near_but_says_no_more_than_its_cell(
    precision: Precision, longitude: float, latitude: float
) -> None:
    here = Point(longitude, latitude)
    shown = point_for_outsiders(here, precision)
    # Half the diagonal of a cell, and 1 % for the ellipsoid.
    assert apart_m(here, shown) <= CELLS_M[precision] * 0.7072 * 1.01 + 1
    again = point_for_outsiders(shown, precision)
    assert apart_m(shown, again) < 1, "What is shown is the middle of its cell."


@given(east_m=st.floats(-40, 40), north_m=st.floats(-40, 40))
def test_neighbours_of_one_street_are_shown_at_one_point(east_m: float, north_m: float) -> None:
    middle = point_for_outsiders(Point(-30.0, 45.0), Precision.STREET)
    line = Geodesic.WGS84.Direct(middle.latitude, middle.longitude, 0, north_m)
    line = Geodesic.WGS84.Direct(line["lat2"], line["lon2"], 90, east_m)
    near = Point(line["lon2"], line["lat2"])
    assert point_for_outsiders(near, Precision.STREET) == middle


@pytest.mark.parametrize("latitude", [-90.0, 90.0, 89.9999])
def test_at_a_pole_a_point_is_still_one(latitude: float) -> None:
    shown = point_for_outsiders(Point(123.0, latitude), Precision.DISTRICT)
    assert -90 <= shown.latitude <= 90
    assert -180 <= shown.longitude <= 180
