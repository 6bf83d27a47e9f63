"""The app can be installed, opens without a connection, and shows nobody's data to a stranger."""

import json

from playwright.sync_api import expect

from tests.browser.people import People


def test_the_shell_opens_without_a_connection(people: People) -> None:
    page = people.open("/")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    # The service worker has to be in charge before the connection is lost.
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.wait_for_function("navigator.serviceWorker.controller !== null")

    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("banner")).to_be_visible()
    expect(page.get_by_text("No connection", exact=True)).to_be_visible()

    page.context.set_offline(False)
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("heading", level=1)).to_be_visible()


def test_the_app_can_be_installed(people: People) -> None:
    page = people.open("/")
    href = page.locator("link[rel=manifest]").get_attribute("href") or ""
    manifest = json.loads(page.request.get(href).text())
    assert manifest["display"] == "standalone"
    sizes = {icon["sizes"] for icon in manifest["icons"]}
    assert {"192x192", "512x512"} <= sizes
    assert any("maskable" in icon.get("purpose", "") for icon in manifest["icons"])


def test_nothing_scrolls_sideways_on_a_small_phone(people: People, links: dict[str, str]) -> None:
    page = people.open(links["organiser"])
    for path in ("/#/organising", "/#/organising/report", "/#/organising/import", "/#/cautions"):
        page.goto(path)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        wider = page.evaluate(
            "document.documentElement.scrollWidth > document.documentElement.clientWidth"
        )
        assert not wider, path
