"""The masses that volumes and counts stand for."""

from decimal import Decimal

import pytest

from network.materials import catalogue
from network.materials.core.amounts import mass_of_count, mass_of_volume
from network.materials.core.figures import Figure

CAPS = catalogue.items()["bottle-cap"]
BOTTLES = catalogue.items()["milk-bottle"]


def bulk(item_slug: str) -> Figure:
    figure = catalogue.items()[item_slug].bulk_density
    assert figure is not None
    return figure


def test_sixty_litres_of_loose_caps_are_nine_kilograms() -> None:
    # Geometric estimate of loose caps, 110 to 200 kg/m3; no authoritative figure found.
    mass = mass_of_volume(60_000, bulk("bottle-cap"))
    assert (mass.mass_g, mass.low_g, mass.high_g) == (9000, 6600, 12000)


def test_sixty_litres_of_loose_bottles_are_1380_grams() -> None:
    # WRAP, in Annex C to the LAPCAP guidance (gov.uk, 14 July 2025): 23 kg/m3.
    assert mass_of_volume(60_000, bulk("milk-bottle")).mass_g == 1380


def test_a_van_of_three_cubic_metres_is_heavy_with_caps_and_light_with_bottles() -> None:
    assert mass_of_volume(3_000_000, bulk("bottle-cap")).mass_g == 450_000
    assert mass_of_volume(3_000_000, bulk("milk-bottle")).mass_g == 69_000


def test_a_thousand_caps_of_two_grams_are_two_kilograms() -> None:
    figure = Figure(
        value=Decimal("2.0"),
        low=Decimal("1.6"),
        high=Decimal("2.4"),
        unit="g",
        source="two grams, give or take a fifth: from memory",
        verified=False,
    )
    mass = mass_of_count(1000, figure)
    assert (mass.mass_g, mass.low_g, mass.high_g) == (2000, 1600, 2400)


def test_a_figure_without_a_range_gives_a_mass_without_one() -> None:
    # WRAP, as above: pots, tubs and trays 25 kg/m3.
    mass = mass_of_volume(100_000, bulk("tub"))
    assert (mass.mass_g, mass.low_g, mass.high_g) == (2500, None, None)


def test_us_bulk_densities_convert_as_published() -> None:
    # EPA Volume-to-Weight (April 2016), through a government help page: mixed plastics
    # 40 lb/yd3 and film 35; an international pound is 0.45359237 kg, a yard 0.9144 m.
    kg_m3_per_lb_yd3 = Decimal("0.45359237") / Decimal("0.9144") ** 3
    assert round(kg_m3_per_lb_yd3, 6) == Decimal("0.593276")
    assert bulk("milk-bottle").high == round(40 * kg_m3_per_lb_yd3, 1)
    assert bulk("film").high == round(35 * kg_m3_per_lb_yd3, 1)


def test_a_figure_of_another_unit_is_refused() -> None:
    assert CAPS.unit_mass is not None
    with pytest.raises(ValueError, match="kg/m3"):
        mass_of_volume(1000, CAPS.unit_mass)
    with pytest.raises(ValueError, match="unit mass"):
        mass_of_count(1000, bulk("bottle-cap"))
