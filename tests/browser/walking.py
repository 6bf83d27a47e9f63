"""A driver who works a route to its end while all around them fails, by the throw of dice."""

import contextlib
import os
import random
import shutil
import signal
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Error, Page, Playwright, expect

from tests.browser.desk_client import Desk
from tests.browser.driving import SESSION_COOKIE, TAKEN_ALONG, Booked, arrive_at_next, weigh
from tests.browser.people import PHONE, all_arrived
from tests.browser.weather import Fate, Weather

TARE_G = 150
FAULTS_EACH_MAX = 2


class Device:
    """A real browser with a profile on disk, which is closed wholly and opened again."""

    def __init__(self, playwright: Playwright, launch: dict[str, Any], profile: Path) -> None:
        self._playwright, self._launch, self._profile = playwright, launch, profile
        self._context: BrowserContext | None = None
        self._is_cut = False
        self.page: Page

    def open(self, path: str) -> Page:
        """Start the browser on what the profile has, with or without a signal as before."""
        self._context = self._playwright.chromium.launch_persistent_context(
            str(self._profile), viewport=PHONE, has_touch=True, is_mobile=True, **self._launch
        )
        self._context.set_default_timeout(30_000)
        self._context.set_offline(self._is_cut)
        self.page = self._context.pages[0]
        self.page.goto(path)
        return self.page

    @property
    def is_cut(self) -> bool:
        return self._is_cut

    def signal(self, *, there: bool) -> None:
        """Take the network away, really, or bring it back."""
        self._is_cut = not there
        self._held().set_offline(self._is_cut)

    def expire(self) -> None:
        """Let the session run out."""
        self._held().clear_cookies(name=SESSION_COOKIE)

    def close(self) -> None:
        """Close the browser wholly."""
        context, self._context = self._context, None
        if context is not None:
            # One whose process is gone cannot answer any more.
            with contextlib.suppress(Error):
                context.close()

    def kill(self) -> None:
        """Let the battery run out: the browser's process ends between two instructions."""
        for entry in Path("/proc").glob("[0-9]*/cmdline"):
            with contextlib.suppress(OSError):
                words = entry.read_bytes().split(b"\0")
                ours = f"--user-data-dir={self._profile}".encode() in words
                if ours and not any(word.startswith(b"--type=") for word in words):
                    os.kill(int(entry.parent.name), signal.SIGKILL)
        self.close()

    def _held(self) -> BrowserContext:
        assert self._context is not None
        return self._context


