"""Random road networks for tests, and the same networks as networkx knows them."""

import math
from itertools import pairwise

import networkx as nx
from hypothesis import strategies as st

from network.geo import Point, great_circle_m

CORNER = Point(-31.4, 44.6)
STEP_DEGREES = 0.01
SIZE = 5
CLASSES = ("primary", "residential", "unclassified", "track")

Road = dict[str, object]


def feature(line: list[list[float]], **tags: object) -> Road:
    """A road of a GeoJSON file."""
    geometry = {"type": "LineString", "coordinates": line}
    return {"type": "Feature", "properties": tags, "geometry": geometry}


def collection(roads: list[Road]) -> Road:
    """A GeoJSON file."""
    return {"type": "FeatureCollection", "features": roads}


def crossing(number: int) -> list[float]:
    """A crossing of a square of crossings, off its raster so that no three are in a line."""
    east = number % SIZE + ((number * 7919) % 101) / 303
    north = number // SIZE + ((number * 6841) % 97) / 291
    return [
        round(CORNER.longitude + east * STEP_DEGREES, 7),
        round(CORNER.latitude + north * STEP_DEGREES, 7),
    ]


@st.composite
def road_files(draw: st.DrawFn, *, oneway: bool = True) -> Road:
    """Roads between crossings that all hang together both ways by a ring, and some more roads."""
    numbers = draw(st.permutations(range(SIZE * SIZE)))
    used = numbers[: draw(st.integers(3, SIZE * SIZE))]
    ring = [*pairwise(used), (used[-1], used[0])]
    pairs = st.tuples(st.sampled_from(used), st.sampled_from(used))
    more = draw(st.lists(pairs.filter(lambda pair: pair[0] != pair[1]), max_size=20))
    roads = []
    for tail, head in [*ring, *more]:
        tags: dict[str, object] = {"highway": draw(st.sampled_from(CLASSES))}
        if oneway:
            tags["oneway"] = draw(st.sampled_from(["yes", "no"]))
        if draw(st.booleans()):
            tags["maxspeed_kmh"] = draw(st.integers(5, 100))
        roads.append(feature([crossing(tail), crossing(head)], **tags))
    return collection(roads)


def as_networkx(roads: Road, speeds: dict[str, float]) -> "nx.DiGraph[tuple[float, float]]":
    """The same roads as a graph, `weight` in seconds, made apart from the code that is tested."""
    graph: nx.DiGraph[tuple[float, float]] = nx.DiGraph()
    for road in roads["features"]:  # type: ignore[attr-defined]
        tags = road["properties"]
        start, end = (tuple(point) for point in road["geometry"]["coordinates"])
        km_per_h = min(speeds[tags["highway"]], tags.get("maxspeed_kmh", math.inf))
        seconds = _metres(start, end) / (km_per_h / 3.6)
        ways = [(start, end)] if tags.get("oneway") == "yes" else [(start, end), (end, start)]
        for tail, head in ways:
            known = graph.get_edge_data(tail, head, {"weight": math.inf})
            graph.add_edge(tail, head, weight=min(seconds, known["weight"]))
    return graph


def _metres(start: tuple[float, float], end: tuple[float, float]) -> float:
    return float(great_circle_m([Point(*start)], [Point(*end)])[0, 0])
