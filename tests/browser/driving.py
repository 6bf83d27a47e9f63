"""A driver with a phone, whose signal, server and session come and go."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page, Route, expect

from tests.browser.people import People

WRITES = "**/api/v1/communities/**"
SESSION_COOKIE = "sessionid"
# What a driver takes along while there is a signal, besides the route.
TAKEN_ALONG = """async () => {
  const answer = (asked) => new Promise((done) => (asked.onsuccess = () => done(asked.result)))
  const database = await answer(indexedDB.open('millrace'))
  const names = await answer(database.transaction('seen').objectStore('seen').getAllKeys())
  database.close()
  return ['scales', 'asks for route'].every((part) => names.some((name) => name.includes(part)))
}"""


@dataclass(frozen=True, kw_only=True)
class Booked:
    """A route that waits for its driver, a place that no route goes to, and whose they are.

    People are told by their e-mail addresses.
    """

    community: str
    route: str
    place: str
    pickups: list[str]
    # Of each place in the order of its stop, and last of the one that no route goes to.
    tags: list[str]
    driver: str
    maker: str
    contact: str
    first_contact: str


class Phone:
    """One device: what is kept on it outlives its pages."""

    def __init__(
        self, people: People, sign_in: Callable[[str], str], email: str, *, script: str = ""
    ) -> None:
        self._people, self._sign_in, self._email = people, sign_in, email
        self.page = people.open(f"/#/sign-in/{sign_in(email)}", script=script)
        expect(self.page.get_by_role("heading", level=1)).to_be_visible()
        self._wait_for_the_shell()
        self.seen_by_server: list[str] = []
        self.page.context.on("request", self._note)

    def _wait_for_the_shell(self) -> None:
        self.page.evaluate("navigator.serviceWorker.ready.then(() => true)")
        self.page.reload()
        self.page.wait_for_function("navigator.serviceWorker.controller !== null")

    def _note(self, request: Any) -> None:
        key = request.headers.get("idempotency-key")
        if key:
            self.seen_by_server.append(key)

    def take_along(self, route: str) -> None:
        """Look at the route while there is a signal, and wait until all of it is on the device."""
        self.page.goto(f"/#/driving/{route}")
        expect(self.page.get_by_role("heading", name="stops")).to_be_visible()
        self.page.wait_for_function(TAKEN_ALONG)

    def cut(self) -> None:
        """Take the signal away, really."""
        self.page.context.set_offline(True)

    def back(self) -> None:
        self.page.context.set_offline(False)

    def reopen(self, path: str) -> Page:
        """Close the page and open another on the same device."""
        context = self.page.context
        self.page.close()
        self._people.pages.remove(self.page)
        self.page = context.new_page()
        self._people.pages.append(self.page)
        self.page.set_default_timeout(30_000)
        self.page.goto(path)
        return self.page

    def expire(self) -> None:
        """Let the session run out, as the server and the browser see it."""
        self.page.context.clear_cookies(name=SESSION_COOKIE)

    def sign_in_again(self) -> None:
        self.page.goto(f"/#/sign-in/{self._sign_in(self._email)}")

    def on_writes(self, handle: Callable[[Route], None]) -> None:
        """Meddle with what is written from now on; reads pass."""

        def only_writes(route: Route) -> None:
            if route.request.method == "POST":
                handle(route)
            else:
                route.fallback()

        self.page.context.route(WRITES, only_writes)

    def count(self) -> Any:
        """The link in the header that tells how much waits here."""
        return self.page.get_by_role("banner").locator("a[href='#/outbox']")


def weigh(page: Page, gross_g: int) -> None:
    """Weigh the one container of the stop that is open, and take it along."""
    page.get_by_role("button", name="Weigh").click()
    expect(page.get_by_label("Scale", exact=True)).not_to_have_value("")
    page.get_by_label("On the scale (gross)").fill(f"{gross_g / 1000}")
    take_it_along(page)


def take_it_along(page: Page) -> None:
    """Take along what was weighed, and wait until that is kept."""
    page.get_by_role("button", name="Take it along").click()
    expect(page.get_by_role("button", name="Take it along")).to_have_count(0)


def arrive_at_next(page: Page) -> str:
    """Open the next stop and say so; return its name."""
    page.get_by_role("link", name="Open this stop").click()
    page.get_by_role("button", name="I have arrived").click()
    return page.get_by_role("heading", level=1).inner_text()
