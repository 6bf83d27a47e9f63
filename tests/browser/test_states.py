"""Each screen says that it waits, that there is no signal, and that the server failed, and goes on.

Every screen that the router knows is gone to three times, by one person who sees it, with nothing
kept on the device: while the server does not answer, without a connection, and with a server that
answers 500. Then the server is well, and 'try again' leads on. A screen that asks the server for
nothing has nothing to wait for.
"""

import json
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Route
from playwright.sync_api import TimeoutError as NotThere

from api.server.installation import FRONTEND
from tests.browser.screens import EVERYONE, GO, PUBLIC, screens_of

WORDS = json.loads((FRONTEND / "src" / "messages" / "en" / "everyone.json").read_text())
BROKEN = WORDS["problem.server"].replace("{status}", "500")
UNREAD = WORDS["problem.not_read"]
UNSENT = WORDS["problem.no_connection"]
AGAIN = WORDS["problem.again"]
# Asks the server for nothing, and everyone may read it.
ELSEWHERE = "/cautions"
# The bell in the header asks by itself now and then, and shows its last count where it fails.
BELL = "unread=true&page_size="
STEPS_MS = 10_000
RETRIES_MAX = 6

# The heading that is left is marked, so that the next is known from it.
HEADING = "() => document.querySelector('main h1:not([data-left])')"
WAITS = """() => [...document.querySelectorAll('main [role=status], main [aria-busy=true]')]
    .some((one) => one.checkVisibility())"""
SAYS = """(words) => [...document.querySelectorAll('main [role=alert]')]
    .some((one) => words.some((said) => one.innerText.includes(said)))"""
SETTLED = """(words) => !document.querySelector('main .waiting')
    && !document.querySelector('main').innerText.includes(words)"""
FORGET = """() => new Promise((done) => {
  const asked = indexedDB.open('millrace')
  asked.onsuccess = () => {
    const kept = asked.result.transaction('seen', 'readwrite')
    kept.objectStore('seen').clear()
    kept.oncomplete = () => (asked.result.close(), done())
  }
})"""


class Weather:
    """What becomes of what a page asks of the server."""

    def __init__(self) -> None:
        self.now = "well"
        self.asked = 0
        self._held: list[Route] = []

    def meet(self, route: Route) -> None:
        """Let one request through, keep it waiting, or let it fail."""
        if BELL in route.request.url:
            route.continue_()
            return
        self.asked += 1
        if self.now == "slow":
            self._held.append(route)
        elif self.now == "offline":
            route.abort("internetdisconnected")
        elif self.now == "broken":
            route.fulfill(status=500, body="")
        else:
            route.continue_()

    def turn(self, weather: str) -> None:
        """Change the weather; what was waiting is lost."""
        self.now, self.asked = weather, 0
        while self._held:
            self._held.pop().abort()


@pytest.fixture
def world() -> str:
    return "tests.browser.screens_world"


@pytest.fixture
def page_of(phone_of: Callable[..., Page]) -> Callable[[str], Page]:
    """Open the app as somebody, without the worker between."""

    def open_as(person: str) -> Page:
        page = phone_of(person, service_workers="block")
        page.wait_for_function(HEADING)
        page.set_default_timeout(STEPS_MS)
        return page

    return open_as


def test_every_screen_says_what_it_waits_for_and_what_is_in_its_way(
    page_of: Callable[[str], Page], addresses: dict[str, str]
) -> None:
    faults: list[str] = []
    seen: set[str] = set()
    for person in (PUBLIC, *EVERYONE):
        page, weather = page_of(person), Weather()
        page.route("**/api/**", weather.meet)
        page.route("**/_allauth/**", weather.meet)
        for pattern, address in screens_of(person, addresses).items():
            if pattern not in seen:
                where = f"{person} at {pattern}"
                faults += [f"{where}: {fault}" for fault in _faults_at(page, weather, address)]
            seen.add(pattern)
        weather.turn("well")
    assert not faults, "\n".join(faults)


def _faults_at(page: Page, weather: Weather, address: str) -> list[str]:
    """Go to a screen in each weather and return what it does not say."""
    try:
        _go_in(page, weather, "slow", address)
        if not weather.asked:
            return []
        faults = [] if _comes(page, WAITS) else ["it does not say that it waits"]
        _go_in(page, weather, "offline", address)
        if not _comes(page, SAYS, [UNREAD, UNSENT]):
            faults.append("it does not say that there is no connection")
        _go_in(page, weather, "broken", address)
        if not _comes(page, SAYS, [BROKEN]):
            return [*faults, "it does not say that the server failed"]
        weather.turn("well")
        return faults if _goes_on(page) else [*faults, "trying again does not lead on"]
    except NotThere:
        return [f"it does not come while it is {weather.now}"]


def _go_in(page: Page, weather: Weather, kind: str, address: str) -> None:
    """Come to a screen anew, with nothing kept, and wait for its heading."""
    page.evaluate(GO, ELSEWHERE)
    page.wait_for_function(HEADING)
    page.evaluate(FORGET)
    weather.turn(kind)
    page.evaluate(GO, address)
    page.wait_for_function(HEADING)


def _comes(page: Page, said: str, words: list[str] | str | None = None) -> bool:
    try:
        page.wait_for_function(said, arg=words)
    except NotThere:
        return False
    return True


def _goes_on(page: Page) -> bool:
    """Try again as often as something is said to have failed, each thing once."""
    again = page.locator("main").get_by_role("button", name=AGAIN)
    for _ in range(RETRIES_MAX):
        if not again.count():
            break
        again.first.click()
        page.wait_for_function("() => !document.querySelector('main .waiting')")
    return _comes(page, SETTLED, BROKEN)
