"""Measures the ledger on a loaded nation, durably, and shows how each way compares.

uv run python -m tests.benchmarks.ledger.run --data FOLDER
"""

import argparse
import os
import secrets
import time
from collections.abc import Callable, Iterator
from datetime import date
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

import django
import psycopg

from api.server.postgres import EmbeddedPostgres

if TYPE_CHECKING:  # they need Django, which is set up once the database runs
    from network.people.models import Community, User
    from tests.benchmarks.ledger.measures import Measured

PARTS = ("sums", "http", "export", "screens")
WRITES = 200
# What a busy nation writes between two turns of the upkeep.
SUMMED_LATER = 1_000
PAGES = 50
WEIGHINGS = 10
# Fourteen months of a nation of five million lines are a million.
EXPORTED = (date(2024, 1, 1), date(2025, 2, 28))
# What the organiser's screens ask for.
SCREENS = (
    "reports/balance/",
    "reports/diverted/?by=month",
    "reports/diverted/?by=month,stream,district,kind",
    "reports/diverted/?by=stream",
    "reports/diverted/?by=kind&from=2024-03-10&to=2025-03-09",
    "movements/",
    "lots/",
    "balances/",
    "seals/",
    "places/",
    "agreements/",
    "members/",
    "pickups/",
    "routes/",
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True, help="folder that was loaded")
    parser.add_argument("--rounds", type=int, default=5, help="of which the median counts")
    parser.add_argument("--only", choices=PARTS, nargs="+", default=PARTS, help="what to measure")
    asked = parser.parse_args()
    with EmbeddedPostgres(asked.data) as database:
        os.environ.setdefault("MILLRACE_SECRET_KEY", secrets.token_urlsafe(50))
        os.environ["DATABASE_URL"] = database.url
        os.environ["DJANGO_SETTINGS_MODULE"] = "api.settings"
        django.setup()
        from api.server.web import keep_what_is_loaded

        keep_what_is_loaded()  # as whoever serves does
        with psycopg.connect(database.url) as connection:
            parts: dict[str, Callable[[], Iterator[str]]] = {
                "sums": lambda: sums(connection, rounds=asked.rounds),
                "http": lambda: http(asked.data, database.url, rounds=asked.rounds),
                "export": lambda: export(asked.data),
                "screens": screens,
            }
            for line in chain.from_iterable(parts[name]() for name in asked.only):
                print(f"{line}  load {os.getloadavg()[0]:.0f}", flush=True)


def sums(connection: "psycopg.Connection[tuple[object, ...]]", *, rounds: int) -> Iterator[str]:
    """Yield a line for each comparison of what is read from sums, and what they cost."""
    from tests.benchmarks.ledger import measures

    nation, _ = _nation()
    (count,) = connection.execute("SELECT count(*) FROM lots_movement").fetchone() or (0,)
    yield f"{count:,} movements"
    yield _shown(measures.report(nation, rounds=rounds))
    yield _shown(measures.report(nation, by=("month",), rounds=rounds))
    yield _shown(measures.year(nation, first=date(2023, 4, 11), rounds=rounds))
    yield _shown(measures.cost_of_sums(connection, nation, writes=WRITES, rounds=rounds))
    lines, took_s = measures.summed_later(connection, nation, writes=SUMMED_LATER)
    yield f"{lines:,} lines of single bags summed later in {took_s * 1000:,.1f} ms"


def http(data: Path, url: str, *, rounds: int) -> Iterator[str]:
    """Yield a line for each comparison of what is asked over HTTP."""
    from tests.benchmarks.ledger import measures_http

    nation, organiser = _nation()
    yield _shown(
        measures_http.fifty_lines(nation, organiser, data=data, url=url, times=PAGES, rounds=rounds)
    )
    yield _shown(
        measures_http.one_weighing(nation, data=data, url=url, times=WEIGHINGS, rounds=rounds)
    )
    yield _shown(measures_http.many_weighings(nation, data=data, url=url, rounds=rounds))


def export(data: Path) -> Iterator[str]:
    """Yield how long a year's lines take, and what of them stays in memory."""
    from tests.benchmarks.ledger import measures_http

    nation, organiser = _nation()
    first, last = EXPORTED
    found = measures_http.export(nation, organiser, data=data, first=first, last=last)
    yield (
        f"{found.lines:,} lines as CSV in {found.took_s:,.1f} s; memory grew by"
        f" {found.grown_mb:.1f} MB, and by {found.grown_twice_mb:.1f} MB when read again"
    )


def _nation() -> "tuple[Community, User]":
    from network.people.models import Community, Role, User
    from tests.benchmarks.ledger.nation import SLUG

    organiser = User.objects.filter(memberships__role=Role.ORGANISER)[0]
    return Community.objects.get(slug=SLUG), organiser


def _shown(measured: "Measured") -> str:
    same = "the same" if measured.equal else "NOT THE SAME"
    return (
        f"{measured.name:45} {measured.ours_s * 1000:10.1f} ms"
        f" plain {measured.plain_s * 1000:10.1f} ms ratio {measured.ratio:8.2f} {same}"
    )


def screens() -> Iterator[str]:
    """Yield how long each of the organiser's reads takes."""
    from django.test import Client

    from tests.benchmarks.ledger.nation import SLUG

    client = Client(SERVER_NAME="localhost")
    _, organiser = _nation()
    client.force_login(organiser, backend="allauth.account.auth_backends.AuthenticationBackend")
    for path in SCREENS:
        began_s = time.perf_counter()
        answer = client.get(f"/api/v1/communities/{SLUG}/{path}")
        took_s = time.perf_counter() - began_s
        yield f"{path:60} {answer.status_code} {took_s * 1000:10.1f} ms {len(answer.content):,} B"


if __name__ == "__main__":
    main()
