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

import django
import psycopg

from api.server.postgres import EmbeddedPostgres

WRITES = 200
PAGES = 20
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
    asked = parser.parse_args()
    with EmbeddedPostgres(asked.data) as database:
        os.environ.setdefault("MILLRACE_SECRET_KEY", secrets.token_urlsafe(50))
        os.environ["DATABASE_URL"] = database.url
        os.environ["DJANGO_SETTINGS_MODULE"] = "api.settings"
        django.setup()
        with psycopg.connect(database.url) as connection:
            for line in chain(compared(connection, rounds=asked.rounds), screens()):
                print(line, flush=True)


def compared(connection: "psycopg.Connection[tuple[object, ...]]", *, rounds: int) -> Iterator[str]:
    """Yield a line for each comparison."""
    from network.people.models import Community, Role, User
    from tests.benchmarks.ledger import measures
    from tests.benchmarks.ledger.nation import SLUG

    nation = Community.objects.get(slug=SLUG)
    organiser = User.objects.filter(memberships__role=Role.ORGANISER).get()
    (count,) = connection.execute("SELECT count(*) FROM lots_movement").fetchone() or (0,)
    yield f"{count:,} movements"
    ways: tuple[Callable[[], measures.Measured], ...] = (
        lambda: measures.report(nation, rounds=rounds),
        lambda: measures.report(nation, by=("month",), rounds=rounds),
        lambda: measures.report(nation, by=(), rounds=rounds),
        lambda: measures.year(nation, first=date(2023, 4, 11), rounds=rounds),
        lambda: measures.fifty_lines(nation, organiser, times=PAGES),
        lambda: measures.cost_of_sums(connection, nation, writes=WRITES, rounds=rounds),
    )
    for way in ways:
        measured = way()
        same = "the same" if measured.equal else "NOT THE SAME"
        yield (
            f"{measured.name:45} {measured.ours_s * 1000:10.1f} ms"
            f" plain {measured.plain_s * 1000:10.1f} ms ratio {measured.ratio:8.2f} {same}"
        )


def screens() -> Iterator[str]:
    """Yield how long each of the organiser's reads takes."""
    from django.test import Client

    from network.people.models import Role, User
    from tests.benchmarks.ledger.nation import SLUG

    client = Client(SERVER_NAME="localhost")
    organiser = User.objects.filter(memberships__role=Role.ORGANISER).get()
    client.force_login(organiser, backend="allauth.account.auth_backends.AuthenticationBackend")
    for path in SCREENS:
        began_s = time.perf_counter()
        answer = client.get(f"/api/v1/communities/{SLUG}/{path}")
        took_s = time.perf_counter() - began_s
        yield f"{path:60} {answer.status_code} {took_s * 1000:10.1f} ms {len(answer.content):,} B"


if __name__ == "__main__":
    main()
