"""Two phones on one route, both without a signal for a while: nothing weighed is lost."""

from collections.abc import Callable

from playwright.sync_api import expect

from tests.browser.driving import Booked, Phone, weigh
from tests.browser.people import People, all_arrived

TARE_G = 150
FIRST_G, SECOND_G, THIRD_G, THIRD_AGAIN_G = 7_840, 5_260, 3_380, 3_400


def work(phone: Phone, booked: Booked, index: int, gross_g: int, *, finish: bool = True) -> None:
    """Arrive at one stop, weigh its container, and finish there."""
    page = phone.page
    page.goto(f"/#/driving/{booked.route}/{booked.pickups[index]}")
    page.get_by_role("button", name="I have arrived").click()
    weigh(page, gross_g)
    expect(page.get_by_role("button", name="Finish this stop")).to_be_enabled()
    if finish:
        page.get_by_role("button", name="Finish this stop").click()
        expect(page.get_by_role("heading", name="3 stops")).to_be_visible()


def test_two_devices_agree_and_of_two_weighings_of_one_container_the_second_needs_you(
    driver: Phone,
    booked: Booked,
    people: People,
    sign_in: Callable[[str], str],
    ledger: Callable[[], list[int]],
) -> None:
    driver.page.get_by_role("button", name="Start the route").click()
    all_arrived(driver.page)
    other = Phone(people, sign_in, booked.maker)
    other.take_along(booked.route)
    driver.cut()
    other.cut()
    work(driver, booked, 0, FIRST_G)
    work(other, booked, 1, SECOND_G)
    work(driver, booked, 2, THIRD_G, finish=False)
    work(other, booked, 2, THIRD_AGAIN_G)
    assert ledger() == []

    driver.back()
    all_arrived(driver.page)
    assert ledger() == sorted([FIRST_G - TARE_G, THIRD_G - TARE_G])
    other.back()
    expect(other.count()).to_have_text("1 needs you")
    one_weighing_each = sorted([FIRST_G - TARE_G, SECOND_G - TARE_G, THIRD_G - TARE_G])
    assert ledger() == one_weighing_each

    page = other.reopen("/#/outbox")
    expect(page.get_by_text("Taken along: 3.25 kg").first).to_be_visible()
    expect(page.get_by_text("This container is collected already.").first).to_be_visible()
    page.goto(f"/#/driving/{booked.route}/{booked.pickups[2]}")
    expect(page.get_by_text("3.23 kg").first).to_be_visible()
    page.get_by_role("button", name="Discard", exact=True).click()
    page.get_by_role("button", name="Discard for good").click()
    all_arrived(page)

    driver.page.reload()
    driver.page.goto(f"/#/driving/{booked.route}")
    driver.page.get_by_role("button", name="Finish the route").click()
    all_arrived(driver.page)
    expect(driver.page.get_by_text("This route is done.")).to_be_visible()
    assert ledger() == one_weighing_each
