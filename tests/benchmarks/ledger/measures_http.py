"""What is measured of the ledger over HTTP, each beside the plainest way to do the same."""

import json
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import psutil

from network.lots.models import Weighing
from network.people.models import Community, User
from network.people.queries import actor_in
from network.people.services import make_machine_token
from tests.benchmarks.ledger.measures import ROUNDS, Measured, side_by_side
from tests.benchmarks.ledger.serving import Caller, bare, millrace, results_of
from tests.benchmarks.ledger.weighing import (
    AT_ONCE,
    Replay,
    World,
    by_sql,
    by_unnest,
    kept_on_a_device,
    make_world,
    over_http,
    recorded,
)

KEPT = 200
_MB = 1 << 20

# The lines are chosen before they are joined: else the planner takes room for millions.
_FIFTY = """
SELECT json_build_object('results', json_agg(line))::text FROM (
    SELECT m.id, m.reason, m.mass_g, m.at, m.counts_at, m.recorded_at, m.weighing_id,
           m.inspection_id, m.reverses_id, m.note, u.name AS by, r.id AS reversed_by_id,
           json_build_object('kind', f.kind, 'holder_id', f.holder_id,
               'lot', json_build_object('id', fl.id, 'code', fl.code)) AS from_account,
           json_build_object('kind', t.kind, 'holder_id', t.holder_id,
               'lot', json_build_object('id', tl.id, 'code', tl.code)) AS to_account
      FROM (SELECT * FROM lots_movement WHERE community_id = %s ORDER BY id DESC LIMIT 50) m
      JOIN lots_account f ON f.id = m.from_account_id JOIN lots_lot fl ON fl.id = f.lot_id
      JOIN lots_account t ON t.id = m.to_account_id JOIN lots_lot tl ON tl.id = t.lot_id
      LEFT JOIN people_user u ON u.id = m.by_id
      LEFT JOIN lots_movement r ON r.reverses_id = m.id
     ORDER BY m.id DESC) line
"""


def token_of(community: Community, person: User) -> str:
    """Return a token by which a machine reads what the person may."""
    actor = actor_in(community=community, user_id=person.id)
    return make_machine_token(actor, name="measuring", may_write=False, valid_days=1)[1]


def fifty_lines(
    community: Community, organiser: User, *, data: Path, url: str, times: int, rounds: int = ROUNDS
) -> Measured:
    """A page of 50 movements by the API, and PostgreSQL's own json_agg from a bare WSGI function.

    Who asks, and what they may, is the API's own share.
    """
    path = f"/api/v1/communities/{community.slug}/movements/"
    parameters = [str(community.id)]
    with millrace(data) as (port, _), bare(url, _FIFTY, parameters) as (bare_port, _):
        ours, plain = Caller(port, token_of(community, organiser)), Caller(bare_port)
        return side_by_side(
            "a page of 50 movements",
            lambda: _last(lambda: ours.get(path), times),
            lambda: _last(lambda: plain.get("/"), times),
            rounds=rounds,
        )


def _last(ask: Callable[[], bytes], times: int) -> list[object]:
    """Ask so many times, and return the ids of the last page."""
    for _ in range(times):
        content = ask()
    return [line["id"] for line in results_of(content)]


def one_weighing(
    community: Community, *, data: Path, url: str, times: int, rounds: int = ROUNDS
) -> Measured:
    """A weighing over HTTP by 16 people at once, and the same statements by psycopg alone."""
    each = AT_ONCE * times
    world = make_world(community, lots=2 * each + 1)
    first = world.lots[-1]
    said, began = recorded(world, first)
    replays = [Replay(said, began=began, of=first, now=lot) for lot in world.lots[each:-1]]
    with millrace(data) as (port, _):
        return side_by_side(
            f"{each} weighings, {AT_ONCE} at once, {len(said)} statements each",
            over_http(world, port, world.lots[:each]),
            by_sql(url, replays),
            rounds=rounds,
        )


def many_weighings(community: Community, *, data: Path, url: str, rounds: int = ROUNDS) -> Measured:
    """200 weighings in one request, and the same rows by two INSERT ... SELECT unnest."""
    world = make_world(community, lots=KEPT, people=1)
    with millrace(data) as (port, _):
        return side_by_side(
            f"{KEPT} weighings in one request",
            kept_on_a_device(world, port),
            by_unnest(world, url, _budget(world)),
            rounds=rounds,
        )


def _budget(world: World) -> str:
    """Return the workings of an uncertainty as one of the lots' weighings has them."""
    return json.dumps(Weighing.objects.filter(lot=world.lots[0])[0].budget)


@dataclass(frozen=True, kw_only=True)
class Export:
    """A period's lines as CSV: how many, in which time, and what the server's memory grew by."""

    lines: int
    took_s: float
    grown_mb: float
    grown_twice_mb: float


def export(community: Community, organiser: User, *, data: Path, first: date, last: date) -> Export:
    """Read a long period's lines through, twice; what the second adds is no memory of the first."""
    days = f"from={first}&to={last}"
    path = f"/api/v1/communities/{community.slug}/reports/lines.csv?{days}"
    with millrace(data, "--processes", "1") as (port, process):
        caller = Caller(port, token_of(community, organiser))
        caller.get(f"/api/v1/communities/{community.slug}/seals/")
        server = psutil.Process(process)
        before = server.memory_info().rss
        began_s = time.perf_counter()
        lines = caller.read_through(path)
        took_s = time.perf_counter() - began_s
        once = server.memory_info().rss
        caller.read_through(path)
        twice = server.memory_info().rss
    return Export(
        lines=lines,
        took_s=took_s,
        grown_mb=(once - before) / _MB,
        grown_twice_mb=(twice - once) / _MB,
    )
