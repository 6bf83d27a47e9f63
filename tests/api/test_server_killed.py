"""Whatever is killed while people weigh: what was acknowledged is there once, and all adds up.

Three kills by default; a hundred with `--kills 100`, at other moments with `--kill-seed`.
"""

import json
import random
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.killing import VICTIMS, Load, Server, balances_off, weighings_in

LOTS = 6
LOAD_S_MIN, LOAD_S_MAX = 0.3, 2.0
VERIFIED_EACH = 10


@pytest.fixture
def server() -> Iterator[Server]:
    with tempfile.TemporaryDirectory(prefix="millrace-tests-") as parent:
        # Started as root, the database runs under another account and passes through here.
        Path(parent).chmod(0o711)
        running = Server(data=Path(parent, "data"))
        running.start()
        try:
            yield running
        finally:
            running.stop()


def test_no_acknowledged_weighing_is_lost_or_doubled_whatever_is_killed(
    server: Server, request: pytest.FixtureRequest
) -> None:
    dice = random.Random(int(request.config.getoption("--kill-seed")))  # noqa: S311  # no secret
    made = server.said_by("-m", "tests.api.killed_world", str(server.data), str(LOTS))
    assert made.returncode == 0, made.stderr
    load = Load(server=server, world=json.loads(made.stdout))
    load.start()
    try:
        for number in range(int(request.config.getoption("--kills"))):
            victim = VICTIMS[number % len(VICTIMS)]
            time.sleep(dice.uniform(LOAD_S_MIN, LOAD_S_MAX))
            server.kill(victim, dice.random())
            server.start()
            # What is looked at goes on being written meanwhile.
            after = f"kill {number + 1}, of the {victim}"
            assert_nothing_is_lost(load, after=after)
            if (number + 1) % VERIFIED_EACH == 0:
                assert_all_adds_up(server, after=after)
    finally:
        server.start()
        load.end()
    assert_nothing_is_lost(load, after="the end")
    assert_all_adds_up(server, after="the end")
    assert balances_off(server.data) == []
    assert load.refused == []
    assert len(load.acknowledged) > LOTS


def assert_nothing_is_lost(load: Load, *, after: str) -> None:
    acknowledged = dict(load.acknowledged)
    stored = Counter(weighings_in(load.server.data))
    lost = [one for one in acknowledged.items() if stored[one] != 1]
    assert not lost, f"after {after}: acknowledged, and not there once: {lost}"
    unknown = [one for one in stored if load.sent.get(one[0]) != one[1]]
    assert not unknown, f"after {after}: there, and never sent: {unknown}"


def assert_all_adds_up(server: Server, *, after: str) -> None:
    verified = server.said_by("-m", "api.server", "verify", "--data", str(server.data))
    assert verified.returncode == 0, f"after {after}: {verified.stdout}{verified.stderr}"
