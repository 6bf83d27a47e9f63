"""Two servers on one database, asked over HTTP: Millrace as it is served, and a bare function."""

import http.client
import json
import os
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from http import HTTPStatus
from pathlib import Path
from typing import IO, Any

HOST = "127.0.0.1"
WAIT_S = 600


class Caller:
    """Someone who asks a server again and again on one connection."""

    def __init__(self, port: int, token: str | None = None) -> None:
        self.connection = http.client.HTTPConnection(HOST, port, timeout=WAIT_S)
        self.headers = {"Authorization": f"Bearer {token}"} if token else {}

    def get(self, path: str) -> bytes:
        """Return what is answered; anything but a success ends the measurement."""
        self.connection.request("GET", path, headers=self.headers)
        return self._answered()

    def post(self, path: str, body: Mapping[str, object], key: str) -> bytes:
        """Write once under a key, and return what is answered."""
        headers = {
            **self.headers,
            "Content-Type": "application/json",
            "Idempotency-Key": key,
        }
        self.connection.request("POST", path, body=json.dumps(body), headers=headers)
        return self._answered()

    def read_through(self, path: str) -> int:
        """Read an answer of any length without keeping it, and return how many lines it has."""
        self.connection.request("GET", path, headers=self.headers)
        answer = self.connection.getresponse()
        lines = 0
        while piece := answer.read(1 << 16):
            lines += piece.count(b"\n")
        return lines

    def _answered(self) -> bytes:
        answer = self.connection.getresponse()
        content = answer.read()
        if answer.status >= HTTPStatus.MULTIPLE_CHOICES:
            raise RuntimeError(f"{answer.status}: {content.decode()[:400]}")
        return content


@contextmanager
def millrace(data: Path, *options: str) -> Iterator[tuple[int, int]]:
    """Serve a data folder as `millrace serve` does; yield the port, and the first process."""
    ours = {k: v for k, v in os.environ.items() if k not in {"DATABASE_URL", "MILLRACE_DATA"}}
    command = ["-m", "api.server", "serve", "--port", "0", "--data", str(data), *options]
    with _running(command, ours, said="is ready: http://localhost:") as served:
        yield served


@contextmanager
def bare(url: str, query: str, parameters: list[str]) -> Iterator[tuple[int, int]]:
    """Serve the text that one query returns, by a bare WSGI function; yield port and process."""
    command = ["-m", "tests.benchmarks.ledger.bare", url, query, json.dumps(parameters)]
    with _running(command, dict(os.environ), said="bare on ") as served:
        yield served


@contextmanager
def _running(
    command: list[str], environment: dict[str, str], *, said: str
) -> Iterator[tuple[int, int]]:
    with subprocess.Popen(
        [sys.executable, *command],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as process:
        try:
            yield _port(process.stdout, said), process.pid
        finally:
            process.terminate()
            process.communicate()


def _port(out: IO[str] | None, said: str) -> int:
    for line in out or ():
        if said in line:
            return int(line.split(said)[1].split()[0].strip("/"))
    raise RuntimeError("the server ended without saying its port")


def results_of(content: bytes) -> list[Any]:
    """Return the rows of a page."""
    rows: list[Any] = json.loads(content)["results"]
    return rows