class Walk:
    """One route of two stops, driven by the dice of one seed."""

    def __init__(
        self, *, seed: int, device: Device, weather: Weather, desk: Desk, booked: Booked
    ) -> None:
        self._dice = random.Random(seed)  # noqa: S311  # the same walk again for the same seed
        self._device, self._weather, self._desk, self._booked = device, weather, desk, booked
        self._route = f"/#/driving/{booked.route}"
        self.log: list[str] = []
        self.deeds = 0
        self.typed_g: list[int] = []
        self.outcomes: Counter[str] = Counter()

    def go(self) -> None:
        """Drive the whole route, with faults before each thing done, and wait for its arrival."""
        self._sign_in()
        self._look_at_route()
        self._device.page.wait_for_function(TAKEN_ALONG)
        self._do(self._start)
        for pickup in self._booked.pickups:
            self._do(self._arrive)
            settle = self._dice.choice([self._collect, self._collect, self._skip])
            self._do(lambda pickup=pickup, settle=settle: settle(pickup))  # type: ignore[misc]
            self._do(lambda pickup=pickup: self._finish_stop(pickup))  # type: ignore[misc]
        self._do(self._finish)
        self._arrive_in_the_end()

    def _do(self, deed: Callable[[], None]) -> None:
        for _ in range(self._dice.randint(0, FAULTS_EACH_MAX)):
            fault = self._dice.choice(self._faults())
            self.log.append(fault.__name__.strip("_"))
            fault()
        self._be_known()
        self._look_at_route()
        deed()
        self.deeds += 1
        self.log.append("done")

    def _faults(self) -> list[Callable[[], None]]:
        return [
            self._cut,
            self._back,
            self._close,
            self._battery,
            self._expire,
            self._server_breaks,
            self._replies_get_lost,
            self._server_is_slow,
            self._server_is_fine,
        ]

    def _cut(self) -> None:
        self._device.signal(there=False)

    def _back(self) -> None:
        self._device.signal(there=True)

    def _close(self) -> None:
        self._device.close()
        self._device.open(self._route)

    def _battery(self) -> None:
        self._device.kill()
        self._device.open(self._route)

    def _expire(self) -> None:
        self._device.expire()

    def _server_breaks(self) -> None:
        self._weather.fate = Fate.BROKEN

    def _replies_get_lost(self) -> None:
        self._weather.fate = Fate.REPLY_LOST

    def _server_is_slow(self) -> None:
        self._weather.fate = Fate.SLOW

    def _server_is_fine(self) -> None:
        self._weather.fate = Fate.FINE

    def _be_known(self) -> None:
        """Sign in where the page does not know its driver; without a signal open it once more."""
        page = self._device.page
        page.goto(self._route)
        page.locator("h1").first.wait_for()
        if page.get_by_role("banner").get_by_role("link", name="Sign in").count() == 0:
            return
        if self._device.is_cut:
            self.log.append("reload")
            page.reload()
        else:
            self.log.append("sign in")
            self._sign_in()

    def _sign_in(self) -> None:
        token = self._desk.ask("token", self._booked.driver)
        page = self._device.page
        page.goto(f"/#/sign-in/{token}")
        expect(page.get_by_role("heading", name="Routes to drive")).to_be_visible()

    def _look_at_route(self) -> None:
        page = self._device.page
        page.goto(self._route)
        expect(page.get_by_role("heading", name="2 stops")).to_be_visible()

    def _start(self) -> None:
        page = self._device.page
        page.get_by_role("button", name="Start the route").click()
        expect(page.get_by_role("link", name="Open this stop")).to_be_visible()

    def _arrive(self) -> None:
        arrive_at_next(self._device.page)
        expect(self._device.page.get_by_role("button", name="Weigh")).to_be_visible()

    def _at(self, pickup: str) -> Page:
        page = self._device.page
        page.goto(f"{self._route}/{pickup}")
        return page

    def _collect(self, pickup: str) -> None:
        page = self._at(pickup)
        gross_g = self._dice.randrange(2_000, 9_000, 20)
        weigh(page, gross_g)
        expect(page.get_by_role("button", name="Finish this stop")).to_be_enabled()
        self.typed_g.append(gross_g - TARE_G)
        self.outcomes["collected"] += 1

    def _skip(self, pickup: str) -> None:
        page = self._at(pickup)
        page.get_by_role("button", name="Skip").click()
        page.get_by_role("radio", name="It is empty").check()
        page.get_by_role("button", name="Skip this container").click()
        expect(page.get_by_role("button", name="Finish this stop")).to_be_enabled()
        self.outcomes["skipped"] += 1

    def _finish_stop(self, pickup: str) -> None:
        page = self._at(pickup)
        page.get_by_role("button", name="Finish this stop").click()
        expect(page.get_by_role("heading", name="2 stops")).to_be_visible()

    def _finish(self) -> None:
        page = self._device.page
        page.get_by_role("button", name="Finish the route").click()
        expect(page.get_by_text("This route is done.")).to_be_visible()

    def _arrive_in_the_end(self) -> None:
        """All is well again: what is still kept goes out."""
        self._weather.fate = Fate.FINE
        self._device.signal(there=True)
        self._sign_in()
        page = self._device.page
        page.goto("/#/outbox")
        send = page.get_by_role("button", name="Try to send now")
        with contextlib.suppress(Error):  # it may have gone already
            send.click(timeout=500)
        all_arrived(page)


def fresh_profile(template: Path, folder: Path) -> Path:
    """Copy the profile of a device that has the app but nobody's data."""
    profile = folder / f"profile-{time.monotonic_ns()}"
    shutil.copytree(template, profile, ignore=shutil.ignore_patterns("Singleton*"))
    return profile
