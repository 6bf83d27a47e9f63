"""What a maker does at the screens of the workshop, in each of its walks."""

from fractions import Fraction

from playwright.sync_api import Locator, Page, expect

API = "/api/v1/communities/tern-rock"


def go_to(maker: Page, screen: str) -> None:
    """Go to a screen of the workshop."""
    maker.get_by_role("navigation").get_by_role("link", name="More", exact=True).click()
    expect(maker.get_by_role("heading", level=1)).to_have_text("More")
    maker.get_by_role("link", name="Workshop", exact=True).click()
    maker.get_by_role("link", name=screen, exact=True).click()
    expect(maker.get_by_role("heading", level=1)).to_have_text(screen)


def opened(page: Page, words: str) -> Locator:
    """Open a group that is closed at first; return it."""
    summary = page.locator("summary").filter(has_text=words)
    group = summary.locator("..")
    if group.get_attribute("open") is None:
        summary.click()
    return group


def kg(mass_g: int) -> str:
    """Return grams as one types kilograms."""
    return f"{mass_g / 1000:g}"


def add_colour(maker: Page, name: str) -> None:
    """Name a colour on the screen of the colours."""
    maker.get_by_label("Name of the colour").fill(name)
    maker.get_by_role("button", name="Add the colour").click()
    expect(maker.locator("main").get_by_text(name)).to_be_visible()


def add_press(maker: Page) -> None:
    """Add a press of ten tons that can be set to 220 °C."""
    go_to(maker, "Presses")
    maker.get_by_label("Name of the press").fill("Blue press")
    maker.get_by_label("Heats to at most").fill("220")
    maker.get_by_label("Force at most, by its plate").fill("98067")
    maker.get_by_role("button", name="Add a press").click()
    expect(maker.get_by_role("heading", name="Blue press")).to_be_visible()


def grams_shown(maker: Page) -> dict[str, int]:
    """Return the grams by kind of place that the maker is shown of a product."""
    rows = maker.get_by_role("table", name="Where it came from").locator("tbody tr")
    found = {}
    for row in rows.all():
        kind = row.locator("th").inner_text().rsplit(": ", 1)[-1]
        found[kind] = round(float(row.locator("td").first.inner_text()) * 1000)
    return found


def grams_followed(maker: Page, *, into: str) -> dict[str, Fraction]:
    """Follow all grams line by line through the ledger into one kind of account, in order.

    What leaves an account takes from all that is in it in proportion.
    """
    page = maker.request.get(f"{API}/movements/?page_size=200").json()
    assert page["next"] is None
    held: dict[tuple[str, str], dict[str, Fraction]] = {}
    for line in sorted(page["results"], key=lambda line: (line["at"], line["recorded_at"])):
        source, target = (
            (line[side]["lot"]["id"], line[side]["kind"]) for side in ("from_account", "to_account")
        )
        if source[1] == "container":
            taken = {kind_of_place(maker, source[0]): Fraction(line["mass_g"])}
        else:
            taken = _drawn(held[source], line["mass_g"])
        _add(held.setdefault(target, {}), taken)
    together: dict[str, Fraction] = {}
    for masses_g in [masses_g for (_, account), masses_g in held.items() if account == into]:
        _add(together, masses_g)
    return together


def _add(held_g: dict[str, Fraction], more_g: dict[str, Fraction]) -> None:
    for kind, mass_g in more_g.items():
        held_g[kind] = held_g.get(kind, Fraction()) + mass_g


def _drawn(held_g: dict[str, Fraction], mass_g: int) -> dict[str, Fraction]:
    """Take grams out of an account; return them by kind of place."""
    share = mass_g / sum(held_g.values(), Fraction())
    assert share <= 1
    taken = {kind: part_g * share for kind, part_g in held_g.items()}
    for kind, part_g in taken.items():
        held_g[kind] -= part_g
    return taken


def kind_of_place(maker: Page, lot_id: str) -> str:
    """Return in words what kind of place a lot was collected at."""
    lot = maker.request.get(f"{API}/lots/{lot_id}/").json()
    place = maker.request.get(f"{API}/places/{lot['place']['id']}/").json()
    return {"school": "School", "cafe": "Café"}[place["kind"]]
