"""Whatever fails on the way, and in whatever order, each thing a driver does arrives once.

A seeded walk over faults: the network cut, the browser closed or its process killed, the session
run out, the server broken or slow, replies lost after the thing was done. Three walks by default;

    uv run pytest tests/browser/test_walks.py --fault-walks 100
"""

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Playwright

from tests.browser.conftest import ROOT
from tests.browser.desk_client import Desk
from tests.browser.driving import Booked
from tests.browser.walking import Device, Walk, fresh_profile
from tests.browser.weather import Weather, weather_before

STOPS = 2


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Walk as often as was asked for, each time by a seed of its own."""
    if "seed" in metafunc.fixturenames:
        metafunc.parametrize("seed", range(metafunc.config.getoption("--fault-walks")))


@dataclass(frozen=True, kw_only=True)
class Ground:
    """Where the walks take place."""

    launch: dict[str, Any]
    weather: Weather
    desk: Desk
    template: Path


@pytest.fixture(scope="module")
def ground(
    playwright: Playwright,
    launch: dict[str, Any],
    lasting_server: str,
    lasting_environment: dict[str, str],
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Ground]:
    """A server behind changeable weather, a desk beside it, a device that has the app."""
    template = tmp_path_factory.mktemp("device")
    with (
        weather_before(lasting_server) as (address, weather),
        contextlib.closing(Desk(lasting_environment, ROOT)) as desk,
    ):
        started = {**launch, "base_url": address, "locale": "en-GB"}
        device = Device(playwright, started, template)
        page = device.open("/")
        page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        device.close()
        yield Ground(launch=started, weather=weather, desk=desk, template=template)


def test_a_route_arrives_once_whatever_fails_on_the_way(
    playwright: Playwright, ground: Ground, tmp_path: Path, seed: int
) -> None:
    booked = Booked(**ground.desk.ask("book", STOPS))
    ground.weather.done.clear()
    device = Device(playwright, ground.launch, fresh_profile(ground.template, tmp_path))
    device.open("/")
    walk = Walk(seed=seed, device=device, weather=ground.weather, desk=ground.desk, booked=booked)
    try:
        walk.go()
    except Exception:
        walk.log.append(device.page.locator("body").inner_text())
        raise
    finally:
        # What happened, to be read beside a failure.
        (tmp_path / "walk.txt").write_text("\n".join(walk.log))
        print("\n".join(walk.log))  # noqa: T201  # shown by pytest beside a failure
        device.close()
    assert ground.desk.ask("told", booked.route) == {
        "status": "done",
        "visits": {"done": STOPS},
        "lines": dict(walk.outcomes),
        "collected_g": sorted(walk.typed_g),
    }
    assert len(ground.weather.done) == walk.deeds
    assert set(ground.weather.done.values()) == {1}
