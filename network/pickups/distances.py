"""By what a maker's ways are known: its community's roads where there are any, else straight."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from network.geo import Point
from network.people.models import Organisation
from network.pickups.core.road_file import read_roads
from network.pickups.core.travel import Travel
from network.pickups.core.ways import RoadWays, StraightWays, Ways, corrected
from network.pickups.models import KeptTravel, Pickup, Roads, TravelTerms
from network.places.models import Place

BY_ROADS, STRAIGHT = "roads", "straight"
# A network of a hundred thousand segments takes a second to read and some 20 MB to hold.
NETWORKS_HELD = 4
# Whoever drives or looks at a route reads it again and again; its line has some kilobytes.
LINES_HELD = 128

Coordinates = Sequence[Sequence[float]]


@dataclass(frozen=True, kw_only=True)
class Basis:
    """What a plan's distances rest on; the factor and speed where straight, else the roads."""

    by: str
    correction: Decimal
    road_factor: Decimal | None = None
    speed_km_per_h: Decimal | None = None
    roads: str | None = None
    as_of: str | None = None
    version: str | None = None

    def to_data(self) -> dict[str, str | None]:
        """Return it as plain JSON data, numbers as strings."""
        return {name: None if value is None else str(value) for name, value in asdict(self).items()}


@dataclass(frozen=True, kw_only=True)
class Distances:
    """A maker's ways, with what it set of them and what they rest on."""

    maker: Organisation
    terms: TravelTerms
    ways: Ways
    basis: Basis

    def travel(self, points: Mapping[str, Point]) -> Travel:
        """Return metres and seconds between all points, the maker's correction in them."""
        version = self.basis.version
        if version is None:
            found = self.ways.travel(points)
        else:
            found = _kept(self.maker, version, points) or self._keep(version, points)
        return corrected(found, float(self.basis.correction))

    def _keep(self, version: str, points: Mapping[str, Point]) -> Travel:
        found = self.ways.travel(points)
        KeptTravel.objects.update_or_create(
            maker=self.maker,
            defaults={
                "community_id": self.maker.community_id,
                "version": version,
                "points": _coordinates(points).tobytes(),
                "metres": found.metres.astype(np.int32).tobytes(),
                "seconds": found.seconds.astype(np.int32).tobytes(),
            },
        )
        return found

    def line(self, points: Sequence[Point]) -> Coordinates:
        """Return the way by all points as coordinates, longitude first."""
        return _line(self.ways, tuple(points))


def _terms_of(maker: Organisation) -> TravelTerms:
    """What a maker reckons with: what it has set, or what everybody begins with."""
    found = TravelTerms.objects.filter(community_id=maker.community_id, maker=maker).first()
    return found or TravelTerms(community_id=maker.community_id, maker=maker)


def distances_of(maker: Organisation) -> Distances:
    """Return the ways of a maker."""
    terms = _terms_of(maker)
    roads = Roads.objects.filter(community_id=maker.community_id).defer("features").first()
    if roads is None:
        ways: Ways = StraightWays(
            road_factor=float(terms.road_factor), speed_km_per_h=float(terms.speed_km_per_h)
        )
        basis = Basis(
            by=STRAIGHT,
            correction=terms.straight_correction,
            road_factor=terms.road_factor,
            speed_km_per_h=terms.speed_km_per_h,
        )
    else:
        ways = _ways_by(roads.id, roads.version)
        basis = Basis(
            by=BY_ROADS,
            correction=terms.roads_correction,
            roads=roads.source,
            as_of=roads.as_of.isoformat(),
            version=roads.version,
        )
    return Distances(maker=maker, terms=terms, ways=ways, basis=basis)


def way_of_route(workshop: Place | None, pickups: Iterable[Pickup]) -> Coordinates:
    """Return the line of a route as it is planned now, from the workshop and back to it."""
    stops = [p for p in pickups if p.status != Pickup.Status.CALLED_OFF]
    if not stops:
        return ()
    ends = [workshop] if workshop else []
    places = [*ends, *(stop.place for stop in stops), *ends]
    points = [Point(longitude=place.longitude, latitude=place.latitude) for place in places]
    return distances_of(stops[0].maker).line(points)


def road_map_of(community_id: UUID) -> dict[str, Any]:
    """Return the roads as an RFC 7946 FeatureCollection, empty where none were brought."""
    features = Roads.objects.filter(community_id=community_id).values_list("features", flat=True)
    return features.first() or {"type": "FeatureCollection", "features": []}


@lru_cache(maxsize=NETWORKS_HELD)
def _ways_by(roads_id: UUID, version: str) -> RoadWays:
    """The ways of a version of a community's roads, which are read once in each process."""
    features = Roads.objects.values_list("features", flat=True)
    return RoadWays(network=read_roads(features.get(id=roads_id, version=version)))


@lru_cache(maxsize=LINES_HELD)
def _line(ways: Ways, points: tuple[Point, ...]) -> Coordinates:
    """The line of a way, looked for once in each process: other roads are other ways."""
    along = [point for leg in ways.lines(points) for point in leg]
    turns = [p for n, p in enumerate(along) if n == 0 or p != along[n - 1]]
    return tuple(tuple(round(degrees, 6) for degrees in point) for point in turns)


def _coordinates(points: Mapping[str, Point]) -> NDArray[np.float64]:
    return np.array(list(points.values()), dtype=np.float64).reshape(-1, 2)


def _kept(maker: Organisation, version: str, points: Mapping[str, Point]) -> Travel | None:
    """What is kept of the ways between these points; None where one of them is new."""
    kept = KeptTravel.objects.filter(maker=maker, version=version).first()
    if kept is None:
        return None
    known = np.frombuffer(kept.points, dtype=np.float64).reshape(-1, 2)
    index = {Point(*map(float, row)): number for number, row in enumerate(known)}
    wanted = [index[point] for point in points.values() if point in index]
    if len(wanted) < len(points):
        return None
    return Travel(
        ids=tuple(points),
        metres=_matrix(kept.metres, wanted),
        seconds=_matrix(kept.seconds, wanted),
    )


def _matrix(data: bytes | memoryview, wanted: Sequence[int]) -> NDArray[np.int64]:
    square = np.frombuffer(data, dtype=np.int32)
    size = math.isqrt(len(square))
    found: NDArray[np.int64] = square.reshape(size, size)[np.ix_(wanted, wanted)].astype(np.int64)
    return found
