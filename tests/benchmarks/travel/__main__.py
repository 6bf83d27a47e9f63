"""What the ways between 400 places take: reckoned, as networkx reckons them, and read back.

`uv run python -m tests.benchmarks.travel`; all in one process, so that ratios are fair where the
machine is busy. Writing and reading go through a temporary table of an embedded PostgreSQL.
"""

import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import networkx as nx
import numpy as np

from api.server.installation import prepare_settings, running_database
from network.geo import Point
from network.pickups.core.road_file import read_roads
from network.pickups.core.road_ways import travel_by_road
from network.pickups.core.roads import RoadNetwork
from network.pickups.core.travel import Travel
from tests.core.road_graphs import Road, collection, feature

PLACES = 400
SIDES = (16, 70, 140)
STEP_DEGREES = 0.003
CORNER = Point(-31.0, 44.0)


def town(side: int) -> Road:
    """A square of streets that are a little crooked."""
    dice = np.random.default_rng(1)
    corners = np.stack(np.meshgrid(np.arange(side), np.arange(side)), axis=-1).astype(float)
    corners += dice.uniform(-0.3, 0.3, corners.shape)
    at = (np.array(CORNER) + corners * STEP_DEGREES).round(7).tolist()
    lines = [[at[y][x], at[y][x + 1]] for y in range(side) for x in range(side - 1)]
    lines += [[at[y][x], at[y + 1][x]] for y in range(side - 1) for x in range(side)]
    return collection([feature(line, highway="residential") for line in lines])


def places_in(side: int) -> dict[str, Point]:
    """Places anywhere in the town."""
    spread = np.random.default_rng(2).uniform(0, (side - 1) * STEP_DEGREES, (PLACES, 2))
    return {str(n): Point(*map(float, np.array(CORNER) + xy)) for n, xy in enumerate(spread)}


def seconds_of(work: Callable[[], object]) -> float:
    """The best of three."""
    best = float("inf")
    for _ in range(3):
        began = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - began)
    return best


def by_networkx(network: RoadNetwork) -> None:
    """As many ways from crossings to all others, by networkx; a tenth of them, which is enough."""
    graph: nx.Graph[int] = nx.Graph()
    for tail, head, metres in zip(
        network.tails.tolist(), network.heads.tolist(), network.metres.tolist(), strict=True
    ):
        graph.add_edge(tail, head, weight=metres)
    for start in range(PLACES // 10):
        nx.single_source_dijkstra_path_length(graph, start)


def pairs_kept(travel: Travel) -> tuple[float, float]:
    """Seconds to write and to read each pair as a row of its own."""
    from django.db import connection

    size = len(travel.ids)
    rows = [
        (a, b, int(travel.metres[a, b]), int(travel.seconds[a, b]))
        for a in range(size)
        for b in range(size)
    ]
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE TEMPORARY TABLE pair (a int, b int, metres int, seconds int, "
            "PRIMARY KEY (a, b)) ON COMMIT PRESERVE ROWS"
        )
        began = time.perf_counter()
        with cursor.copy("COPY pair FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)
        written_s = time.perf_counter() - began

        def read() -> None:
            cursor.execute("SELECT a, b, metres, seconds FROM pair")
            found = np.array(cursor.fetchall(), dtype=np.int64)
            np.zeros((size, size), dtype=np.int64)[found[:, 0], found[:, 1]] = found[:, 2]

        read_s = seconds_of(read)
        cursor.execute("DROP TABLE pair")
    return written_s, read_s


def matrix_kept(travel: Travel) -> tuple[float, float]:
    """Seconds to write and to read the whole matrix as one row."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("CREATE TEMPORARY TABLE whole (metres bytea, seconds bytea)")
        kept = [each.astype(np.int32).tobytes() for each in (travel.metres, travel.seconds)]
        began = time.perf_counter()
        cursor.execute("INSERT INTO whole VALUES (%s, %s)", kept)
        written_s = time.perf_counter() - began

        def read() -> None:
            cursor.execute("SELECT metres, seconds FROM whole")
            for each in cursor.fetchone():
                np.frombuffer(each, dtype=np.int32).reshape(PLACES, PLACES).astype(np.int64)

        read_s = seconds_of(read)
        cursor.execute("DROP TABLE whole")
    return written_s, read_s


def measured(side: int) -> str:
    """Return a town's figures in a line."""
    roads = town(side)
    network, places = read_roads(roads), places_in(side)
    travel = travel_by_road(network, places)
    read_s = seconds_of(partial(read_roads, roads))
    reckoned_s = seconds_of(partial(travel_by_road, network, places))
    other_s = 10 * seconds_of(partial(by_networkx, network))
    pairs, whole = pairs_kept(travel), matrix_kept(travel)
    return (
        f"{len(network.tails):>6} segments: file {read_s:.2f} s, "
        f"reckoned {reckoned_s:.2f} s, networkx {other_s / reckoned_s:.0f} times that; "
        f"pairs written {pairs[0]:.2f} s, read {reckoned_s / pairs[1]:.1f} times as fast as "
        f"reckoned; whole written {whole[0]:.3f} s, read {reckoned_s / whole[1]:.0f} times as fast"
    )


def main() -> None:
    """Print a line for each size of town."""
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder)
        prepare_settings(data)
        with running_database(data):
            import django

            django.setup()
            for side in SIDES:
                sys.stdout.write(f"{measured(side)}\n")
                sys.stdout.flush()


if __name__ == "__main__":
    main()
