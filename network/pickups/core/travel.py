"""Travel between points: great circles stretched by a road factor, as whole metres and seconds."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from network.errors import InvalidInput
from network.geo import Point, great_circle_m

NO_ROAD = -1
"""The matrix entry of a pair between which no way is known."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Travel:
    """How far and how long it is from each location to each other: row from, column to.

    `metres` and `seconds` are square matrices of whole numbers in the order of `ids`; an entry
    of NO_ROAD (-1) in either says that no way is known. One way may differ from the other.
    """

    ids: tuple[str, ...]
    metres: NDArray[np.int64]
    seconds: NDArray[np.int64]

    def __post_init__(self) -> None:
        if len(set(self.ids)) != len(self.ids):
            raise InvalidInput.of("travel.ids", "must not hold an id twice")
        for name, matrix in (("metres", self.metres), ("seconds", self.seconds)):
            _check_matrix(f"travel.{name}", matrix, size=len(self.ids))

    @cached_property
    def _index(self) -> dict[str, int]:
        return {location_id: index for index, location_id in enumerate(self.ids)}

    def index(self, location_id: str) -> int:
        """The row and column of a location."""
        return self._index[location_id]

    def metres_between(self, from_id: str, to_id: str) -> int:
        """Whole metres from one location to another, or NO_ROAD."""
        return int(self.metres[self._index[from_id], self._index[to_id]])

    def seconds_between(self, from_id: str, to_id: str) -> int:
        """Whole seconds from one location to another, or NO_ROAD."""
        return int(self.seconds[self._index[from_id], self._index[to_id]])

    def has_road(self, from_id: str, to_id: str) -> bool:
        """Whether a way from one location to another is known."""
        metres, seconds = self.metres_between(from_id, to_id), self.seconds_between(from_id, to_id)
        return NO_ROAD not in {metres, seconds}


def _check_matrix(name: str, matrix: NDArray[np.int64], *, size: int) -> None:
    if matrix.shape != (size, size):
        raise InvalidInput.of(name, f"must be {size} x {size}, not {matrix.shape}")
    if not np.issubdtype(matrix.dtype, np.integer):
        raise InvalidInput.of(name, f"must hold whole numbers, not {matrix.dtype}")
    if size and matrix.min() < NO_ROAD:
        raise InvalidInput.of(
            name, "must hold numbers of zero or more, or -1 where there is no way"
        )
    if np.diagonal(matrix).any():
        raise InvalidInput.of(name, "must be zero from a location to itself")


def travel_by_great_circle(
    points: Mapping[str, Point], *, road_factor: float, speed_km_per_h: float
) -> Travel:
    """Estimate travel between all points: the straight way times the road factor, at one speed.

    `road_factor` says how much longer roads are than the straight way (at least 1). Metres are
    rounded to the nearest, seconds up, so that no way is planned faster than the speed given.
    """
    if not 1 <= road_factor < math.inf:
        raise InvalidInput.of("road_factor", f"must be 1 or more, not {road_factor}")
    if not 0 < speed_km_per_h < math.inf:
        raise InvalidInput.of("speed_km_per_h", f"must be above 0, not {speed_km_per_h}")
    places = list(points.values())
    road_m = great_circle_m(places, places) * road_factor
    if not np.isfinite(road_m).all():
        raise InvalidInput.of("points", "must have numbers for longitude and latitude")
    np.fill_diagonal(road_m, 0)
    return Travel(
        ids=tuple(points),
        metres=np.rint(road_m).astype(np.int64),
        seconds=np.ceil(road_m * 3.6 / speed_km_per_h).astype(np.int64),
    )
