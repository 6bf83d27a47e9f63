"""A driver and a contact work where there is no signal: each thing arrives once, to the gram."""

import json
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.driving import Booked, Phone, arrive_at_next, take_it_along, weigh
from tests.browser.people import People, all_arrived

TARE_G = 150
GROSS_G = [7_840, 5_260, 3_380]


def _drive(phone: Phone, route: str, gross_g: int) -> None:
    arrive_at_next(phone.page)
    weigh(phone.page, gross_g)
    expect(phone.page.get_by_text(f"{(gross_g - TARE_G) / 1000:.2f} kg").first).to_be_visible()
    phone.page.get_by_role("button", name="Finish this stop").click()
    expect(phone.page.get_by_role("heading", name="3 stops")).to_be_visible()


def _finish(page: Page) -> None:
    page.get_by_role("button", name="Finish the route").click()
    expect(page.get_by_text("This route is done.")).to_be_visible()


def _net(gross_g: list[int]) -> list[int]:
    return sorted(each_g - TARE_G for each_g in gross_g)


def test_a_whole_route_is_driven_without_a_signal_and_arrives_once(
    driver: Phone, booked: Booked, ledger: Callable[[], list[int]]
) -> None:
    driver.cut()
    driver.page.get_by_role("button", name="Start the route").click()
    _drive(driver, booked.route, GROSS_G[0])
    expect(driver.count()).to_have_text("4 kept here")

    page = driver.reopen(f"/#/driving/{booked.route}")
    expect(page.get_by_text("7.69 kg")).to_be_visible()
    _drive(driver, booked.route, GROSS_G[1])
    _drive(driver, booked.route, GROSS_G[2])
    expect(page.get_by_text("All stops are settled.")).to_be_visible()
    _finish(page)
    page.goto("/#/outbox")
    expect(page.get_by_text("Kept here", exact=True)).to_have_count(11)
    assert ledger() == []

    driver.back()
    all_arrived(driver.page)
    assert ledger() == _net(GROSS_G)
    assert len(driver.seen_by_server) == len(set(driver.seen_by_server)) == 11
    page = driver.reopen(f"/#/driving/{booked.route}")
    expect(page.get_by_text("This route is done.")).to_be_visible()


def test_a_place_that_asks_is_taken_on_without_a_signal(
    people: People, booked: Booked, sign_in: Callable[[str], str], ledger: Callable[[], list[int]]
) -> None:
    contact = Phone(people, sign_in, booked.contact)
    contact.page.get_by_role("button", name="Ask for a pickup").click()
    contact.page.get_by_role("button", name="Ask for it").click()
    expect(contact.page.get_by_text("You asked for a pickup.")).to_be_visible()
    all_arrived(contact.page)

    driver = Phone(people, sign_in, booked.driver)
    driver.take_along(booked.route)
    driver.cut()
    page = driver.page
    page.get_by_role("button", name="Start the route").click()
    page.get_by_text("Other places that ask").click()
    page.get_by_role("button", name="Take it on as well").click()
    page.get_by_role("button", name="I have arrived").click()
    weigh(page, GROSS_G[0])
    page.get_by_role("button", name="Finish this stop").click()
    expect(page.get_by_role("heading", name="4 stops")).to_be_visible()

    page = driver.reopen(f"/#/driving/{booked.route}")
    expect(page.get_by_text("7.69 kg")).to_be_visible()
    expect(driver.count()).to_have_text("5 kept here")
    driver.back()
    all_arrived(page)
    assert ledger() == _net(GROSS_G[:1])
    contact.page.reload()
    expect(contact.page.get_by_text("7.69 kg").first).to_be_visible()


def test_an_ailing_server_and_lost_replies_change_nothing_in_the_end(
    driver: Phone, booked: Booked, ledger: Callable[[], list[int]]
) -> None:
    fails = ["status", "lost", "arrives"]
    met: dict[str, int] = {}

    def ail(route: Route) -> None:
        """Each thing meets a fault of the server, then has its reply lost, then arrives."""
        key = route.request.headers["idempotency-key"]
        met[key] = met.get(key, 0) + 1
        match fails[min(met[key], len(fails)) - 1]:
            case "status":
                route.fulfill(status=500, body="broken")
            case "lost":
                route.fetch()
                route.abort()
            case _:
                route.continue_()

    driver.on_writes(ail)
    driver.page.get_by_role("button", name="Start the route").click()
    for gross_g in GROSS_G:
        _drive(driver, booked.route, gross_g)
    _finish(driver.page)
    all_arrived(driver.page)
    assert ledger() == _net(GROSS_G)
    assert set(met.values()) == {3}


