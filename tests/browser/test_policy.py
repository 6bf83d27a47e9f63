"""The built app lives within what its server lets browsers load and run."""

import pytest
from playwright.sync_api import Browser

PAGES = {
    "organiser": ["/organising", "/organising/places", "/organising/report", "/organising/import"],
    "maker": ["/making", "/making/plan", "/making/routes", "/making/lots", "/making/streams"],
}
PUBLIC = ["/", "/sign-in", "/register", "/bring", "/cautions"]


@pytest.mark.parametrize("who", PAGES)
def test_no_screen_needs_what_the_policy_forbids(
    browser: Browser, server: str, links: dict[str, str], who: str
) -> None:
    page = browser.new_page()
    forbidden: list[str] = []

    def note(what: str) -> None:
        forbidden.append(what)

    page.expose_function("noteForbidden", note)
    page.add_init_script(
        "addEventListener('securitypolicyviolation',"
        " (event) => noteForbidden(`${event.violatedDirective} ${event.blockedURI}`))"
    )
    for path in PUBLIC:
        page.goto(f"{server}/#{path}")
        page.locator("main, h1").first.wait_for()
    page.goto(server + links[who])
    page.wait_for_url(lambda url: "sign-in" not in url)
    for path in PAGES[who]:
        page.goto(f"{server}/#{path}")
        page.locator("h1").first.wait_for()
        page.wait_for_load_state("networkidle")
    # The policy is in force: a style written into the page is stopped, and seen to be.
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<style>p{color:red}</style>')")
    page.wait_for_timeout(200)
    page.context.close()
    assert forbidden == ["style-src-elem inline"]
