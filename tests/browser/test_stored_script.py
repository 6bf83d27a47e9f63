"""Markup in every text there is, on every screen there is: nothing runs, and it reads as text."""

import json
import re

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import run_program
from tests.browser.people import People
from tests.browser.screens import EVERYONE, PUBLIC, go_to, screens_of, wait_for_screen

# Some of what must have been met, so that the walk is one through full screens.
MET = {
    "notices_notice.title",
    "notices_notice.paragraphs",
    "people_organisation.name",
    "people_district.name",
    "people_user.name",
    "places_place.name",
    "places_place.address",
    "places_place.access_notes",
    "materials_stream.name",
    "materials_stream.summary",
    "pickups_vehicle.name",
    "workshop_recipe.name",
    "workshop_batch.name",
    "workshop_productrun.name",
    "workshop_press.name",
    "workshop_namedcolour.name",
    "lots_scale.name",
}
WATCH = """
window.met = []
window.ran = () => met.push('a script ran')
addEventListener('securitypolicyviolation', (e) => met.push(e.violatedDirective))
"""
UNFOLD = "for (const folded of document.querySelectorAll('details')) folded.open = true"


@pytest.fixture
def scripted(environment: dict[str, str]) -> dict[str, dict[str, str]]:
    """Ways in, and what fills the names in addresses."""
    said = run_program(["-m", "tests.browser.scripted"], environment)
    told: dict[str, dict[str, str]] = json.loads(said.splitlines()[-1])
    return told


@pytest.fixture
def links(scripted: dict[str, dict[str, str]]) -> dict[str, str]:
    return {who: f"/#/sign-in/{token}" for who, token in scripted["ways_in"].items()}


def come_in(people: People, links: dict[str, str], who: str) -> Page:
    page = people.open("/")
    page.add_init_script(WATCH)
    page.goto("/")
    if who != PUBLIC:
        page.goto(links[who])
        page.wait_for_url(lambda url: "sign-in" not in url)
    wait_for_screen(page)
    return page


def look_at(page: Page, path: str) -> set[str]:
    """Go to a screen, unfold it, and return which columns are read on it, as text."""
    go_to(page, path)
    page.evaluate(UNFOLD)
    assert page.locator("x-s, img[src='x']").count() == 0, f"{path}: markup became an element"
    assert page.evaluate("met") == [], path
    return set(re.findall(r"<x-s>\d+ (\w+\.\w+)<img", page.locator("body").inner_text()))


def test_markup_in_any_text_is_read_as_text_on_every_screen(
    people: People, links: dict[str, str], scripted: dict[str, dict[str, str]]
) -> None:
    read: set[str] = set()
    for who in (PUBLIC, *EVERYONE):
        page = come_in(people, links, who)
        for address in screens_of(who, scripted["addresses"]).values():
            read |= look_at(page, address)
    assert read >= MET, sorted(MET - read)
