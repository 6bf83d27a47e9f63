"""What is measured of the ledger: each way beside the plain one, with whether both say the same."""

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import psycopg

from network.ids import new_id
from network.lots.core.codes import lot_code
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.reports.summing import Asked, lines_of, parts_of

ROUNDS = 5
BY = ("month", "stream", "district", "kind")


@dataclass(frozen=True, kw_only=True)
class Measured:
    """The median of each way in seconds, and whether they said the same."""

    name: str
    ours_s: float
    plain_s: float
    equal: bool

    @property
    def ratio(self) -> float:
        """How many times as long the plain way takes."""
        return self.plain_s / self.ours_s


def side_by_side(
    name: str,
    ours: Callable[[], object],
    plain: Callable[[], object],
    *,
    rounds: int = ROUNDS,
    equal: Callable[[Any, Any], bool] = lambda one, other: one == other,
) -> Measured:
    """Do both by turns, and return the medians.

    Who comes second finds in memory what the first has read, so each is first every other time.
    """
    times: dict[str, list[float]] = {"ours": [], "plain": []}
    said: dict[str, object] = {}
    ways = [("ours", ours), ("plain", plain)]
    for turn in range(rounds):
        for which, way in ways if turn % 2 == 0 else reversed(ways):
            began_s = time.perf_counter()
            said[which] = way()
            times[which].append(time.perf_counter() - began_s)
    return Measured(
        name=name,
        ours_s=statistics.median(times["ours"]),
        plain_s=statistics.median(times["plain"]),
        equal=equal(said["ours"], said["plain"]),
    )


def organiser_of(community: Community) -> Actor:
    """Return who sees the whole nation."""
    return Actor(user_id=None, community_id=community.id, organisations={ORGANISER: frozenset()})


def report(community: Community, *, by: Sequence[str] = BY, rounds: int = ROUNDS) -> Measured:
    """The report's sums from those kept, and from a GROUP BY over the lines."""
    kept = Asked(
        wanted={"community_id": community.id},
        parts=parts_of(None, None),
        zone=ZoneInfo(community.timezone),
        by=by,
    )
    lines = replace(kept, parts=lines_of(None, None))
    return side_by_side(
        f"report by {', '.join(by) or 'nothing'}",
        lambda: (kept.masses_g(), kept.visits()),
        lambda: (lines.masses_g(), lines.visits()),
        rounds=rounds,
    )


def year(community: Community, *, first: date, rounds: int = ROUNDS) -> Measured:
    """The same of one year that begins and ends within months."""
    last = first.replace(year=first.year + 1)
    kept = Asked(
        wanted={"community_id": community.id},
        parts=parts_of(first, last),
        zone=ZoneInfo(community.timezone),
        by=BY,
    )
    lines = replace(kept, parts=lines_of(first, last))
    return side_by_side(
        "report of a year with ragged ends", kept.masses_g, lines.masses_g, rounds=rounds
    )


def cost_of_sums(
    database: psycopg.Connection[Any], community: Community, *, writes: int, rounds: int = ROUNDS
) -> Measured:
    """A bag collected and brought home, each in one transaction: with the sums, and without.

    'Plain' is without, so a ratio of 0.9 means that a ninth is added.
    """
    patterns = _patterns(database, community, writes)

    def write() -> int:
        for pattern in patterns:
            _bring(database, community, pattern)
        return len(patterns)

    def write_without() -> int:
        _triggers(database, "DISABLE")
        try:
            return write()
        finally:
            _triggers(database, "ENABLE")

    measured = side_by_side("a bag written, with its sums", write, write_without, rounds=rounds)
    # What was written without is added now, so that the database is as it should be.
    database.execute("SELECT lots_build_sums(%s)", [community.id])
    database.commit()
    return measured


def summed_later(
    database: psycopg.Connection[Any], community: Community, *, writes: int
) -> tuple[int, float]:
    """Write bags, then sum their lines as the upkeep does: how many lines, in how many seconds."""
    for pattern in _patterns(database, community, writes):
        _bring(database, community, pattern)
    began_s = time.perf_counter()
    (lines,) = database.execute("SELECT lots_sum_noted(%s)", [10 * writes]).fetchone() or (0,)
    database.commit()
    return int(lines), time.perf_counter() - began_s


def _patterns(
    database: psycopg.Connection[Any], community: Community, writes: int
) -> list[tuple[Any, ...]]:
    """Return whose bags are written: each of another place, as none is emptied often in a day."""
    return database.execute(
        "SELECT (array_agg(maker_id))[1], (array_agg(stream_id))[1], (array_agg(agreement_id))[1],"
        " place_id FROM (SELECT * FROM lots_lot WHERE community_id = %s LIMIT 100000) lots"
        " WHERE place_id IS NOT NULL GROUP BY place_id LIMIT %s",
        [community.id, writes],
    ).fetchall()


def _triggers(database: psycopg.Connection[Any], what: str) -> None:
    for table, trigger in (
        ("lots_movement", "movement_summed"),
        ("lots_weighing", "weighing_summed"),
    ):
        database.execute(f"ALTER TABLE {table} {what} TRIGGER {trigger}".encode())
    database.commit()


def _bring(
    database: psycopg.Connection[Any], community: Community, pattern: tuple[Any, ...]
) -> None:
    """Write what a collected bag writes, and in a second transaction that it came home."""
    lot, weighing, now = new_id(), new_id(), datetime.now(tz=ZoneInfo("UTC"))
    accounts = {kind: new_id() for kind in ("container", "vehicle", "collected")}
    database.execute(
        "INSERT INTO lots_lot (id, community_id, code, maker_id, stream_id, agreement_id,"
        " place_id, made_at) VALUES (%s, %s, %s, %s, %s, %s, %s, %s)",
        [lot, community.id, lot_code(lot), *pattern, now],
    )
    database.execute(
        "INSERT INTO lots_weighing (id, community_id, lot_id, stage, method, gross_g, tare_g,"
        " net_g, uncertainty_mg, budget, at) VALUES"
        " (%s, %s, %s, 'doorstep', 'estimated', 8150, 150, 8000, 1, '{}', %s)",
        [weighing, community.id, lot, now],
    )
    for kind, account in accounts.items():
        database.execute(
            "INSERT INTO lots_account (id, community_id, kind, holder_id, lot_id, balance_g)"
            " VALUES (%s, %s, %s, %s, %s, 0)",
            [account, community.id, kind, lot, lot],
        )
    for reason, frm, to in (
        ("collected", "container", "vehicle"),
        ("brought_home", "vehicle", "collected"),
    ):
        database.execute(
            "INSERT INTO lots_movement (id, community_id, from_account_id, to_account_id, mass_g,"
            " reason, at, counts_at, recorded_at, note)"
            " VALUES (%s, %s, %s, %s, 8000, %s, %s, %s, %s, '')",
            [new_id(), community.id, accounts[frm], accounts[to], reason, now, now, now],
        )
        database.commit()
