"""No screen breaks a rule of WCAG 2.2 AA that a machine can see, in any look or language.

axe-core holds the rules. Each screen is looked at for each person with data and, where there can
be none yet, without; in a light and a dark look; in English and in German; with names as long as
names get, on a phone, a tablet and a desk. A new screen is looked at as soon as the router
knows it.
"""

import json
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from playwright.sync_api import Page, Request, Route
from playwright.sync_api import TimeoutError as NotThere

from api.server.installation import FRONTEND
from tests.browser.people import PHONE
from tests.browser.screens import EVERYONE, NO_DATA, PUBLIC, go_to, screens_of, wait_for_screen

AXE = FRONTEND / "node_modules" / "axe-core" / "axe.min.js"
WORDS = FRONTEND / "src" / "messages" / "en"

# Once for what a screen shows, and once more where its address or what is kept has changed.
ASKED_MAX = 2
# Asked about until it is found.
WATCHED = "/proposals/"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUN = """async (options) => {
  const found = await axe.run(document, options)
  return found.violations.flatMap(({ id, nodes }) =>
    nodes.map(({ html, any }) => `${id}: ${html.slice(0, 160)} ${any[0]?.message ?? ''}`))
}"""
WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
# The desk first, so that the rest is looked at on the phone.
WIDTHS_PX = (1280, 768, PHONE["width"])
# As long as a German word may be, and no place in it to break.
LONG_NAME = "Quellenbachmühlensammelstellenverwaltungsgemeinschaftshauptgebäudenebeneingang"


@pytest.fixture
def world() -> str:
    return "tests.browser.screens_world"


@pytest.fixture
def keys() -> set[str]:
    """The keys of the catalogue, none of which is for people's eyes."""
    files = [json.loads(path.read_text()) for path in WORDS.glob("*.json")]
    return {key for file in files for key in file}


@pytest.fixture
def page_of(phone_of: Callable[..., Page]) -> Callable[[str], Page]:
    """Open the app as somebody, with what looks at it, and names as long as they get."""

    def open_as(person: str) -> Page:
        page = phone_of(person, script=AXE)
        page.context.route("**/api/v1/communities/**", _with_long_names)
        return page

    return open_as


def _with_long_names(route: Route) -> None:
    """Answer as the server does, but for names, which are as long as names get."""
    if route.request.method != "GET":
        route.continue_()
        return
    answer = route.fetch()
    if "application/json" in answer.headers.get("content-type", ""):
        route.fulfill(response=answer, json=_lengthened(answer.json()))
    else:
        route.fulfill(response=answer)


def _lengthened(told: Any) -> Any:
    if isinstance(told, list):
        return [_lengthened(one) for one in told]
    if not isinstance(told, dict):
        return told
    return {
        key: f"{value}{LONG_NAME}"
        if key == "name" and isinstance(value, str)
        else _lengthened(value)
        for key, value in told.items()
    }


def test_every_screen_is_accessible(
    page_of: Callable[[str], Page], addresses: dict[str, str], keys: set[str]
) -> None:
    faults: list[str] = []
    for person in (PUBLIC, *EVERYONE, *NO_DATA):
        page = page_of(person)
        for language in ("en", "de"):
            page.evaluate(f"localStorage.setItem('millrace.language', '{language}')")
            page.reload()
            wait_for_screen(page)
            for pattern, address in screens_of(person, addresses).items():
                where = f"{person} at {pattern} in {language}"
                found = _faults_at(page, address, language, keys)
                faults += [f"{where}: {fault}" for fault in found]
    assert not faults, "\n".join(faults)


@contextmanager
def _asked_by(page: Page) -> Iterator[Counter[str]]:
    """Count what is asked of the server, by its address."""
    asked: Counter[str] = Counter()

    def note(request: Request) -> None:
        if request.method == "GET" and "/api/" in request.url:
            asked[request.url] += 1

    page.on("request", note)
    yield asked
    page.remove_listener("request", note)


def _faults_at(page: Page, address: str, language: str, keys: set[str]) -> list[str]:
    """Go to a screen and return what is wrong with it."""
    with _asked_by(page) as asked:
        try:
            go_to(page, address)
        except NotThere:
            return ["it does not come"]
        faults = _faults_seen(page, language, keys)
    again = [url for url, times in asked.items() if times > ASKED_MAX and WATCHED not in url]
    return faults + [f"it asks again and again: {url}" for url in again]


def _faults_seen(page: Page, language: str, keys: set[str]) -> list[str]:
    faults = _too_wide(page)
    words = set(page.locator("body").inner_text().split())
    faults += [f"a word is missing: {key}" for key in keys & words]
    faults += page.evaluate(RUN, {"runOnly": {"type": "tag", "values": RULES}})
    if language == "en":
        faults += [f"dark: {fault}" for fault in _dark(page)]
    return faults


def _too_wide(page: Page) -> list[str]:
    """Say at which widths a screen scrolls sideways."""
    faults = []
    for width_px in WIDTHS_PX:
        page.set_viewport_size({"width": width_px, "height": PHONE["height"]})
        if page.evaluate(WIDE):
            faults.append(f"it scrolls sideways at {width_px} px")
    return faults


def _dark(page: Page) -> list[str]:
    """Only colours change with the look, so only their rules are asked again."""
    page.evaluate("document.documentElement.dataset.theme = 'dark'")
    only = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
    found: list[str] = page.evaluate(RUN, only)
    page.evaluate("document.documentElement.dataset.theme = 'light'")
    return found
