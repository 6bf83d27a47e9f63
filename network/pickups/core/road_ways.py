"""The quickest ways along roads, by Dijkstra's algorithm (scipy): how far, how long, which way.

Each point is joined to the nearest road, so the segment there is cut in two. The stretch between
point and road is straight and slow. One-way roads are driven one way only.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from network.geo import Point
from network.pickups.core.roads import Floats, Ints, RoadNetwork, Spot, spots_of
from network.pickups.core.travel import NO_ROAD, Travel

OFF_ROAD_KM_PER_H = 10.0
"""How fast one goes between road and point: common practice, no published source."""

S_PER_M_AT_ONE_KM_PER_H = 3.6
# So many ways at once, that a large network's do not fill the memory.
STARTS_AT_ONCE = 32
_NOWHERE = -9999  # as scipy has it


def travel_by_road(network: RoadNetwork, points: Mapping[str, Point]) -> Travel:
    """Return the travel by the quickest way between all points, NO_ROAD where there is none.

    Metres are those of the quickest way, rounded to the nearest; seconds are rounded up.
    """
    reached = _Reached.of(network, list(points.values()))
    size = len(points)
    metres = np.full((size, size), NO_ROAD, dtype=np.int64)
    seconds = np.full((size, size), NO_ROAD, dtype=np.int64)
    on_road = np.flatnonzero(reached.nodes != _NOWHERE)
    nodes, off_m = reached.nodes[on_road], reached.off_m[on_road]
    off_s = off_m * S_PER_M_AT_ONE_KM_PER_H / OFF_ROAD_KM_PER_H
    for first in range(0, len(on_road), STARTS_AT_ONCE):
        some = slice(first, first + STARTS_AT_ONCE)
        way_s, way_m = reached.graph.quickest(nodes[some])
        total_s = way_s[:, nodes] + off_s[some, None] + off_s[None, :]
        total_m = way_m[:, nodes] + off_m[some, None] + off_m[None, :]
        there = np.isfinite(total_s)
        cells = np.ix_(on_road[some], on_road)
        metres[cells] = np.where(there, np.rint(np.where(there, total_m, 0)), NO_ROAD)
        seconds[cells] = np.where(there, np.ceil(np.where(there, total_s, 0)), NO_ROAD)
    np.fill_diagonal(metres, 0)
    np.fill_diagonal(seconds, 0)
    return Travel(ids=tuple(points), metres=metres, seconds=seconds)


def lines_by_road(network: RoadNetwork, points: Sequence[Point]) -> list[list[Point] | None]:
    """Return the quickest way from each point to the next as a line; None where there is none."""
    reached = _Reached.of(network, points)
    return [reached.line(points, start, start + 1) for start in range(len(points) - 1)]


@dataclass(frozen=True, kw_only=True)
class _Graph:
    """Directed ways between nodes, none twice, `keys` ordered by where they end and then start."""

    points: Floats
    keys: Ints
    metres: Floats
    seconds: csr_array

    @classmethod
    def of(cls, network: RoadNetwork, points: Floats) -> "_Graph":
        """The ways of a network's segments; of several between two nodes the quickest."""
        seconds = network.metres * S_PER_M_AT_ONE_KM_PER_H / network.km_per_h
        starts, ends, segments = network.ways
        way_s, way_m = seconds[segments], network.metres[segments]
        size = len(points)
        keys = ends * size + starts
        order = np.lexsort((way_s, keys))
        keys, first = np.unique(keys[order], return_index=True)
        kept = order[first]
        # Transposed, so that it is ordered by where ways start.
        pointers = np.searchsorted(keys, np.arange(size + 1) * size)
        into = csr_array((way_s[kept], starts[kept], pointers), shape=(size, size))
        return cls(points=points, keys=keys, metres=way_m[kept], seconds=into.T.tocsr())

    def before(self, starts: Ints) -> tuple[Floats, Ints]:
        """Seconds from each start to each node, and the node before it on that way."""
        found_s, before = dijkstra(self.seconds, indices=starts, return_predecessors=True)
        return found_s, before.astype(np.int64)

    def quickest(self, starts: Ints) -> tuple[Floats, Floats]:
        """Seconds and metres from each start to each node, along the quickest way."""
        found_s, before = self.before(starts)
        return found_s, np.array([self._metres_along(row) for row in before])

    def _metres_along(self, before: Ints) -> Floats:
        """Metres to each node by the nodes before, summed from all ends at once.

        Each round doubles how far back the metres reach, until all reach the start.
        """
        on_way = np.flatnonzero(before != _NOWHERE)
        step_m = np.zeros(len(before))
        keys = on_way * len(before) + before[on_way]
        step_m[on_way] = self.metres[np.searchsorted(self.keys, keys)]
        back = np.arange(len(before))
        back[on_way] = before[on_way]
        while True:
            further = back[back]
            step_m += step_m[back]
            if np.array_equal(further, back):
                return step_m
            back = further


