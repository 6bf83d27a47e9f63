"""A network of roads, and where the points that a van goes to lie on it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from network.geo import EARTH_RADIUS_M, Point, steps_m

OFF_ROAD_M_MAX = 500.0
"""A point further from every road has no way: common practice, no published source."""

# A point so near to the end of a segment is at its end.
AT_END_M = 0.01

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, eq=False)
class RoadNetwork:
    """Segments of road between points (rows of longitude and latitude), each by its index.

    One may drive a segment from its tail to its head (`forward`), back (`backward`) or both, at
    `km_per_h`. `left_out_m` is how much road was left out since it hangs together with nothing.
    """

    points: Floats
    tails: Ints
    heads: Ints
    km_per_h: Floats
    forward: Flags
    backward: Flags
    left_out_m: int = 0

    @cached_property
    def metres(self) -> Floats:
        """How long each segment is."""
        return steps_m(self.points[self.tails], self.points[self.heads])

    @cached_property
    def ways(self) -> tuple[Ints, Ints, Ints]:
        """Where each way that may be driven starts, where it ends, and along which segment."""
        along, against = np.flatnonzero(self.forward), np.flatnonzero(self.backward)
        starts = np.concatenate([self.tails[along], self.heads[against]])
        ends = np.concatenate([self.heads[along], self.tails[against]])
        return starts, ends, np.concatenate([along, against])

    @cached_property
    def boxes(self) -> tuple[Floats, Floats]:
        """The least and the greatest longitude and latitude of each segment."""
        start, end = self.points[self.tails], self.points[self.heads]
        return np.minimum(start, end), np.maximum(start, end)

    @property
    def length_m(self) -> int:
        """How long all roads are together."""
        return round(float(self.metres.sum()))


def largest_part(network: RoadNetwork) -> RoadNetwork:
    """Return the longest part in which one can drive from each point to each other and back.

    A dead end that is one-way is left out with the rest, since no van would come back from it.
    """
    size = len(network.points)
    starts, ends_at, _ = network.ways
    ones = np.ones(len(starts), dtype=np.int8)
    ways = coo_array((ones, (starts, ends_at)), shape=(size, size))
    _, part_of = connected_components(ways.tocsr(), directed=True, connection="strong")
    inside = part_of[network.tails] == part_of[network.heads]
    by_part = np.bincount(part_of[network.tails[inside]], weights=network.metres[inside])
    kept = inside & (part_of[network.tails] == (by_part.argmax() if by_part.size else -1))
    # The points that are kept are numbered anew.
    used, ends = np.unique([network.tails[kept], network.heads[kept]], return_inverse=True)
    tails, heads = ends.reshape(2, -1)
    return RoadNetwork(
        points=network.points[used],
        tails=tails,
        heads=heads,
        km_per_h=network.km_per_h[kept],
        forward=network.forward[kept],
        backward=network.backward[kept],
        left_out_m=round(float(network.metres[~kept].sum())),
    )


@dataclass(frozen=True, kw_only=True)
class Spot:
    """Where a point meets the roads: at a part of a segment's way, so far from it."""

    segment: int
    part: float
    off_m: float


def spots_of(network: RoadNetwork, points: Sequence[Point]) -> list[Spot | None]:
    """Return where each point meets the nearest road; None where that is too far to be reached."""
    return [_spot_of(network, point) for point in points]


def _spot_of(network: RoadNetwork, point: Point) -> Spot | None:
    """Straight lines on a plane around the point, on which so short ways are as on the sphere."""
    a_degree_m = np.radians(1) * EARTH_RADIUS_M
    scale = a_degree_m * np.array([np.cos(np.radians(point.latitude)), 1.0])
    least, greatest = network.boxes
    at, reach = np.array(point), OFF_ROAD_M_MAX / np.maximum(scale, 1)
    near = np.flatnonzero(((least <= at + reach) & (greatest >= at - reach)).all(axis=1))
    if not len(near):
        return None
    start = (network.points[network.tails[near]] - at) * scale
    way = (network.points[network.heads[near]] - at) * scale - start
    part = (-(start * way).sum(axis=1) / (way**2).sum(axis=1)).clip(0, 1)
    off_m = np.hypot(*(start + part[:, None] * way).T)
    nearest = int(off_m.argmin())
    if off_m[nearest] > OFF_ROAD_M_MAX:
        return None
    segment = int(near[nearest])
    return Spot(
        segment=segment,
        part=_at_end(float(part[nearest]), length_m=float(network.metres[segment])),
        off_m=float(off_m[nearest]),
    )


def _at_end(part: float, *, length_m: float) -> float:
    if part * length_m < AT_END_M:
        return 0.0
    return 1.0 if (1 - part) * length_m < AT_END_M else part
