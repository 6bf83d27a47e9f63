"""The port of travel: how far and how long between points, and the line of the way.

Two ways of knowing it: along the roads of a network, or the straight way times a factor.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np

from network.errors import InvalidInput
from network.geo import Point
from network.pickups.core.road_ways import lines_by_road, travel_by_road
from network.pickups.core.roads import RoadNetwork
from network.pickups.core.travel import NO_ROAD, Travel, travel_by_great_circle

Line = Sequence[Point]


class Ways(Protocol):
    """Whoever knows the ways between points; what was found is kept by who found it."""

    def __hash__(self) -> int:
        """One that is equal knows the same ways."""

    def travel(self, points: Mapping[str, Point]) -> Travel:
        """Return whole metres and seconds from each point to each other."""

    def lines(self, points: Sequence[Point]) -> list[Line]:
        """Return the way from each point to the next."""


@dataclass(frozen=True, kw_only=True)
class StraightWays:
    """The straight way times a factor, at one speed; drawn straight."""

    road_factor: float
    speed_km_per_h: float

    def travel(self, points: Mapping[str, Point]) -> Travel:
        """As `travel_by_great_circle`."""
        return travel_by_great_circle(
            points, road_factor=self.road_factor, speed_km_per_h=self.speed_km_per_h
        )

    def lines(self, points: Sequence[Point]) -> list[Line]:
        """Straight from each point to the next."""
        return list(pairwise(points))


@dataclass(frozen=True, kw_only=True, eq=False)
class RoadWays:
    """The quickest way along roads; where none is known it is drawn straight.

    Equal to itself only: two networks are not compared.
    """

    network: RoadNetwork

    def travel(self, points: Mapping[str, Point]) -> Travel:
        """As `travel_by_road`."""
        return travel_by_road(self.network, points)

    def lines(self, points: Sequence[Point]) -> list[Line]:
        """Along the roads from each point to the next."""
        straight = pairwise(points)
        found = lines_by_road(self.network, points)
        return [line or pair for line, pair in zip(found, straight, strict=True)]


def corrected(travel: Travel, correction: float) -> Travel:
    """Return the same ways with their seconds times a correction, rounded up."""
    if not correction > 0:
        raise InvalidInput.of("correction", f"must be above 0, not {correction}")
    # A product of floats may lie a hair above the whole number that it stands for.
    seconds = np.ceil((travel.seconds * correction).round(6)).astype(np.int64)
    return Travel(
        ids=travel.ids,
        metres=travel.metres,
        seconds=np.where(travel.seconds == NO_ROAD, NO_ROAD, seconds),
    )
