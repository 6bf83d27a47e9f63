"""A real lot through the whole workshop, by the screens only, at the size of a phone.

school 6,000 g ─┐ wash          shred         batch         pieces 4,000 g ─── passport
                ├──── 7,600 g ──── 7,500 g ──── 5,000 g ──┬─
café   2,000 g ─┘ 250 g residue                           └─ offcuts 800 g, back in the store
"""

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.at_work import (
    API,
    add_colour,
    add_press,
    go_to,
    grams_shown,
    kg,
    kind_of_place,
    opened,
)
from tests.browser.people import People

WASHED_G, SHREDDED_G, CHARGED_G = 7_600, 7_500, 5_000
MADE_G, OFFCUT_G, RESIDUE_G = 4_000, 800, 100
# Of the first two minutes that pass, and of the next, with what it takes to look.
TWO_MINUTES = re.compile(r"^[23]:\d\d since it began$")
FOUR_MINUTES = re.compile(r"^[45]:\d\d since it began$")


@pytest.fixture
def world() -> str:
    return "tests.browser.workshop_world"


def test_a_lot_becomes_a_product_whose_passport_says_what_the_ledger_says(
    people: People, links: dict[str, str]
) -> None:
    maker = people.open(links["maker"])
    _names_a_colour(maker)
    _washes_and_shreds(maker)
    _charges_by_recipe(maker)
    _presses(maker)
    _counts_the_pieces(maker)

    shown_g = grams_shown(maker)
    assert shown_g == _grams_by_the_ledger(maker)
    maker.get_by_role("button", name="Publish its passport").click()
    maker.get_by_role("link", name="See the passport").click()
    _reads_the_passport(people.open(maker.url), shown_g)
    _sees_what_became_of_it(people.open(links["contact"]), shown_g["School"])
    _asks_a_price(maker)


def test_an_unmarked_lid_is_told_by_harmless_looks_or_set_aside(
    people: People, links: dict[str, str]
) -> None:
    maker = people.open(links["maker"])
    go_to(maker, "What is it?")
    expect(maker.get_by_text("No flame, no sniffing")).to_be_visible()
    maker.get_by_role("button", name="What could it be?").click()
    expect(maker.get_by_text("Set it aside")).to_be_visible()
    expect(maker.get_by_role("heading", name="What to try next")).to_be_visible()

    water = maker.get_by_role("group", name="In water", exact=False)
    alcohol = maker.get_by_role("group", name="In alcohol and water")
    water.get_by_role("radio", name="Floats").check()
    alcohol.get_by_role("radio", name="Sinks").check()
    maker.get_by_label("How strong is it?").fill("47")
    maker.get_by_role("radio", name="It dents").check()
    maker.get_by_role("button", name="What could it be?").click()
    expect(maker.get_by_text("Probably PE-HD")).to_be_visible()
    maker.get_by_label("How strong is it?").fill("140")
    maker.get_by_role("button", name="What could it be?").click()
    expect(maker.get_by_label("How strong is it?")).to_have_attribute("aria-invalid", "true")


def _names_a_colour(maker: Page) -> None:
    go_to(maker, "Colours")
    add_colour(maker, "sea green")


def _washes_and_shreds(maker: Page) -> None:
    go_to(maker, "Wash")
    expect(maker.get_by_text("Filter the water")).to_be_visible()
    maker.get_by_role("checkbox", name="6.0 kg").check()
    maker.get_by_role("checkbox", name="2.0 kg").check()
    expect(maker.get_by_text("Expect about 7.6 kg.")).to_be_visible()
    out = maker.get_by_label("Out, weighed dry")
    out.fill("8.5")
    expect(maker.get_by_text("500 g more than went in")).to_be_visible()
    out.fill(kg(WASHED_G))
    maker.get_by_role("combobox", name="Colour").select_option(label="sea green")
    maker.get_by_label("Residue to disposal").fill("0.25")
    expect(maker.get_by_text("Left over, so lost: 150 g.")).to_be_visible()
    maker.get_by_role("button", name="Keep this").click()
    expect(maker.get_by_text("250 g went to residue, 150 g was lost.")).to_be_visible()

    maker.get_by_role("link", name="Shred").click()
    expect(maker.get_by_role("heading", level=1)).to_have_text("Shred")
    expect(maker.get_by_text("Hopper closed; lock off")).to_be_visible()
    maker.get_by_label("Out, weighed dry").fill(kg(SHREDDED_G))
    maker.get_by_role("button", name="Keep this").click()
    expect(maker.get_by_text("0 g went to residue, 100 g was lost.")).to_be_visible()

    go_to(maker, "Work done")
    for kind, figures in (
        ("Shred", "In 7.6 kg Out 7.5 kg Residue 0 g Lost 100 g"),
        ("Wash", "In 8.0 kg Out 7.6 kg Residue 250 g Lost 150 g"),
    ):
        run = maker.locator("main").get_by_role("heading", name=kind).locator("../..")
        without_codes = re.sub(r"Lot \S+( \d\.\d kg)?\s", "", " ".join(run.inner_text().split()))
        assert figures in without_codes


