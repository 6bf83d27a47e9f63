"""Markup in every text there is, on every screen there is: nothing runs, and it reads as text."""

import json
import re
from pathlib import Path
from urllib.parse import quote

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import run_program
from tests.browser.people import People

ROUTES = Path(__file__).resolve().parents[2] / "frontend" / "src" / "routes.ts"
# What stands for a hole in an address, by the part before it.
HOLES = {
    "places/:id": "place",
    "rules/:agreement": "agreement",
    "proposals/:id": "proposal",
    "routes/:id": "route",
    "driving/:route": "route",
    ":route/:pickup": "pickup",
    "lots/:id": "lot",
    "streams/:id": "stream",
    "recipes/:id": "recipe",
    "batches/:id": "batch",
    "pressings/:batch": "batch",
    ":batch/:id": "pressing",
    "products/:id": "product",
    "passport/:slug": "passport",
    "t/:tag": "tag",
    "bring/:community": "community",
    "register/:community": "community",
    "join/:token": "invitation",
    "sign-in/:token": "invitation",
    "process/:kind": "process",
}
WHO = {"places": "contact", "driving": "driver", "making": "maker", "movements": "maker"}
WHO |= {"organising": "organiser", "account": "organiser", "notices": "contact", "t": "contact"}
NOBODY = "nobody"
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
    "workshop_colour.name",
    "lots_scale.name",
}
WATCH = """
window.met = []
window.ran = () => met.push('a script ran')
addEventListener('securitypolicyviolation', (e) => met.push(e.violatedDirective))
"""
UNFOLD = "for (const folded of document.querySelectorAll('details')) folded.open = true"


def screens() -> list[str]:
    """Return the address of every screen, with its holes."""
    return re.findall(r"^  '(/[^']*)':", ROUTES.read_text(), re.MULTILINE)


def address(screen: str, holes: dict[str, str]) -> str:
    parts = screen.split("/")
    return "/".join(
        quote(holes[HOLES[f"{before}/{part}"]], safe="") if part.startswith(":") else part
        for before, part in zip(["", *parts], parts, strict=False)
    )


def who_goes(screen: str) -> str:
    return WHO.get(screen.split("/")[1], NOBODY)


@pytest.fixture
def scripted(environment: dict[str, str]) -> dict[str, dict[str, str]]:
    """Ways in, and what stands for the holes in addresses."""
    run_program(["-m", "api.server", "migrate"], environment)
    said: dict[str, dict[str, str]] = json.loads(
        run_program(["-m", "tests.browser.scripted"], environment).splitlines()[-1]
    )
    said["holes"]["process"] = "wash"
    return said


@pytest.fixture
def links(scripted: dict[str, dict[str, str]]) -> dict[str, str]:
    return {who: f"/#/sign-in/{token}" for who, token in scripted["ways_in"].items()}


def come_in(people: People, links: dict[str, str], who: str) -> Page:
    page = people.open("/")
    page.add_init_script(WATCH)
    page.goto("/")
    if who != NOBODY:
        page.goto(links[who])
        page.wait_for_url(lambda url: "sign-in" not in url)
    expect(page.locator("main h1")).to_be_visible()
    return page


def look_at(page: Page, path: str) -> set[str]:
    """Go to a screen, unfold it, and return which columns are read on it, as text."""
    page.evaluate("document.querySelector('main h1')?.setAttribute('data-before', '')")
    page.evaluate("(path) => { location.hash = path }", path)
    page.locator("main h1:not([data-before])").first.wait_for()
    expect(page.locator("main .waiting")).to_have_count(0)
    page.evaluate(UNFOLD)
    page.wait_for_timeout(100)
    assert page.locator("x-s, img[src='x']").count() == 0, f"{path}: markup became an element"
    assert page.evaluate("met") == [], path
    return set(re.findall(r"<x-s>\d+ (\w+\.\w+)<img", page.locator("body").inner_text()))


def test_markup_in_any_text_is_read_as_text_on_every_screen(
    people: People, links: dict[str, str], scripted: dict[str, dict[str, str]]
) -> None:
    read: set[str] = set()
    for who in [*links, NOBODY]:
        page = come_in(people, links, who)
        for screen in screens():
            if who_goes(screen) == who:
                read |= look_at(page, address(screen, scripted["holes"]))
    assert read >= MET, sorted(MET - read)
