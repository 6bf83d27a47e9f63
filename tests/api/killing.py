"""A server with people weighing on it, to be killed at any moment and started anew."""

import json
import os
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, timedelta
from http import HTTPStatus
from pathlib import Path
from typing import IO, Any, LiteralString

import psutil
import psycopg

from api.server.postgres import EmbeddedPostgres
from network.ids import new_id

WAIT_S = 600
TARE_G = 150
FIRST_DAY = date(2025, 10, 6)
VICTIMS = ("server", "worker", "database", "one of the database's processes")
_PAUSE_S = 0.05
_LOOKS = 20


def environment() -> dict[str, str]:
    """Return ours without what leads to this session's database."""
    return {k: v for k, v in os.environ.items() if k not in {"DATABASE_URL", "MILLRACE_DATA"}}


@dataclass
class Server:
    """A server and a worker beside it on one data folder."""

    data: Path
    port: int = 0
    server: "subprocess.Popen[str] | None" = None
    worker: "subprocess.Popen[str] | None" = None

    def start(self) -> None:
        """Start what does not run; return once it answers."""
        if self.server is None or self.server.poll() is not None:
            self.server = self._run("serve", "--port", str(self.port), out=subprocess.PIPE)
            assert self.server.stdout is not None
            ready = next(line for line in self.server.stdout if "is ready" in line)
            self.port = int(ready.split("localhost:")[1].split()[0])
            threading.Thread(target=_drained, args=(self.server.stdout,), daemon=True).start()
        if self.worker is None or self.worker.poll() is not None:
            self.worker = self._run("worker", out=subprocess.DEVNULL)

    def kill(self, victim: str, which: float) -> None:
        """Kill one of them as it is; `which`, from 0 to 1, chooses the database's process."""
        assert self.server is not None
        assert self.worker is not None
        if victim == "worker":
            _kill(self.worker)
        elif victim == "server":
            _kill(self.server)
        else:
            main = self._postmaster()
            others = main.children()
            one = main if victim == "database" else others[int(which * len(others))]
            one.kill()
        if victim in {"server", "database"}:
            # With its database gone it cannot go on; whoever runs it starts it anew.
            _kill(self.server)
            _kill(self.worker)

    def stop(self) -> None:
        """Stop both in order."""
        for process in (self.worker, self.server):
            if process is not None:
                process.send_signal(signal.SIGTERM)
                process.wait(WAIT_S)

    def said_by(self, *command: str) -> "subprocess.CompletedProcess[str]":
        """Run a command on the same folder."""
        return subprocess.run(
            [sys.executable, *command],
            env=environment(),
            capture_output=True,
            text=True,
            timeout=WAIT_S,
            check=False,
        )

    def _postmaster(self) -> psutil.Process:
        assert self.server is not None
        below = psutil.Process(self.server.pid).children(recursive=True)
        running = {one.pid: one for one in below if one.name() == "postgres"}
        return next(one for one in running.values() if one.ppid() not in running)

    def _run(self, *arguments: str, out: int) -> "subprocess.Popen[str]":
        return subprocess.Popen(
            [sys.executable, "-m", "api.server", *arguments, "--data", str(self.data)],
            env=environment(),
            stdout=out,
            stderr=subprocess.DEVNULL,
            text=True,
        )


def _drained(said: IO[str]) -> None:
    with said:
        said.read()


def _kill(process: "subprocess.Popen[str]") -> None:
    process.kill()
    process.wait(WAIT_S)


