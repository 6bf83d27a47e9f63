"""Random road networks for tests, and the same networks as networkx knows them."""

import math
from itertools import pairwise, product

import networkx as nx
from hypothesis import strategies as st

from network.geo import Point, great_circle_m

CORNER = Point(-31.4, 44.6)
STEP_DEGREES = 0.01
SIZE = 4
# A class of road, its limit in km/h, and whether it is one-way.
TAGS = list(product(("primary", "residential", "track"), (None, 12, 37, 80), ("yes", "no")))

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
    used = draw(st.permutations(range(SIZE * SIZE)))[: draw(st.integers(3, SIZE * SIZE))]
    pairs = st.tuples(st.sampled_from(used), st.sampled_from(used))
    more = draw(st.lists(pairs, max_size=10))
    ends = [*pairwise(used), (used[-1], used[0]), *(pair for pair in more if len(set(pair)) > 1)]
    tags = draw(st.lists(st.sampled_from(TAGS), min_size=len(ends), max_size=len(ends)))
    return collection(
        [
            road_of(pair, tag if oneway else (*tag[:2], "no"))
            for pair, tag in zip(ends, tags, strict=True)
        ]
    )


def road_of(ends: tuple[int, int], tags: tuple[str, int | None, str]) -> Road:
    """A straight road between two crossings."""
    highway, limit, oneway = tags
    posted = {} if limit is None else {"maxspeed_kmh": limit}
    return feature([crossing(end) for end in ends], highway=highway, oneway=oneway, **posted)


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
