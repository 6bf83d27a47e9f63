"""A maker plans a week, understands it, changes it by hand, and replans after a breakdown.

By the screens only, at the size of a phone.
"""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.people import People

CAFES = ("North Café", "East Café", "South Café")


@pytest.fixture
def world() -> str:
    return "tests.browser.planning_world"


def test_a_week_is_planned_understood_changed_and_saved_after_a_breakdown(
    people: People, links: dict[str, str]
) -> None:
    maker = people.open(links["maker"])
    _plans_a_week(maker)
    _sees_why_a_place_waits(maker)
    _asks_what_if_a_place_were_closed(maker)
    _moves_a_stop_and_sees_what_it_costs(maker)
    maker.get_by_role("button", name="Book ").click()
    expect(maker.get_by_role("heading", name="Planned and under way")).to_be_visible()
    _replans_after_a_breakdown(maker, broken=_sets_out(maker))


def _plans_a_week(maker: Page) -> None:
    maker.get_by_role("navigation").get_by_role("link", name="Plan", exact=True).click()
    days = maker.get_by_role("group", name="Days").get_by_role("checkbox")
    expect(days.first).to_be_visible()
    # Five days: in a week that begins on a Tuesday even what is far and nearly empty fills.
    for number in range(1, 6):
        days.nth(number).check()
    days.nth(0).uncheck()
    maker.get_by_text("Places that must").click()
    must = maker.get_by_role("group", name="Visit in any case")
    for name in CAFES:
        must.get_by_role("checkbox", name=name).check()
    maker.get_by_role("button", name="Propose routes").click()
    for name in CAFES:
        expect(maker.get_by_text(name).first).to_be_visible()


def _sees_why_a_place_waits(maker: Page) -> None:
    """It is nearly empty and far: the figures add up to less than the stop would cost."""
    maker.get_by_text("Left out: 1 place").click()
    left = maker.get_by_role("listitem").filter(has=maker.get_by_text("Far Café", exact=True))
    expect(left.get_by_text("The cheapest visit", exact=False)).to_be_visible()
    left.get_by_text("The figures behind it").click()
    costs = left.get_by_role("table", name="What a stop on")
    worth = left.get_by_role("table", name="What the visit is worth")
    assert _sum_of(costs) > _sum_of(worth)
    assert maker.evaluate("document.documentElement.scrollWidth") <= 360


def _sum_of(table: Locator) -> float:
    """Return the sum in a table's last row, which the rows above must add up to."""
    cells = table.get_by_role("cell").all_inner_texts()
    return float(cells[-1].lstrip("+").replace("£", ""))


def _asks_what_if_a_place_were_closed(maker: Page) -> None:
    maker.get_by_text("What if …?").click()
    maker.get_by_label("What would be otherwise").select_option(label="A place is closed")
    maker.get_by_label("Place", exact=True).select_option(label="North Café")
    maker.get_by_role("button", name="Work it out").click()
    answer = maker.get_by_role("table", name="What would come of it")
    places = answer.get_by_role("row", name="Places").get_by_role("cell")
    expect(places).to_have_text(["2", "−1"])
    expect(maker.get_by_text("No longer visited: North Café")).to_be_visible()
    expect(maker.get_by_role("button", name="Plan it this way")).to_be_visible()
    assert maker.evaluate("document.documentElement.scrollWidth") <= 360


def _moves_a_stop_and_sees_what_it_costs(maker: Page) -> None:
    """Onto a day of its own: another van goes out for it."""
    stop = maker.get_by_role("listitem").filter(has=maker.get_by_text("North Café", exact=True))
    stop.get_by_text("Move to another van or day").click()
    stop.get_by_label("Where North Café goes").select_option(index=1)
    stop.get_by_role("button", name="Move it").click()
    change = maker.get_by_role("table", name="What your change does")
    cost = change.get_by_role("row", name="Cost of all routes").get_by_role("cell")
    expect(cost).to_have_count(2)
    assert all(text.startswith("+£") for text in cost.all_inner_texts())
    expect(change.get_by_role("row", name="Days with a full container")).to_be_visible()


def _sets_out(maker: Page) -> str:
    """Start the first route, and return the name of its van."""
    first = maker.get_by_role("link", name=re.compile("Grey van|Blue van")).first
    van = "Grey van" if "Grey van" in first.inner_text() else "Blue van"
    first.click()
    maker.get_by_role("link", name="Drive this route").click()
    maker.get_by_role("button", name="Start the route").click()
    expect(maker.get_by_role("link", name="Open this stop")).to_be_visible()
    return van


def _replans_after_a_breakdown(maker: Page, *, broken: str) -> None:
    other = "Blue van" if broken == "Grey van" else "Grey van"
    driven = maker.url
    address = driven.replace("/driving/", "/making/routes/")
    maker.goto(address)
    maker.get_by_text("Plan the rest of the day anew").click()
    maker.get_by_role("checkbox", name="This van cannot go on").check()
    maker.get_by_role("checkbox", name=other).check()
    maker.get_by_role("button", name="Propose the rest of the day").click()
    expect(maker.get_by_role("heading", name="Rest of the day")).to_be_visible()
    expect(maker.get_by_role("heading", name=other, exact=False)).to_be_visible()
    maker.get_by_role("button", name="Put this plan in force").click()
    expect(maker.get_by_role("heading", name="Planned and under way")).to_be_visible()
    expect(maker.get_by_role("link", name=other).first).to_be_visible()
    maker.goto(address)
    expect(maker.get_by_text("Called off").first).to_be_visible()
    _driver_sees_what_was_taken_away(maker, driven)


def _driver_sees_what_was_taken_away(driver: Page, address: str) -> None:
    """Once: what the driver has seen is no news when the route is opened again."""
    changed = driver.get_by_text("This route has changed")
    driver.goto(address)
    expect(changed).to_be_visible()
    expect(driver.get_by_text("is no longer on it").first).to_be_visible()
    driver.get_by_role("button", name="I have seen it").click()
    expect(changed).to_be_hidden()
    driver.reload()
    expect(driver.get_by_text("0 stops").first).to_be_visible()
    expect(changed).to_be_hidden()
