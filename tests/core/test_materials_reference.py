"""The reference data, checked against published ranges and against its own rules."""

from decimal import Decimal

import pytest

from network.materials import catalogue
from network.materials.core.dangerous import DANGEROUS_PARTS, danger_of
from network.materials.core.figures import Figure
from network.materials.core.resins import Resin

# ASTM D7611/D7611M: the six resins with a code of their own (7 is 'other').
ASTM_D7611 = {1: "PET", 2: "PE-HD", 3: "PVC", 4: "PE-LD", 5: "PP", 6: "PS"}

# g/cm³: Duis & Coors (2016), Environ. Sci. Eur. 28:2, Table 1; PET from a published trade chart.
PUBLISHED_DENSITY = {
    "PE-LD": ("0.89", "0.93"),
    "PE-HD": ("0.94", "0.98"),
    "PP": ("0.83", "0.92"),
    "PS": ("1.04", "1.10"),
    "PET": ("1.34", "1.40"),
    "PVC": ("1.16", "1.58"),
}


def all_figures() -> list[tuple[str, str, Figure]]:
    resins = [(s, q, f) for s, r in catalogue.resins().items() for q, f in r.figures.items()]
    items = [(s, q, f) for s, i in catalogue.items().items() for q, f in i.figures.items()]
    media = [(s, "density", m.density) for s, m in catalogue.float_media().items()]
    return resins + items + media


def test_resin_codes_are_those_of_the_standard() -> None:
    codes = {r.code: s for s, r in catalogue.resins().items() if r.code is not None}
    assert codes == ASTM_D7611


@pytest.mark.parametrize(("symbol", "limits"), PUBLISHED_DENSITY.items())
def test_densities_are_the_published_ranges(symbol: str, limits: tuple[str, str]) -> None:
    density = catalogue.resins()[symbol].density
    assert density is not None
    assert (density.low, density.high) == tuple(map(Decimal, limits))


def test_a_figure_from_memory_is_never_called_verified() -> None:
    wrong = [
        (owner, quantity)
        for owner, quantity, figure in all_figures()
        if figure.verified and "memory" in figure.source.lower()
    ]
    assert not wrong


def test_an_unverified_figure_says_why_in_its_source() -> None:
    told = ("memory", "estimate")
    wrong = [
        (owner, quantity)
        for owner, quantity, figure in all_figures()
        if not figure.verified and not any(word in figure.source.lower() for word in told)
    ]
    assert not wrong


def test_items_are_made_of_known_resins_that_may_be_melted() -> None:
    resins = catalogue.resins()
    for item in catalogue.items().values():
        assert item.usual_resins
        assert all(not resins[symbol].danger for symbol in item.usual_resins)


def test_an_item_without_a_figure_has_none() -> None:
    assert catalogue.items()["jerrycan"].bulk_density is None


def test_a_liquid_that_burns_is_for_adults_only() -> None:
    for medium in catalogue.float_media().values():
        assert medium.adults_only == ("ethanol" in medium.slug)
        assert medium.adults_only == bool(medium.caution)


@pytest.mark.parametrize("symbol", ["PVC", "PTFE", "POM", "ABS-FR"])
def test_dangerous_resins_are_in_the_data_with_their_reason(symbol: str) -> None:
    assert catalogue.resins()[symbol].danger
    assert danger_of(symbol)


@pytest.mark.parametrize(
    "mark", ["pvc", "PVC-U", "PVC-P", ">ABS+PVC<", ">ABS-FR(17)<", "PVC/PE", "PVC30", "V", "uPVC"]
)
def test_a_dangerous_resin_is_seen_through_its_spellings(mark: str) -> None:
    assert danger_of(mark)


@pytest.mark.parametrize("mark", ["PE-HD", "PP", "PP-TD20", "ABS", "ABS+PC", "PS", "PA6", "PVAL"])
def test_a_harmless_resin_is_not_taken_for_a_dangerous_one(mark: str) -> None:
    assert danger_of(mark) is None


@pytest.mark.parametrize("symbol", sorted(DANGEROUS_PARTS))
def test_data_cannot_call_a_dangerous_resin_harmless(symbol: str) -> None:
    with pytest.raises(ValueError, match="dangerous"):
        Resin(symbol=symbol, code=None, name="renamed")


def test_a_figure_has_both_ends_of_its_range_or_none() -> None:
    with pytest.raises(ValueError, match="both ends"):
        Figure(value=Decimal(1), low=Decimal(0), unit="g", source="here", verified=True)
