"""Every screen of the app by its address, and who goes there, from the router's own list."""

import re

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
