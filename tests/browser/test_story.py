"""The three jobs in one story, through the screens only, at the size of a phone.

Two schools register a cap collection, a maker books a route and brings it home, and the organiser
reports the diverted kilograms: to the gram what was weighed less what was turned away.
"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import holidays
from playwright.sync_api import Page, expect

from tests.browser.driving import weigh
from tests.browser.people import People, all_arrived

TARE_G = 150
GROSS_G = {"Hill School": 7_840, "Bay School": 5_260}
SATURDAY = 5


def test_from_a_registered_cap_collection_to_reported_kilograms(
    people: People, links: dict[str, str]
) -> None:
    organiser = people.open(links["organiser"])
    hill = _a_school_registers(people, _invite_a_school(organiser, "Hill School"), east=0.004)
    bay = _a_school_registers(people, _invite_a_school(organiser, "Bay School"), east=0.009)
    _says_it_is_full_and_asks(hill)
    _says_it_is_full_and_asks(bay)

    maker = people.open(links["maker"])
    _books_a_route(maker)
    hill.reload()
    expect(hill.get_by_role("heading", name="We come")).to_be_visible()
    _drives_it(maker)
    _turns_away_at_inspection(maker, "Bay School")

    hill.reload()
    expect(hill.get_by_text("7.69 kg").first).to_be_visible()
    bay.reload()
    expect(bay.get_by_text("Turned away").first).to_be_visible()

    weighed_g = sum(gross_g - TARE_G for gross_g in GROSS_G.values())
    turned_away_g = GROSS_G["Bay School"] - TARE_G
    _go(organiser, "Report")
    diverted_g = weighed_g - turned_away_g
    expect(organiser.get_by_text(f"{diverted_g / 1000:g} kg", exact=True)).to_be_visible()
    assert _total_under(organiser, "Diverted") == f"{diverted_g / 1000:.3f}"
    assert _total_under(organiser, "Collected") == f"{weighed_g / 1000:.3f}"
    assert _total_under(organiser, "Turned away") == f"{turned_away_g / 1000:.3f}"


def _total_under(page: Page, column: str) -> str:
    """Return the figure in the table's last row under a heading."""
    headings = page.get_by_role("columnheader").all_inner_texts()
    cells = page.get_by_role("row", name="Total").locator("th, td").all_inner_texts()
    return cells[headings.index(column)].strip()


def _go(page: Page, name: str) -> None:
    page.get_by_role("navigation").get_by_role("link", name=name, exact=True).click()


def _next(page: Page) -> None:
    page.get_by_role("button", name="Next").click()


def _invite_a_school(organiser: Page, name: str) -> str:
    """Return the path of the link that the organiser is shown once."""
    _go(organiser, "Overview")
    organiser.get_by_role("link", name="Invite someone").click()
    organiser.get_by_label("Name of the school, shop or firm").fill(name)
    organiser.get_by_label("What kind of place is it?").select_option(label="School")
    organiser.get_by_role("button", name="Make the link").click()
    expect(organiser.get_by_text("The invitation is ready.")).to_be_visible()
    link = organiser.get_by_role("link", name="/#/join/").get_attribute("href") or ""
    return link[link.index("/#/join/") :]


def _a_school_registers(people: People, link: str, *, east: float) -> Page:
    """Join by the link and go through the steps; a pin would do as well as the coordinates."""
    page = people.open(link)
    page.get_by_label("Your name").fill("Caretaker")
    page.get_by_label("E-mail address").fill(f"caretaker{east}@school.example")
    page.get_by_role("button", name="Accept and go on").click()
    page.get_by_role("radio", name="School").check()
    _next(page)
    page.get_by_label("Address").fill("2 Long Row")
    page.get_by_label("District").select_option(label="Harbour")
    page.get_by_label("Latitude (degrees north)").fill("45.001")
    page.get_by_label("Longitude (degrees east)").fill(str(-30 + east))
    _next(page)
    page.get_by_role("button", name="School day").click()
    _next(page)
    page.get_by_role("radio", name="Bottle caps").check()
    expect(page.get_by_text("What the first pickup depends on")).to_be_visible()
    _next(page)
    page.get_by_label("What will you have most of?").select_option(label="Bottle cap")
    page.get_by_role("radio", name="Bag").check()
    page.get_by_role("button", name="60 l", exact=False).click()
    page.get_by_label("Weighs when empty").fill(str(TARE_G / 1000))
    _next(page)
    page.get_by_role("button", name="Send").click()
    expect(page.get_by_role("heading", name="What to keep")).to_be_visible()
    return page


def _says_it_is_full_and_asks(page: Page) -> None:
    page.get_by_role("button", name="Say how full it is").click()
    page.get_by_role("button", name="Full", exact=True).click()
    expect(page.get_by_text("Thank you, noted: Full.")).to_be_visible()
    page.get_by_role("button", name="Ask for a pickup").click()
    page.get_by_role("button", name="Ask for it").click()
    expect(page.get_by_text("You asked for a pickup.")).to_be_visible()
    all_arrived(page)


def _days_until_a_school_is_open() -> int:
    today = datetime.now(ZoneInfo("Europe/London")).date()
    closed = holidays.country_holidays("GB", subdiv="ENG", years=[today.year, today.year + 1])

    def is_open(day: date) -> bool:
        return day.weekday() < SATURDAY and day not in closed

    return next(n for n in range(1, 7) if is_open(today + timedelta(days=n)))


def _books_a_route(maker: Page) -> None:
    _go(maker, "Plan")
    days = maker.get_by_role("group", name="Days").get_by_role("checkbox")
    expect(days.first).to_be_visible()
    for number in range(days.count()):
        days.nth(number).set_checked(number == _days_until_a_school_is_open())
    maker.get_by_role("button", name="Propose routes").click()
    expect(maker.get_by_text("Hill School").first).to_be_visible()
    expect(maker.get_by_text("Bay School").first).to_be_visible()
    maker.get_by_role("button", name="Book this route").click()
    expect(maker.get_by_role("heading", name="Planned and under way")).to_be_visible()


def _drives_it(maker: Page) -> None:
    """Work down the stops, in whichever order the plan has them."""
    maker.get_by_role("link", name="Grey van").click()
    maker.get_by_role("link", name="Drive this route").click()
    maker.get_by_role("button", name="Start the route").click()
    for _stop in GROSS_G:
        maker.get_by_role("link", name="Open this stop").click()
        maker.get_by_role("button", name="I have arrived").click()
        school = maker.get_by_role("heading", level=1).inner_text()
        weigh(maker, GROSS_G[school])
        expect(maker.get_by_text(f"{(GROSS_G[school] - TARE_G) / 1000:.2f} kg")).to_be_visible()
        maker.get_by_role("button", name="Finish this stop").click()
    expect(maker.get_by_text("All stops are settled.")).to_be_visible()
    maker.get_by_role("button", name="Finish the route").click()
    expect(maker.get_by_text("This route is done.")).to_be_visible()
    all_arrived(maker)


def _turns_away_at_inspection(maker: Page, school: str) -> None:
    _go(maker, "Store")
    maker.get_by_role("link", name=school).click()
    maker.get_by_text("Inspect", exact=True).click()
    maker.get_by_role("checkbox", name="Rinsed").check()
    maker.get_by_role("radio", name="Back to the place").check()
    maker.get_by_role("button", name="Keep this inspection").click()
    expect(maker.get_by_text("Turned away").first).to_be_visible()