@dataclass
class Load:
    """People who weigh lots again and again, and one who closes day after day.

    Each keeps what it sends under one id and sends it until it is answered, as the app does.
    """

    server: Server
    world: dict[str, Any]
    # The day that is worked on: what is written for a day that is closed already is late.
    day: date = FIRST_DAY
    sent: dict[str, int] = field(default_factory=dict)
    acknowledged: dict[str, int] = field(default_factory=dict)
    refused: list[str] = field(default_factory=list)
    stopping: threading.Event = field(default_factory=threading.Event)
    threads: list[threading.Thread] = field(default_factory=list)

    def start(self) -> None:
        """Begin: one person for each lot, and one who closes days."""
        people = [
            threading.Thread(target=self._weigh, args=(lot, index))
            for index, lot in enumerate(self.world["lots"])
        ]
        self.threads = [*people, threading.Thread(target=self._close_days)]
        for thread in self.threads:
            thread.start()

    def end(self) -> None:
        """Let everyone finish what is in hand; the server answers."""
        self.stopping.set()
        for thread in self.threads:
            thread.join(WAIT_S)

    def _weigh(self, lot: str, person: int) -> None:
        count = 0
        while not self.stopping.is_set():
            count += 1
            key, net_g = str(new_id()), 5_000 + 100 * person + count % 100
            self.sent[key] = net_g
            body = {
                "gross_g": net_g + TARE_G,
                "tare_g": TARE_G,
                "scale_id": self.world["scale_id"],
                "at": f"{self.day}T12:00:00Z",
            }
            if self._send(f"lots/{lot}/weigh/", key, body, self.world["maker"]):
                self.acknowledged[key] = net_g

    def _close_days(self) -> None:
        while not self.stopping.is_set():
            body = {"last_day": str(self.day)}
            self._send("seals/", str(new_id()), body, self.world["organiser"])
            self.day += timedelta(days=1)
            self.stopping.wait(1)

    def _send(self, path: str, key: str, body: dict[str, Any], token: str) -> bool:
        """Send until there is an answer; return whether it was taken."""
        while True:
            try:
                self._ask(path, key, body, token)
            except urllib.error.HTTPError as answer:
                # Who weighs too fast waits, as a device does.
                if answer.code < 500 and answer.code != HTTPStatus.TOO_MANY_REQUESTS:
                    self.refused.append(f"{path} {answer.code} {answer.read().decode()}")
                    return False
            except OSError:
                pass
            else:
                return True
            time.sleep(_PAUSE_S)

    def _ask(self, path: str, key: str, body: dict[str, Any], token: str) -> None:
        request = urllib.request.Request(
            f"http://127.0.0.1:{self.server.port}/api/v1/communities/{self.world['slug']}/{path}",
            data=json.dumps(body).encode(),
            headers={
                "Authorization": f"Bearer {token}",
                "Content-Type": "application/json",
                "Idempotency-Key": key,
            },
        )
        urllib.request.urlopen(request, timeout=WAIT_S).close()  # noqa: S310  # our own server


def weighings_in(data: Path) -> list[tuple[str, int]]:
    """Return the workshop's weighings that are stored, by id, with their net mass in g."""
    rows = _looked(data, "SELECT id, net_g FROM lots_weighing WHERE stage = 'workshop'")
    return [(str(weighing_id), net_g) for weighing_id, net_g in rows]


def balances_off(data: Path) -> list[tuple[Any, ...]]:
    """Return the lots of which not what the last weighing says lies in the store."""
    return _looked(
        data,
        """
        SELECT account.lot_id, account.balance_g, last.net_g
          FROM lots_account account
         CROSS JOIN LATERAL (
               SELECT net_g FROM lots_weighing weighing
                WHERE weighing.lot_id = account.lot_id ORDER BY id DESC LIMIT 1) last
         WHERE account.kind = 'collected' AND account.balance_g <> last.net_g
        """,
    )


def _looked(data: Path, query: LiteralString) -> list[tuple[Any, ...]]:
    """Return what a query finds, looking again where we are thrown out.

    After one of its processes was killed the database throws everybody out, when it notices.
    """
    for _ in range(_LOOKS):
        with (
            suppress(psycopg.OperationalError),
            EmbeddedPostgres(data) as database,
            psycopg.connect(database.url) as connection,
        ):
            return connection.execute(query).fetchall()
        time.sleep(_PAUSE_S)
    raise RuntimeError("the database threw us out each time that we looked")
