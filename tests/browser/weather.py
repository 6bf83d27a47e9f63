"""Stands between a browser and the server and lets writes fare well or ill.

A proxy rather than the browser's own interception: what the service worker sends passes as well,
and a lost reply is lost on a real connection, after the server has done the thing.
"""

import http.client
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import StrEnum
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import urlsplit

# What belongs to one connection only and is not passed on, RFC 9110 section 7.6.1.
OF_THE_CONNECTION = {"connection", "keep-alive", "transfer-encoding", "content-length"}
SLOW_S = 0.7
ERRORS_FROM = 300  # RFC 9110: below it stands what succeeded


class Fate(StrEnum):
    """What becomes of a write."""

    FINE = "fine"
    BROKEN = "broken"  # the server answers 500 and does nothing
    REPLY_LOST = "reply lost"  # done, but nobody hears of it
    SLOW = "slow"


class Weather:
    """How writes fare now, and which of them the server has done."""

    def __init__(self, server: str) -> None:
        self.server = urlsplit(server)
        self.fate = Fate.FINE
        # For each key: how often the server did it, not counting replays of its first answer.
        self.done: Counter[str] = Counter()


class _Street(ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self, weather: Weather) -> None:
        super().__init__(("127.0.0.1", 0), _Gate)
        self.weather = weather

    def handle_error(self, request: object, client_address: object) -> None:
        """A browser that was closed in the middle of a reply is part of the game."""


class _Gate(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: _Street

    def __getattr__(self, name: str) -> Callable[[], None]:
        """Let `do_GET` and its like all pass the same way."""
        if name.startswith("do_"):
            return self._pass
        raise AttributeError(name)

    def _pass(self) -> None:
        weather = self.server.weather
        body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        key = self.headers.get("Idempotency-Key")
        fate = weather.fate if key else Fate.FINE
        if fate is Fate.BROKEN:
            self._answer(500, [], b"broken")
            return
        if fate is Fate.SLOW:
            time.sleep(SLOW_S)
        status, headers, content = _asked(weather, self, body)
        if key and status < ERRORS_FROM and not _is_replay(headers):
            weather.done[key] += 1
        if fate is Fate.REPLY_LOST:
            self.close_connection = True
            return
        self._answer(status, headers, content)

    def _answer(self, status: int, headers: list[tuple[str, str]], content: bytes) -> None:
        self.send_response_only(status)
        for name, value in headers:
            if name.lower() not in OF_THE_CONNECTION:
                self.send_header(name, value)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(content)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002  # its own name
        """Say nothing of each request."""


def _asked(
    weather: Weather, request: BaseHTTPRequestHandler, body: bytes
) -> tuple[int, list[tuple[str, str]], bytes]:
    """Ask the server as the browser asked, under the name that the browser used."""
    connection = http.client.HTTPConnection(
        weather.server.hostname or "", weather.server.port, timeout=120
    )
    try:
        headers = {
            name: value
            for name, value in request.headers.items()
            if name.lower() not in OF_THE_CONNECTION
        }
        connection.request(request.command, request.path, body or None, headers)
        reply = connection.getresponse()
        return reply.status, reply.getheaders(), reply.read()
    finally:
        connection.close()


def _is_replay(headers: list[tuple[str, str]]) -> bool:
    return any(name.lower() == "idempotent-replay" for name, _ in headers)


@contextmanager
def weather_before(server: str) -> Iterator[tuple[str, Weather]]:
    """Yield the address to browse instead of the server's, and the weather there."""
    weather = Weather(server)
    street = _Street(weather)
    thread = threading.Thread(target=street.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{street.server_port}", weather
    finally:
        street.shutdown()
        street.server_close()
        thread.join()