def _charges_by_recipe(maker: Page) -> None:
    go_to(maker, "Recipes")
    maker.get_by_label("Name of the recipe").fill("Green tile")
    maker.get_by_role("combobox", name="Plastic").select_option(value="PE-HD")
    mass = maker.get_by_label("Mass", exact=True)
    mass.fill("9")
    maker.get_by_role("combobox", name="Colour 1").select_option(label="sea green")
    maker.get_by_role("button", name="Keep the recipe").click()
    maker.get_by_role("link", name="Green tile").click()
    maker.get_by_role("button", name="Which lots?").click()
    expect(maker.get_by_text("sea green: 9.0 kg needed, 7.5 kg there.")).to_be_visible()
    mass.fill(kg(CHARGED_G))
    maker.get_by_role("button", name="Which lots?").click()
    expect(maker.get_by_role("heading", name="As wished")).to_be_visible()
    maker.get_by_role("button", name="Charge this batch").click()
    expect(maker.get_by_text("Not made into pieces yet")).to_be_visible()


def _presses(maker: Page) -> None:
    batch = maker.url
    add_press(maker)
    maker.goto(batch)
    maker.get_by_role("link", name="Heat and press").click()
    expect(maker.get_by_text("Never PVC or unknown")).to_be_visible()
    maker.get_by_text("All of it").click()
    expect(maker.get_by_text("Never heat PVC")).to_be_visible()
    maker.get_by_label("Thickness of the piece").fill("20")
    maker.get_by_label("Width").fill("300")
    maker.get_by_label("Length").fill("300")
    maker.get_by_label("Pressure", exact=True).fill("1000")
    temperature = maker.get_by_label("Set temperature")
    _is_refused(maker, temperature, "200")
    temperature.fill("")
    maker.get_by_role("button", name="Work out the plan").click()
    expect(maker.get_by_text("90,000 N", exact=False)).to_be_visible()
    expect(maker.get_by_text("First trial, step by step")).to_be_visible()
    maker.get_by_role("button", name="Begin this piece").click()
    _times_it_without_a_connection(maker)


def _is_refused(maker: Page, temperature: Locator, typed: str) -> None:
    """A temperature above the community's limit is refused at its own field."""
    temperature.fill(typed)
    maker.get_by_role("button", name="Work out the plan").click()
    expect(temperature).to_have_attribute("aria-invalid", "true")


def _times_it_without_a_connection(maker: Page) -> None:
    maker.clock.install()
    maker.get_by_role("button", name="Heating begins now").click()
    expect(maker.get_by_text("Melted through in")).to_be_visible()
    maker.wait_for_function("navigator.serviceWorker.controller !== null")
    maker.context.set_offline(True)
    before = maker.locator("[data-left]").get_attribute("data-left")
    expect(maker.locator("[data-left]")).not_to_have_attribute("data-left", before or "")
    maker.get_by_role("button", name="Under the press now").click()
    expect(maker.get_by_text("Press again in")).to_be_visible()
    _goes_on_when_opened_anew(maker)
    maker.context.set_offline(False)
    maker.get_by_text("How did it come out?").click()
    maker.get_by_role("radio", name="Good").check()
    maker.get_by_role("button", name="Keep how it went").click()
    expect(maker.get_by_text("Under the press", exact=True)).to_be_visible()


def _goes_on_when_opened_anew(maker: Page) -> None:
    """The clock goes by the moment at which it was begun, also where its page was gone."""
    timer = maker.url
    maker.clock.fast_forward("02:00")
    maker.reload()
    expect(maker.get_by_text(TWO_MINUTES)).to_be_visible()
    maker.goto("about:blank")
    maker.clock.fast_forward("02:00")
    maker.goto(timer)
    expect(maker.get_by_text(FOUR_MINUTES)).to_be_visible()


