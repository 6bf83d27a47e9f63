"""How precisely a place may be shown to outsiders, and the point that is shown for it."""

from enum import StrEnum
from math import cos, floor, radians

from network.geo import Point

# Mean length of a degree of latitude: the Earth's mean circumference (IUGG radius) ÷ 360.
M_PER_DEGREE = 111_195
STREET_M = 100
VILLAGE_M = 2_000


class Precision(StrEnum):
    """What a place agreed to: its spot, its street, its district, or not to be on the map."""

    EXACT = "exact"
    STREET = "street"
    DISTRICT = "district"
    HIDDEN = "hidden"


def point_for_outsiders(point: Point, precision: Precision) -> Point:
    """Return the point that outsiders may reckon with.

    All that lies in one cell, of 100 m for a street and 2 km for less, gives the same point: asking
    again, or from elsewhere, tells no more.
    """
    if precision is Precision.EXACT:
        return point
    return _middle_of_cell(point, STREET_M if precision is Precision.STREET else VILLAGE_M)


def _middle_of_cell(point: Point, cell_m: int) -> Point:
    """Return the middle of the cell that a point lies in; its rows follow the latitude."""
    step = cell_m / M_PER_DEGREE
    latitude = round(point.latitude / step) * step
    # So many whole cells around the Earth there; at a pole it is one.
    wide = 360 / max(1, floor(360 * cos(radians(latitude)) / step))
    longitude = round(point.longitude / wide) * wide
    return Point(round(_wrapped(longitude), 6), round(min(max(latitude, -90.0), 90.0), 6))


def _wrapped(longitude: float) -> float:
    return (longitude + 180) % 360 - 180
