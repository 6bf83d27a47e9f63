"""Every screen of the app by its address, and who goes there, from the router's own list."""

import re

from playwright.sync_api import Page

from api.server.installation import FRONTEND

PUBLIC = "nobody"
EVERYONE = ("contact", "driver", "maker", "organiser")
# Whose screens begin with an address; the longest that fits is right.
WHOSE = {
    "/": (PUBLIC,),
    "/choose": ("maker",),
    "/account": EVERYONE,
    "/account/": ("maker",),
    "/notices": EVERYONE,
    "/outbox": EVERYONE,
    "/register": (PUBLIC, "contact"),
    "/t/": ("contact",),
    "/places": ("contact",),
    "/organising": ("organiser",),
    "/making": ("maker",),
    "/movements": ("maker", "organiser"),
    "/driving": ("driver",),
    "/*": (PUBLIC,),
}
NO_DATA = {
    "bare maker": ("/making", "/movements", "/driving", "/notices"),
    "bare organiser": ("/organising", "/movements", "/notices"),
}

# A screen says that it is there by a heading that was not there before.
GO = """(address) => {
  if ((location.hash || '#/') === '#' + address) return
  document.querySelector('main h1')?.setAttribute('data-left', '')
  location.hash = address
}"""
ARRIVED = """() => document.querySelector('main h1:not([data-left])')
    && !document.querySelector('main .waiting')"""


def patterns() -> list[str]:
    """Return the address of each screen as the router writes it."""
    source = (FRONTEND / "src" / "routes.ts").read_text()
    listed = source[source.index("export const routes") :]
    found = re.findall(r"^  '([^']+)':", listed, flags=re.MULTILINE)
    return [pattern if pattern.startswith("/") else f"/{pattern}" for pattern in found]


def whose(pattern: str) -> tuple[str, ...]:
    """Return the people whose screen this is; strangers see what is nobody's in particular."""
    fitting = [start for start in WHOSE if pattern == start or pattern.startswith(start)]
    return WHOSE[max(fitting, key=len)]


def screens_of(person: str, addresses: dict[str, str]) -> dict[str, str]:
    """Return the address of each screen of a person, its names filled, by its pattern."""
    if person in NO_DATA:
        return {
            pattern: pattern
            for pattern in patterns()
            if pattern.startswith(NO_DATA[person]) and ":" not in pattern
        }
    mine = [pattern for pattern in patterns() if person in whose(pattern)]
    unknown = [pattern for pattern in mine if ":" in pattern and pattern not in addresses]
    assert not unknown, f"say in tests/browser/screens_world.py what fills these: {unknown}"
    return {pattern: addresses.get(pattern, pattern).replace("*", "lost") for pattern in mine}


def go_to(page: Page, address: str) -> None:
    """Go to a screen and wait until it is there with what it shows."""
    page.evaluate(GO, address)
    wait_for_screen(page)


def wait_for_screen(page: Page) -> None:
    """Wait until a screen is there with what it shows."""
    page.wait_for_function(ARRIVED)
