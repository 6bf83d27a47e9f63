"""Everyone reads the app in a language of theirs, with figures as that language writes them."""

import re

from playwright.sync_api import Browser, Page, Request, expect

from tests.browser.people import PHONE


def _open(browser: Browser, server: str, path: str, locale: str) -> tuple[Page, list[str]]:
    """Open a page on a phone of this language; return it with the files it asks for."""
    context = browser.new_context(base_url=server, viewport=PHONE, locale=locale)
    page = context.new_page()
    asked: list[str] = []

    def note(request: Request) -> None:
        asked.append(request.url)

    context.on("request", note)
    page.goto(path)
    return page, asked


def _languages_fetched(asked: list[str]) -> set[str]:
    found = (re.search(r"/catalogue-([a-z]+)-", url) for url in asked)
    return {match[1] for match in found if match}


def test_a_german_browser_gets_german_and_fetches_nothing_else(
    browser: Browser, server: str
) -> None:
    page, asked = _open(browser, server, "/", "de-DE")
    expect(page.get_by_role("link", name="Eine Sammlung anmelden")).to_be_visible()
    assert page.locator("html").get_attribute("lang") == "de"
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    kept = page.evaluate(
        "caches.open('millrace-words').then(c => c.keys()).then(k => k.map(r => r.url))"
    )
    assert _languages_fetched(asked) == _languages_fetched(kept) == {"de"}
    page.context.close()


def test_the_language_is_changed_by_hand_and_kept(browser: Browser, server: str) -> None:
    page, _ = _open(browser, server, "/", "de-DE")
    page.get_by_role("button", name="English").click()
    expect(page.get_by_role("link", name="Register a collection")).to_be_visible()
    page.reload()
    expect(page.get_by_role("link", name="Register a collection")).to_be_visible()
    assert page.locator("html").get_attribute("lang") == "en"
    expect(page.get_by_role("button", name="English")).to_have_attribute("aria-pressed", "true")
    page.context.close()


def test_a_decimal_comma_is_taken_and_the_server_told_which_language_is_read(
    browser: Browser, server: str, links: dict[str, str]
) -> None:
    page, _ = _open(browser, server, "/", "de-DE")
    with page.expect_response(lambda answer: answer.request.method == "PATCH") as told:
        page.goto(links["maker"])
    assert told.value.ok
    assert told.value.request.post_data_json == {"language": "de"}
    expect(page.get_by_role("heading", level=1, name="Was wartet, und wo")).to_be_visible()
    page.goto("/#/making/scales")
    page.get_by_text("Waage hinzufügen").click()
    page.get_by_label("Name").fill("Hakenwaage")
    page.get_by_label("Höchstlast (Max)").fill("12,5")
    page.get_by_label("Eichwert (e)").fill("0,005")
    page.get_by_role("button", name="Speichern").click()
    expect(page.get_by_text(re.compile(r"Bis 12,5.kg, in Schritten von 5.g"))).to_be_visible()
    page.goto("/#/making/vehicles")
    page.get_by_role("button", name="Grey van").click()
    cost = page.get_by_label("Kosten eines Kilometers")
    expect(cost).to_have_value("0,40")
    cost.fill("0,55")
    page.get_by_role("button", name="Speichern").click()
    expect(page.get_by_text(re.compile(r"0,55.£ je Kilometer"))).to_be_visible()
    page.context.close()
