"""The `millrace` command serves on an embedded PostgreSQL and stops everything in order."""

import os
import re
import signal
import socket
import stat
import subprocess
import sys
import tempfile
import urllib.request
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from api.server import cli, installation, port
from api.server.installation import data_folder, prepare_settings
from api.server.port import address_of, answer_to_own_names, hold_port, lead_mails_to

WAIT_S = 120


@pytest.fixture
def data() -> Iterator[Path]:
    """A data folder that other accounts may pass through, as a server started by root needs."""
    with tempfile.TemporaryDirectory(prefix="millrace-tests-") as parent:
        Path(parent).chmod(0o711)
        yield Path(parent, "data")


@pytest.fixture
def environment() -> dict[str, str]:
    """Ours without what leads to this session's database."""
    return {k: v for k, v in os.environ.items() if k not in {"DATABASE_URL", "MILLRACE_DATA"}}


def millrace(*arguments: str, environment: dict[str, str]) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "api.server", *arguments],
        env=environment,
        capture_output=True,
        text=True,
        timeout=WAIT_S,
        check=False,
    )


def test_help_names_each_command(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        cli.main(["--help"])
    assert end.value.code == 0
    said = capsys.readouterr().out
    for command in ("demo", "serve", "worker", "migrate", "build", "verify", "openapi", "manage"):
        assert re.search(rf"^ +{command} ", said, re.MULTILINE)
    assert "DATABASE_URL" in said


def test_a_command_is_needed(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        cli.main([])
    assert end.value.code == 2
    assert "COMMAND" in capsys.readouterr().err


def test_a_taken_port_is_said_plainly() -> None:
    with hold_port("127.0.0.1", 0) as held:
        taken = held.getsockname()[1]
        with pytest.raises(SystemExit, match=rf"port {taken} .*choose another port with --port"):
            hold_port("127.0.0.1", taken)


def test_an_address_that_is_not_this_machines_is_said_plainly() -> None:
    documentation_only = "192.0.2.1"  # RFC 5737
    with pytest.raises(SystemExit, match=r"port 8000 on 192.* cannot be used"):
        hold_port(documentation_only, 8000)


def test_a_port_is_a_number_that_ports_have(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["serve", "--port", "70000"])
    assert "--port" in capsys.readouterr().err


def test_the_address_is_one_to_open_on_this_machine() -> None:
    with hold_port("127.0.0.1", 0) as held:
        assert re.fullmatch(r"http://localhost:\d+", address_of(held))


def test_links_in_mails_lead_to_where_the_server_listens(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MILLRACE_PUBLIC_ORIGIN", "")
    monkeypatch.delenv("MILLRACE_ORIGINS", raising=False)
    with hold_port("127.0.0.1", 0) as held:
        lead_mails_to(held)
        assert os.environ["MILLRACE_PUBLIC_ORIGIN"] == address_of(held)


@pytest.mark.parametrize("name", ["MILLRACE_PUBLIC_ORIGIN", "MILLRACE_ORIGINS"])
def test_links_in_mails_lead_where_the_environment_says(
    monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.delenv("MILLRACE_PUBLIC_ORIGIN", raising=False)
    monkeypatch.delenv("MILLRACE_ORIGINS", raising=False)
    monkeypatch.setenv(name, "https://caps.example")
    with hold_port("127.0.0.1", 0) as held:
        lead_mails_to(held)
    assert os.environ.get("MILLRACE_PUBLIC_ORIGIN", "https://caps.example") == os.environ[name]


def test_a_phone_nearby_may_open_what_listens_everywhere(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(port, "_address_on_the_network", lambda: "192.0.2.77")
    monkeypatch.setenv("MILLRACE_HOSTS", "overwritten")
    monkeypatch.delenv("MILLRACE_HOSTS")
    answer_to_own_names("0.0.0.0")  # noqa: S104 - what the option would hold
    assert {"localhost", "192.0.2.77"} < set(os.environ["MILLRACE_HOSTS"].split(","))
    with hold_port("0.0.0.0", 0) as held:  # noqa: S104 - held for a moment, never answered
        assert re.fullmatch(r"http://192\.0\.2\.77:\d+", address_of(held))


def test_the_names_in_the_environment_are_the_only_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MILLRACE_HOSTS", "caps.example")
    answer_to_own_names("0.0.0.0")  # noqa: S104 - what the option would hold
    assert os.environ["MILLRACE_HOSTS"] == "caps.example"


def test_on_the_loopback_address_no_other_name_is_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("MILLRACE_HOSTS", raising=False)
    answer_to_own_names("127.0.0.1")
    assert "MILLRACE_HOSTS" not in os.environ


def test_the_data_folder_is_the_one_asked_for_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("MILLRACE_DATA", "from-the-environment")
    assert data_folder(Path("asked-for")) == Path("asked-for")
    assert data_folder(None) == Path("from-the-environment")
    monkeypatch.delenv("MILLRACE_DATA")
    assert data_folder(None) == installation.CHECKOUT / "var"


def test_the_secret_key_is_made_once_and_for_its_owner_only(
    data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keys = []
    for _ in range(2):
        monkeypatch.delenv("MILLRACE_SECRET_KEY", raising=False)
        monkeypatch.setenv("MILLRACE_DATA", "overwritten")
        prepare_settings(data)
        keys.append(os.environ["MILLRACE_SECRET_KEY"])
    assert keys[0] == keys[1]
    assert len(keys[0]) >= 50
    if os.name == "posix":
        assert stat.S_IMODE((data / "secret-key").stat().st_mode) == 0o600


def test_those_who_start_at_once_have_the_same_secret_key(data: Path) -> None:
    for turn in range(20):
        folder = data / str(turn)
        with ThreadPoolExecutor(8) as pool:
            # Not through the environment, which all of these threads would share.
            keys = set(pool.map(installation._kept_secret_key, [folder] * 8))
        assert len(keys) == 1
        assert len(keys.pop()) >= 50


def test_a_secret_key_in_the_environment_is_used_and_not_written_down(
    data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MILLRACE_SECRET_KEY", given := "given in the environment")
    monkeypatch.setenv("MILLRACE_DATA", "overwritten")
    prepare_settings(data)
    assert os.environ["MILLRACE_SECRET_KEY"] == given
    assert not (data / "secret-key").exists()


@pytest.mark.parametrize("key", [None, "given"])
def test_a_data_folder_that_cannot_be_used_is_said_plainly(
    key: str | None, tmp_path: Path, environment: dict[str, str]
) -> None:
    file = tmp_path / "data"
    file.write_text("not a folder")
    environment.pop("MILLRACE_SECRET_KEY")
    if key is not None:
        environment["MILLRACE_SECRET_KEY"] = key
    refused = millrace("migrate", "--data", str(file), environment=environment)
    assert refused.returncode == 1
    assert "choose another with --data" in refused.stderr
    assert "Traceback" not in refused.stderr


@pytest.mark.skipif(os.name != "posix", reason="signals are Unix's")
def test_serve_answers_others_join_its_database_and_a_signal_stops_all(
    data: Path, environment: dict[str, str]
) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "api.server", "serve", "--data", str(data), "--port", "0"],
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
    ) as server:
        try:
            address = said_address(server)
            with urllib.request.urlopen(f"{address}/api/v1/session/", timeout=WAIT_S) as answer:  # noqa: S310 - our own
                assert answer.status == 200
            joined = millrace(
                "manage", "--data", str(data), "migrate", "--check", environment=environment
            )
            assert joined.returncode == 0
            assert "joined the database" in joined.stderr
            assert joined.stdout == ""
        finally:
            server.send_signal(signal.SIGTERM)
        assert server.stdout is not None
        assert server.stdout.read().endswith("Stopped.\n")
    assert server.returncode == 0
    cluster = next((data / "postgres").glob("cluster-*"))
    assert not (cluster / "postmaster.pid").exists()


def said_address(server: "subprocess.Popen[str]") -> str:
    assert server.stdout is not None
    for line in server.stdout:
        if found := re.search(r"is ready: (http://\S+)", line):
            return found[1]
    return pytest.fail("The server ended before it was ready.")


def test_serve_refuses_a_database_of_ones_own_that_lacks_tables(
    database_url: str, data: Path, environment: dict[str, str]
) -> None:
    own = environment | {"DATABASE_URL": database_url}
    refused = millrace("serve", "--data", str(data), "--port", "0", environment=own)
    assert refused.returncode == 1
    assert "Run: millrace migrate" in refused.stderr


def test_a_database_that_cannot_be_reached_is_said_plainly(
    data: Path, environment: dict[str, str]
) -> None:
    with socket.socket() as nobody:
        nobody.bind(("127.0.0.1", 0))  # not listening
        url = f"postgresql://millrace@127.0.0.1:{nobody.getsockname()[1]}/millrace"
        own = environment | {"DATABASE_URL": url}
        refused = millrace("serve", "--data", str(data), "--port", "0", environment=own)
    assert refused.returncode == 1
    assert "the database in DATABASE_URL cannot be used" in refused.stderr
    assert "Traceback" not in refused.stderr
