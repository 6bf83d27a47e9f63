"""Loads a nation of movements into a database of its own, for the benchmarks of the ledger.

uv run python -m tests.benchmarks.ledger.load --data FOLDER --movements 5000000
"""

import argparse
import os
import secrets
import time
from pathlib import Path
from typing import Any

import django
import numpy as np
import psycopg

from api.server.postgres import EmbeddedPostgres

LINES_PER_PLACE = 500


def load(connection: psycopg.Connection[Any], *, movements: int, seed: int) -> int:
    """Write the nation and its history, build the sums, and return how many lines there are.

    The database has its tables and no nation yet; Django is set up on it.
    """
    from tests.benchmarks.ledger.history import MONTHS, History, written_in_bulk
    from tests.benchmarks.ledger.nation import found_nation

    random = np.random.default_rng(seed)
    nation = found_nation(max(movements // LINES_PER_PLACE, 50), random)
    history = History(connection, nation, random)
    with written_in_bulk(connection):
        for month in range(MONTHS):
            history.write_month(month, movements // MONTHS)
            connection.commit()
    connection.execute("SET work_mem = '1GB'")
    connection.execute("ANALYZE")
    connection.execute("SELECT lots_build_sums(%s)", [nation.community.id])
    connection.commit()
    connection.execute("ANALYZE")
    connection.commit()
    return history.lines


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True, help="folder for the database")
    parser.add_argument("--movements", type=int, default=5_000_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    asked.data.mkdir(parents=True, exist_ok=True)
    began_s = time.monotonic()
    # While it is loaded, nothing needs to survive a power cut; afterwards it is started durably.
    with EmbeddedPostgres(asked.data, throwaway=True) as database:
        os.environ.setdefault("MILLRACE_SECRET_KEY", secrets.token_urlsafe(50))
        os.environ["DATABASE_URL"] = database.url
        os.environ["DJANGO_SETTINGS_MODULE"] = "api.settings"
        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        with psycopg.connect(database.url) as connection:
            lines = load(connection, movements=asked.movements, seed=asked.seed)
            connection.autocommit = True
            connection.execute("CHECKPOINT")
    print(f"{lines:,} lines in {time.monotonic() - began_s:,.0f} s")


if __name__ == "__main__":
    main()