@dataclass(frozen=True, kw_only=True)
class _Reached:
    """A graph with a node for each point where it meets the roads, and how far off it lies."""

    graph: _Graph
    nodes: Ints
    off_m: Floats

    @classmethod
    def of(cls, network: RoadNetwork, points: Sequence[Point]) -> "_Reached":
        spots = spots_of(network, points)
        cut, points_of, nodes = _cut(network, spots)
        off_m = np.array([np.nan if spot is None else spot.off_m for spot in spots])
        return cls(graph=_Graph.of(cut, points_of), nodes=nodes, off_m=off_m)

    def line(self, points: Sequence[Point], start: int, end: int) -> list[Point] | None:
        """The quickest way between two of the points, with the stretches off the road."""
        first, node = int(self.nodes[start]), int(self.nodes[end])
        if _NOWHERE in {first, node}:
            return None
        found_s, before = self.graph.before(np.array([first]))
        if not np.isfinite(found_s[0, node]):
            return None
        back = [node]
        while node != first:
            node = int(before[0, node])
            back.append(node)
        along = [Point(*map(float, self.graph.points[each])) for each in reversed(back)]
        return [points[start], *along, points[end]]


def _cut(network: RoadNetwork, spots: Sequence[Spot | None]) -> tuple[RoadNetwork, Floats, Ints]:
    """Cut the segments where points meet them; return also all nodes, and each point's own."""
    parts: dict[int, set[float]] = defaultdict(set)
    for spot in spots:
        if spot is not None:
            parts[spot.segment].add(spot.part)
    more: list[Floats] = []
    node_at: dict[tuple[int, float], int] = {}
    pieces: list[tuple[int, int, int]] = []
    for segment, cuts in parts.items():
        tail, head = int(network.tails[segment]), int(network.heads[segment])
        start, end = network.points[tail], network.points[head]
        before = tail
        node_at[segment, 0.0], node_at[segment, 1.0] = tail, head
        for part in sorted(cuts - {0.0, 1.0}):
            node = node_at[segment, part] = len(network.points) + len(more)
            more.append(start + part * (end - start))
            pieces.append((before, node, segment))
            before = node
        pieces.append((before, head, segment))
    whole = np.setdiff1d(np.arange(len(network.tails)), list(parts))
    nodes = [_NOWHERE if s is None else node_at[s.segment, s.part] for s in spots]
    points = np.concatenate([network.points, np.reshape(more, (-1, 2))])
    return _pieced(network, points, whole, pieces), points, np.array(nodes, dtype=np.int64)


def _pieced(
    network: RoadNetwork, points: Floats, whole: Ints, pieces: Sequence[tuple[int, int, int]]
) -> RoadNetwork:
    """The network with whole segments and pieces of others: tail, head, and of which."""
    tails, heads, of = np.array(pieces, dtype=np.int64).reshape(-1, 3).T
    each = np.concatenate([whole, of])
    return RoadNetwork(
        points=points,
        tails=np.concatenate([network.tails[whole], tails]),
        heads=np.concatenate([network.heads[whole], heads]),
        km_per_h=network.km_per_h[each],
        forward=network.forward[each],
        backward=network.backward[each],
    )
