"""The folder, key and database of this installation, found or made before Django starts.

Everything is handed on through the environment, so that the settings have one source, and a
machine that sets the environment itself (a container, say) needs none of this.
"""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import filelock
import platformdirs

from api.server.postgres import EmbeddedPostgres, PostgresError
from api.server.progress import give_up, say_detail, step

CHECKOUT = Path(__file__).resolve().parents[2]
FRONTEND = CHECKOUT / "frontend"
_KEY_BYTES = 48


def data_folder(asked_for: Path | None) -> Path:
    """Choose the folder for data: the one asked for, MILLRACE_DATA, or the usual place."""
    if asked_for is not None:
        return asked_for
    if "MILLRACE_DATA" in os.environ:
        return Path(os.environ["MILLRACE_DATA"])
    if (CHECKOUT / "pyproject.toml").is_file():
        return CHECKOUT / "var"
    return platformdirs.user_data_path("millrace", appauthor=False)


def prepare_settings(data: Path) -> None:
    """Set what the settings read from the environment, but for the database."""
    os.environ["MILLRACE_DATA"] = str(data.resolve())
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")
    if "MILLRACE_SECRET_KEY" not in os.environ:
        with _plain_refusals(data):
            os.environ["MILLRACE_SECRET_KEY"] = _kept_secret_key(data)


@contextmanager
def running_database(data: Path) -> Iterator[EmbeddedPostgres | None]:
    """Have DATABASE_URL set: as it was, giving None, or to an embedded PostgreSQL's for a while."""
    if "DATABASE_URL" in os.environ:
        yield None
        return
    database = EmbeddedPostgres(data)
    with step("Starting the database"), _plain_refusals(data):
        database.start()
        _say_where(database, data)
    os.environ["DATABASE_URL"] = database.url
    try:
        yield database
    finally:
        os.environ.pop("DATABASE_URL", None)
        database.stop()


@contextmanager
def _plain_refusals(data: Path) -> Iterator[None]:
    try:
        yield
    except PostgresError as error:
        raise give_up(str(error)) from None
    except OSError as error:
        raise give_up(
            f"the data folder {data} cannot be used ({error.strerror}: {error.filename}). It must "
            "belong to the account that runs Millrace; choose another with --data."
        ) from None


def _say_where(database: EmbeddedPostgres, data: Path) -> None:
    if database.joined:
        say_detail("joined the database that another millrace command runs")
    if not database.folder.is_relative_to(data.resolve()):
        say_detail(f"its files are in {database.folder}: its account may not enter {data}")


def _kept_secret_key(data: Path) -> str:
    """Read this installation's secret key, made once and readable by its owner only."""
    data.mkdir(parents=True, exist_ok=True, mode=0o711)
    path = data / "secret-key"
    with filelock.FileLock(data / "secret-key.lock"):  # another may make or read it right now
        key = path.read_text().strip() if path.exists() else ""
        if not key:  # none yet, or whoever made it was stopped before it was written
            key = secrets.token_urlsafe(_KEY_BYTES)
            descriptor = os.open(path, os.O_WRONLY | os.O_CREAT, 0o600)
            with os.fdopen(descriptor, "w") as file:
                file.write(key)
        return key
