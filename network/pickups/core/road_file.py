"""A community's roads, read from GeoJSON: lines with OpenStreetMap's tags become a road network.

Lines are joined where they share a point, as OpenStreetMap has it: a bridge over a road has none
in common with it.
"""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from network.errors import InvalidInput
from network.geo import Point
from network.pickups.core.roads import RoadNetwork, largest_part

USUAL_KM_PER_H: Mapping[str, float] = {
    "motorway": 90,
    "trunk": 75,
    "primary": 60,
    "secondary": 50,
    "tertiary": 45,
    "unclassified": 40,
    "residential": 25,
    "living_street": 10,
    "service": 15,
    "road": 30,
    "track": 15,
}
"""What a loaded van drives on each class of road on average, its junctions included: common
practice, no published source. A limit on a road that is lower holds instead."""

UNPAVED_KM_PER_H = 25.0
"""At most so fast on a loose surface: common practice, no published source."""

UNPAVED = frozenset(
    [
        "unpaved",
        "gravel",
        "fine_gravel",
        "compacted",
        "dirt",
        "earth",
        "grass",
        "ground",
        "mud",
        "pebblestone",
        "sand",
    ]
)
SEGMENTS_MAX = 300_000
# Degrees to so many decimals are one point: a centimetre.
DECIMALS = 7
KM_PER_MILE = 1.609344

_FORWARD = frozenset(("yes", "true", "1", "True"))
_BACKWARD = frozenset(("-1", "reverse"))
_BOTH = frozenset(("no", "false", "0", "False", ""))
_LIMIT = re.compile(r"(\d+(?:\.\d+)?)( mph)?")

Line = list[tuple[float, float]]


def read_roads(data: Any) -> RoadNetwork:
    """Return the roads of a GeoJSON FeatureCollection that a van may drive on.

    Of each LineString or MultiLineString are read `highway` (its class), `maxspeed_kmh` or
    `maxspeed`, `oneway`, `surface` and `access`. All else in the file is left out, and so is what
    does not hang together with the largest part. Raises InvalidInput naming the feature.
    """
    builder = _Builder()
    for name, feature in _features(data):
        tags = feature.get("properties") or {}
        speed_km_per_h = _speed_of(name, tags)
        if speed_km_per_h is None:
            continue
        ways = _oneway_of(name, tags)
        for line in _lines_of(name, feature.get("geometry")):
            builder.add(line, speed_km_per_h=speed_km_per_h, ways=ways)
    if not builder.tails:
        raise InvalidInput.of(
            "roads",
            "has no line with a `highway` that a van may drive on",
            "Tag each road with its class, such as `highway: residential`.",
        )
    return largest_part(builder.network())


def _features(data: Any) -> Iterator[tuple[str, Mapping[str, Any]]]:
    features = data.get("features") if isinstance(data, dict) else None
    if not isinstance(features, list) or data.get("type") != "FeatureCollection":
        raise InvalidInput.of("roads", "is no GeoJSON FeatureCollection")
    for index, feature in enumerate(features):
        name = f"features[{index}]"
        if not isinstance(feature, dict) or not isinstance(feature.get("properties") or {}, dict):
            raise InvalidInput.of(name, "is no GeoJSON feature")
        yield name, feature


def _speed_of(name: str, tags: Mapping[str, Any]) -> float | None:
    """How fast a van drives there, in km/h; None where it may not."""
    usual = USUAL_KM_PER_H.get(str(tags.get("highway", "")).removesuffix("_link"))
    if usual is None or tags.get("access") in {"no", "private"}:
        return None
    if tags.get("surface") in UNPAVED:
        usual = min(usual, UNPAVED_KM_PER_H)
    if "maxspeed_kmh" not in tags:
        # OpenStreetMap's own tag may hold words as well, which say nothing here.
        limit = _LIMIT.fullmatch(str(tags.get("maxspeed", "")))
        per_unit = KM_PER_MILE if limit and limit[2] else 1
        return min(usual, float(limit[1]) * per_unit or usual) if limit else usual
    posted = tags["maxspeed_kmh"]
    if isinstance(posted, bool) or not isinstance(posted, int | float) or not 0 < posted < math.inf:
        raise InvalidInput.of(f"{name}.maxspeed_kmh", f"must be a number above 0, not {posted!r}")
    return min(usual, float(posted))


def _oneway_of(name: str, tags: Mapping[str, Any]) -> tuple[bool, bool]:
    """Whether one may drive along the line, and against it."""
    told = str(tags.get("oneway", ""))
    if told in _BOTH:
        return True, True
    if told in _FORWARD:
        return True, False
    if told in _BACKWARD:
        return False, True
    raise InvalidInput.of(f"{name}.oneway", f"must be yes, no or -1, not {told!r}")


def _lines_of(name: str, geometry: Any) -> list[Line]:
    shape = geometry.get("type") if isinstance(geometry, dict) else None
    if shape == "LineString":
        return [_line(name, geometry.get("coordinates"))]
    if shape == "MultiLineString":
        return [_line(name, line) for line in geometry.get("coordinates") or ()]
    return []


def _line(name: str, coordinates: Any) -> Line:
    if not isinstance(coordinates, Sequence) or len(coordinates) <= 1:
        raise InvalidInput.of(f"{name}.coordinates", "must hold two points at least")
    line = []
    for pair in coordinates:
        try:
            point = Point(longitude=float(pair[0]), latitude=float(pair[1]))
        except (TypeError, ValueError, IndexError, KeyError):
            raise InvalidInput.of(
                f"{name}.coordinates", f"must hold numbers, not {pair!r}"
            ) from None
        if not (abs(point.longitude) <= 180 and abs(point.latitude) <= 90):  # noqa: PLR2004
            raise InvalidInput.of(f"{name}.coordinates", f"must be degrees, not {pair!r}")
        line.append((round(point.longitude, DECIMALS), round(point.latitude, DECIMALS)))
    return line


class _Builder:
    """Points by their place, and the segments between them."""

    def __init__(self) -> None:
        self._index: dict[tuple[float, float], int] = {}
        self.tails: list[int] = []
        self._heads: list[int] = []
        self._speeds: list[float] = []
        self._ways: list[tuple[bool, bool]] = []

    def add(self, line: Line, *, speed_km_per_h: float, ways: tuple[bool, bool]) -> None:
        nodes = [self._index.setdefault(point, len(self._index)) for point in line]
        for tail, head in pairwise(nodes):
            if tail != head:
                self.tails.append(tail)
                self._heads.append(head)
                self._speeds.append(speed_km_per_h)
                self._ways.append(ways)
        if len(self.tails) > SEGMENTS_MAX:
            raise InvalidInput.of(
                "roads",
                f"has more than {SEGMENTS_MAX} segments",
                "Cut out the part where your places are.",
            )

    def network(self) -> RoadNetwork:
        ways = np.array(self._ways, dtype=bool)
        return RoadNetwork(
            points=np.array(list(self._index), dtype=np.float64),
            tails=np.array(self.tails, dtype=np.int64),
            heads=np.array(self._heads, dtype=np.int64),
            km_per_h=np.array(self._speeds, dtype=np.float64),
            forward=ways[:, 0],
            backward=ways[:, 1],
        )
