"""Several processes answer on one port, share its limits, and begin and end together."""

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http import HTTPStatus
from pathlib import Path
from urllib.parse import urlsplit

import psutil
import pytest

from api.server import cli, siblings
from tests.api.killing import environment

WAIT_S = 120
CODES_A_MINUTE = 10  # api.settings.ACCOUNT_RATE_LIMITS
pytestmark = pytest.mark.skipif(os.name != "posix", reason="ports are handed on by Unix alone")


@pytest.fixture(scope="module")
def data() -> Iterator[Path]:
    """A data folder that other accounts may pass through, as a server started by root needs."""
    with tempfile.TemporaryDirectory(prefix="millrace-tests-") as parent:
        Path(parent).chmod(0o711)
        yield Path(parent, "data")


@contextmanager
def served(data: Path) -> Iterator[tuple[psutil.Popen, str]]:
    """Serve by three processes; give the first, and host and port."""
    command = [sys.executable, "-m", "api.server", "serve", "--data", str(data), "--port", "0"]
    with psutil.Popen(
        [*command, "--processes", "3"],
        env=environment(),
        stdout=subprocess.PIPE,
        text=True,
    ) as server:
        try:
            yield server, said_address(server)
        finally:
            server.send_signal(signal.SIGTERM)
            server.stdout.read()


def said_address(server: psutil.Popen) -> str:
    for line in server.stdout:
        if found := re.search(r"is ready: (http://\S+)", line):
            return urlsplit(found[1]).netloc
    return pytest.fail("The server ended before it was ready.")


def siblings_of(server: psutil.Popen) -> list[psutil.Process]:
    # Of one that has ended and is not yet waited for there is no command line.
    return [
        one
        for one in server.children()
        if "api.server.siblings" in (one.as_dict(["cmdline"])["cmdline"] or ())
    ]


def answers(address: str) -> bool:
    status, _ = asked(address, "GET", "/api/v1/session/")
    return status == HTTPStatus.OK


def asked(
    address: str, method: str, path: str, body: object = None, headers: dict[str, str] | None = None
) -> tuple[int, dict[str, str]]:
    """Ask on a connection of its own; return the status and the cookies."""
    connection = http.client.HTTPConnection(address, timeout=WAIT_S)
    sent = None if body is None else json.dumps(body)
    connection.request(method, path, body=sent, headers=headers or {})
    answer = connection.getresponse()
    answer.read()
    pairs = [value.split(";")[0] for value in answer.headers.get_all("Set-Cookie", [])]
    connection.close()
    return answer.status, dict(pair.split("=", 1) for pair in pairs)


def until(reached: Callable[[], bool]) -> None:
    deadline_s = time.monotonic() + WAIT_S
    while not reached():
        assert time.monotonic() < deadline_s, "it did not come to that in time"
        time.sleep(0.05)


def test_each_of_them_answers_and_all_end_with_the_first(data: Path) -> None:
    with served(data) as (server, address):
        others = siblings_of(server)
        assert len(others) == 2
        # Whichever two are stopped, the third has the port to itself.
        for answering in (server, *others):
            resting = [one for one in (server, *others) if one.pid != answering.pid]
            for one in resting:
                one.suspend()
            try:
                assert answers(address)
            finally:
                for one in resting:
                    one.resume()
    assert server.returncode == 0
    assert not [one for one in others if one.is_running()]


def test_another_takes_the_place_of_one_that_ends(data: Path) -> None:
    with served(data) as (server, address):
        killed, kept = siblings_of(server)
        killed.kill()
        assert answers(address)
        until(lambda: len(siblings_of(server)) == 2 and killed not in siblings_of(server))
        assert kept in siblings_of(server)
        assert answers(address)
    assert server.returncode == 0
    assert psutil.wait_procs([kept], timeout=WAIT_S)[1] == []


def test_when_the_first_is_killed_none_is_left_and_the_port_is_free(data: Path) -> None:
    with served(data) as (server, address):
        others = siblings_of(server)
        server.kill()
        assert psutil.wait_procs(others, timeout=WAIT_S)[1] == []
        with pytest.raises(ConnectionRefusedError):
            answers(address)


def test_who_asks_for_many_codes_is_counted_by_all_together(data: Path) -> None:
    with served(data) as (_, address):
        _, cookies = asked(address, "GET", "/api/v1/session/")
        headers = {
            "Content-Type": "application/json",
            "X-CSRFToken": cookies["csrftoken"],
            "Cookie": f"csrftoken={cookies['csrftoken']}",
        }
        path = "/_allauth/browser/v1/auth/code/request"
        said = [
            asked(address, "POST", path, {"email": f"{n}@example.org"}, headers)[0]
            for n in range(2 * CODES_A_MINUTE)
        ]
    # A code was sent, and who asked is not signed in yet.
    assert said.count(HTTPStatus.UNAUTHORIZED) == CODES_A_MINUTE, said


def test_a_small_machine_is_not_filled(monkeypatch: pytest.MonkeyPatch) -> None:
    by_processors = {}
    for processors in (None, 1, 2, 64):
        monkeypatch.setattr(os, "cpu_count", lambda known=processors: known)
        by_processors[processors] = siblings.processes_by_default()
    assert by_processors == {None: 1, 1: 1, 2: 2, 64: 2}


@pytest.mark.parametrize("count", ["0", "-1", "33", "two"])
def test_only_so_many_processes_can_be_asked_for(
    count: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        cli.main(["serve", "--processes", count])
    assert "--processes" in capsys.readouterr().err
