"""What every test stands on: one PostgreSQL for the session, started when first needed."""

import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.core.cache import caches
from django.db import connection
from pytest_django import DjangoDbBlocker
from rest_framework.throttling import SimpleRateThrottle

from api.server.postgres import EmbeddedPostgres
from api.settings import database_settings


def pytest_addoption(parser: pytest.Parser) -> None:
    """Take where published routing instances are, and how large long checks are run."""
    parser.addoption("--routing-instances", help="folder of VRPLIB or Solomon files with .sol")
    parser.addoption("--epcis-folder", help="folder with the schema and context of EPCIS 2.0")
    parser.addoption("--kills", default="3", help="how often the running server is killed")
    parser.addoption("--kill-seed", default="1", help="chooses at which moments")
    parser.addoption("--routing-seconds", default="10", help="processor seconds of search for each")
    parser.addoption("--fault-walks", type=int, default=3, help="routes driven while all fails")
    parser.addoption("--forecast-places", type=int, default=60, help="places of the back-test")
    parser.addoption("--forecast-days", type=int, default=110, help="days of the back-test")


def pytest_configure() -> None:
    """Give the settings, and the programs that tests start, a key for this session."""
    os.environ.setdefault("MILLRACE_SECRET_KEY", secrets.token_urlsafe(50))
    settings.SECRET_KEY = os.environ["MILLRACE_SECRET_KEY"]
    # Tests of one address ask more often than people do; those of the limit set it themselves.
    SimpleRateThrottle.THROTTLE_RATES = {"secret": "1000000/min", "write": "1000000/min"}
    settings.MEDIA_ROOT = tempfile.mkdtemp(prefix="millrace-files-")
    caches.settings["default"]["LOCATION"] = Path(settings.MEDIA_ROOT, "limits")


def pytest_unconfigure() -> None:
    """Delete the files that tests kept."""
    shutil.rmtree(settings.MEDIA_ROOT, ignore_errors=True)


@pytest.fixture(scope="session")
def database_url() -> Iterator[str]:
    """The address of the PostgreSQL that this session's tests use; DATABASE_URL if it is set."""
    if "DATABASE_URL" in os.environ:
        yield os.environ["DATABASE_URL"]
        return
    with tempfile.TemporaryDirectory(prefix="millrace-tests-") as folder:
        # Started as root, the server runs under another account and passes through here.
        Path(folder).chmod(0o711)
        # Nothing outlives the session, so it may be lost in a power cut: fsync is off.
        with EmbeddedPostgres(Path(folder), throwaway=True) as database:
            yield database.url


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, database_url: str
) -> None:
    """Lead Django to this session's PostgreSQL before it makes its test database."""
    settings.DATABASES["default"].update(database_settings(database_url))


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Let tests with real transactions empty all tables afterwards, which the ledger refuses.

    A test of that refusal enables the trigger again, in its own transaction. At the end sessions
    are closed that a thread left behind, for the database can only be dropped without them.
    """
    truncates = 1 << 5  # pg_trigger.tgtype of a trigger on TRUNCATE
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE tgtype & %s > 0",
            [truncates],
        )
        for table, trigger in cursor.fetchall():
            cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER {trigger}")
    yield
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


@pytest.fixture(scope="module")
def sizes_forgotten(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Let PostgreSQL forget the sizes it counted of tables that are empty again.

    It notes them also where what was counted is taken back, and then plans for no rows.
    """
    yield
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_clear_relation_stats(schemaname, tablename)"
            " FROM pg_tables WHERE schemaname = 'public'"
        )