def test_what_is_kept_outlives_the_session_and_the_page(
    driver: Phone, booked: Booked, ledger: Callable[[], list[int]]
) -> None:
    driver.cut()
    driver.page.get_by_role("button", name="Start the route").click()
    _drive(driver, booked.route, GROSS_G[0])
    driver.expire()
    driver.back()
    page = driver.page
    expect(page.get_by_text("Your sign-in has run out")).to_be_visible()
    expect(driver.count()).to_have_text("4 kept here")
    assert ledger() == []

    page = driver.reopen("/")
    expect(page.get_by_text("Your sign-in has run out")).to_be_visible()
    driver.sign_in_again()
    all_arrived(driver.page)
    assert ledger() == _net(GROSS_G[:1])
    expect(page.get_by_text("Your sign-in has run out")).to_be_hidden()


def test_a_refused_weighing_stays_until_it_is_put_right_and_the_rest_waits(
    driver: Phone, booked: Booked, ledger: Callable[[], list[int]]
) -> None:
    too_much_g = 61_000
    driver.cut()
    driver.page.get_by_role("button", name="Start the route").click()
    _drive(driver, booked.route, too_much_g)
    driver.back()
    expect(driver.count()).to_have_text("1 needs you")

    page = driver.reopen("/#/outbox")
    expect(page.get_by_text("Needs you", exact=True)).to_be_visible()
    expect(page.get_by_text("Waits for an earlier one")).to_have_count(1)
    expect(page.get_by_text("60.85 kg").first).to_be_visible()
    assert ledger() == []

    page.goto(f"/#/driving/{booked.route}/{booked.pickups[0]}")
    page.get_by_role("button", name="Weigh").click()
    expect(page.get_by_label("On the scale (gross)")).to_have_value("61")
    page.get_by_label("On the scale (gross)").fill("6.1")
    take_it_along(page)
    all_arrived(driver.page)
    assert ledger() == [6_100 - TARE_G]


def test_a_refused_thing_is_gone_only_when_the_person_is_sure(
    driver: Phone, booked: Booked, people: People, sign_in: Callable[[str], str]
) -> None:
    driver.cut()
    page = driver.page
    page.get_by_role("button", name="Start the route").click()
    arrive_at_next(page)
    other = Phone(people, sign_in, booked.maker)
    other.page.goto(f"/#/driving/{booked.route}")
    other.page.get_by_role("button", name="Start the route").click()
    other.page.get_by_role("link", name="Open this stop").click()
    other.page.get_by_role("button", name="I cannot stop here").click()
    other.page.get_by_role("radio", name="It is closed").check()
    other.page.get_by_role("button", name="Skip this stop").click()
    expect(other.page.get_by_role("button", name="Skip this stop")).to_have_count(0)
    all_arrived(other.page)

    driver.back()
    page.goto("/#/outbox")
    expect(page.get_by_text("This did not go through, and waits for you")).to_be_visible()
    page.get_by_role("button", name="Try again").click()
    expect(driver.count()).to_have_text("1 needs you")
    page.get_by_role("button", name="Discard", exact=True).click()
    expect(driver.count()).to_have_text("1 needs you")
    page.get_by_role("button", name="Discard for good").click()
    all_arrived(driver.page)


def test_a_contact_says_how_full_it_is_and_asks_without_a_signal(
    people: People, booked: Booked, sign_in: Callable[[str], str]
) -> None:
    phone = Phone(people, sign_in, booked.contact)
    page = phone.page
    expect(page.get_by_role("heading", name="What to keep")).to_be_visible()
    phone.cut()
    page = phone.reopen("/")
    page.get_by_role("button", name="Say how full it is").click()
    page.get_by_role("button", name="Half", exact=True).click()
    expect(page.get_by_text("Thank you, noted")).to_be_visible()
    page.get_by_role("button", name="Ask for a pickup").click()
    page.get_by_role("button", name="Ask for it").click()
    expect(page.get_by_text("You asked for a pickup.")).to_be_visible()
    expect(page.get_by_text("Kept here", exact=True)).to_have_count(2)
    expect(phone.count()).to_have_text("2 kept here")

    phone.back()
    all_arrived(phone.page)
    api = f"/api/v1/communities/{booked.community}/places/{booked.place}/"
    place = json.loads(page.request.get(api).text())
    assert place["agreements"][0]["containers"][0]["last_report"]["percent"] == 50
    assert place["next_visit"]["status"] == "asked"


@pytest.mark.parametrize(
    ("meddling", "words"),
    [
        (
            "indexedDB.open = () => { throw new DOMException('denied', 'SecurityError') }",
            "This device keeps nothing",
        ),
        (
            "navigator.storage.estimate = async () => ({ quota: 1e6, usage: 0 })",
            "This device is nearly full",
        ),
    ],
)
def test_a_device_without_room_says_so_before_work_starts(
    people: People, booked: Booked, sign_in: Callable[[str], str], meddling: str, words: str
) -> None:
    page = people.open("/")
    page.context.add_init_script(meddling)
    page.reload()
    page.goto(f"/#/sign-in/{sign_in(booked.driver)}")
    expect(page.get_by_role("heading", name="Routes to drive")).to_be_visible()
    page.goto(f"/#/driving/{booked.route}")
    expect(page.get_by_text(words)).to_be_visible()
    page.get_by_role("button", name="Start the route").click()
    expect(page.get_by_role("link", name="Open this stop")).to_be_visible()
