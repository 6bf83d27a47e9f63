"""The people of a story in the browser, each with a phone."""

from playwright.sync_api import Browser, Page, ViewportSize, expect

PHONE = ViewportSize(width=360, height=800)
# Machines that also run other things are slow to draw; what must hold is what comes, not when.
PATIENCE_MS = 30_000
expect.set_options(timeout=PATIENCE_MS)
# What the header shows comes a moment after what is kept.
ALL_ARRIVED = """async () => {
  const answer = (asked) => new Promise((done) => (asked.onsuccess = () => done(asked.result)))
  const database = await answer(indexedDB.open('millrace'))
  const actions = await answer(database.transaction('actions').objectStore('actions').getAll())
  database.close()
  return actions.every(({ state }) => state === 'arrived')
}"""


class People:
    """Each person has a phone of their own."""

    def __init__(self, browser: Browser, address: str) -> None:
        self._browser, self._address = browser, address
        self.pages: list[Page] = []

    def open(self, path: str, *, script: str = "") -> Page:
        """Open a page on a new phone, with nothing kept from before.

        The script runs before any page's own, to stand in for what the phone has.
        """
        context = self._browser.new_context(
            base_url=self._address,
            viewport=PHONE,
            has_touch=True,
            is_mobile=True,
            locale="en-GB",
            timezone_id="Europe/London",
        )
        context.add_init_script(script)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.goto(path)
        self.pages.append(page)
        return page


def all_arrived(page: Page) -> None:
    """Wait until all that was kept on this phone has arrived, and the header says so."""
    page.wait_for_function(ALL_ARRIVED, timeout=3 * PATIENCE_MS)
    count = page.get_by_role("banner").locator("a[href='#/outbox']")
    expect(count).to_have_text("Everything has arrived.", timeout=3 * PATIENCE_MS)