def _counts_the_pieces(maker: Page) -> None:
    maker.get_by_text("Count and weigh the pieces").click()
    maker.get_by_label("Name of the product").fill("Green tile")
    maker.get_by_label("Pieces", exact=True).fill("4")
    maker.get_by_label("All pieces together").fill(kg(MADE_G))
    maker.get_by_label("Offcuts, kept").fill(kg(OFFCUT_G))
    maker.get_by_label("Residue to disposal").fill(kg(RESIDUE_G))
    maker.get_by_role("textbox", name="Lost").fill(kg(CHARGED_G - MADE_G - OFFCUT_G - RESIDUE_G))
    expect(maker.get_by_text("0 g stay in the batch.")).to_be_visible()
    maker.get_by_role("button", name="Keep these pieces").click()
    expect(maker.get_by_role("heading", name="Where it came from")).to_be_visible()


def _grams_by_the_ledger(maker: Page) -> dict[str, int]:
    """Follow the grams from the places into the pieces, line by line of the ledger."""
    lines = maker.request.get(f"{API}/movements/?page_size=200").json()["results"]
    made_g = sum(line["mass_g"] for line in lines if line["reason"] == "made")
    washed_g = {
        kind_of_place(maker, line["from_account"]["lot"]["id"]): line["mass_g"]
        for line in lines
        if line["reason"] == "washed" and line["to_account"]["kind"] == "washed"
    }
    assert sum(washed_g.values()) == WASHED_G
    assert maker.request.get(f"{API}/balances/").json()["sum_g"] == 0
    return {kind: made_g * mass_g // WASHED_G for kind, mass_g in washed_g.items()}


def _reads_the_passport(visitor: Page, shown_g: dict[str, int]) -> None:
    """Anyone may read it: shares without a name, and what the way of keeping apart means."""
    expect(visitor.get_by_role("heading", level=1)).to_have_text("Green tile")
    table = visitor.get_by_role("table", name="What it is made of")
    for kind, mass_g in shown_g.items():
        row = table.get_by_role("row", name=f"from: {kind}")
        expect(row).to_contain_text(f"{mass_g / MADE_G:.0%}")
    expect(visitor.get_by_text("100% recycled content")).to_be_visible()
    expect(visitor.get_by_text("Segregated", exact=True)).to_be_visible()
    expect(visitor.get_by_text("Reef School")).to_have_count(0)
    code = visitor.get_by_role("img", name="QR code of this passport")
    assert code.evaluate("image => image.decode().then(() => image.naturalWidth)") > 0


def _sees_what_became_of_it(contact: Page, mass_g: int) -> None:
    expect(contact.get_by_role("heading", level=1)).to_have_text("Reef School")
    table = contact.get_by_role("table", name="What became of ours")
    expect(table.get_by_role("row", name="Product")).to_contain_text(f"{mass_g / 1000:.1f} kg")
    expect(contact.get_by_role("link", name="Green tile")).to_be_visible()


def _asks_a_price(maker: Page) -> None:
    """The worked example of docs/rules/pricing.md; without a wage there is no price."""
    maker.go_back()
    maker.get_by_role("link", name="Price sheet").click()
    wage = maker.get_by_label("A day's wage")
    wage.fill("0")
    maker.get_by_role("radio", name="As I know them").check()
    maker.get_by_label("Pieces of a day").last.fill("12")
    maker.get_by_role("button", name="What must it cost?").click()
    expect(wage).to_have_attribute("aria-invalid", "true")
    wage.fill("150")
    opened(maker, "What a piece takes")
    maker.get_by_label("Pieces that can be sold").fill("90")
    maker.get_by_label("Rent and the like, for a day").fill("40")
    maker.get_by_label("Material for a piece").fill("0.80")
    maker.get_by_label("Energy for a piece").fill("3")
    maker.get_by_label("Energy, for a kWh").fill("0.30")
    maker.get_by_label("Packaging for a piece").fill("0.60")
    maker.get_by_role("button", name="What must it cost?").click()
    expect(maker.get_by_text("£28.69")).to_be_visible()
    expect(maker.get_by_text("£20.08")).to_be_visible()
    expect(maker.get_by_text("Margin: 30% of the price is left over.")).to_be_visible()
