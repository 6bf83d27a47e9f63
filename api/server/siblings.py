"""Processes that answer requests on the same port, since Python computes on one processor in each.

Run as a program, this file is one of them: it answers for as long as the process lives that asked
for it, whose end, SIGKILL included, closes the pipe that is its standard input.
"""

import logging
import os
import signal
import socket
import subprocess
import sys
import threading
from types import TracebackType
from typing import Self

# On Windows a process cannot be handed a port that another one holds.
CAN_SHARE_A_PORT = os.name == "posix"
_BY_DEFAULT_MAX = 2
_READY = "ready"
_START_WAIT_S = 120
_STOP_WAIT_S = 60
_REST_AFTER_AN_END_S = 1
_log = logging.getLogger(__name__)


class Sibling:
    """Keeps one more process answering on a port; one that ends is followed by another."""

    def __init__(self, held: socket.socket) -> None:
        self._held = held
        self._stopping = threading.Event()
        self._ready = threading.Event()
        self._process = self._start()
        self._thread = threading.Thread(target=self._keep, name="sibling", daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stopping.set()
        self._process.terminate()
        self._thread.join(_STOP_WAIT_S)
        if self._thread.is_alive():
            self._process.kill()

    def wait_until_ready(self) -> None:
        """Wait until it answers too; one that is very late may come later."""
        self._ready.wait(_START_WAIT_S)

    def _keep(self) -> None:
        while True:
            self._wait_for_its_end()
            if self._stopping.wait(_REST_AFTER_AN_END_S):
                return
            _log.warning("A process that answers requests ended; another takes its place.")
            self._process = self._start()
            if self._stopping.is_set():  # it was asked to before this one was there
                self._process.terminate()

    def _wait_for_its_end(self) -> None:
        with self._process as process:
            for line in process.stdout or ():
                if line.strip() == _READY:
                    self._ready.set()

    def _start(self) -> "subprocess.Popen[str]":
        descriptor = self._held.fileno()
        return subprocess.Popen(
            [sys.executable, "-m", "api.server.siblings", str(descriptor)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            pass_fds=[descriptor],
        )


def processes_by_default() -> int:
    """Give how many processes answer if nobody says: few, for each takes some 200 MB."""
    return min(os.cpu_count() or 1, _BY_DEFAULT_MAX) if CAN_SHARE_A_PORT else 1


def main(descriptor: int) -> None:
    """Answer on a port that another process holds, until it says stop or is gone."""
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    # Ctrl-C in a terminal is for all of its processes, and the one that asked tells us.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_who_asked, daemon=True).start()
    import django

    django.setup()
    from api.server import web

    web.answer(
        socket.socket(fileno=descriptor),
        when_ready=lambda: print(_READY, flush=True),
    )


def _end_with_who_asked() -> None:
    # Not through sys.stdin, whose lock a waiting thread would hold when Python exits.
    os.read(0, 1)
    os._exit(1)


if __name__ == "__main__":
    try:
        main(int(sys.argv[1]))
    except KeyboardInterrupt:
        sys.exit(0)
