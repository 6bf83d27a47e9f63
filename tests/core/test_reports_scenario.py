"""Carbon and cost as a scenario, by hand.

The factors of the checks are from memory (WARM version 15; a diesel van) and unverified, so that
the checks hold the arithmetic and not the figures.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.reports.core.scenario import (
    KG_PER_SHORT_TON,
    RANGES,
    Carbon,
    Driven,
    Factor,
    Piece,
    avoided_kg_per_kg,
    carbon_of,
    cost_of,
)

CLOSE = Decimal("0.0001")
VALUES = {
    "van_per_km": "0.24",
    "recycled_pe_hd": "-0.76",
    "recycled_pp": "-0.79",
    "recycled_pet": "-1.04",
    "recycled_other": "-0.93",
    "landfilled": "0.02",
}


def factors(**more: str) -> dict[str, Factor]:
    values: dict[str, str | None] = {**dict.fromkeys(RANGES), **VALUES, **more}
    return {
        code: Factor(
            code=code,
            unit="as stated",
            value=None if value is None else Decimal(value),
            low=None,
            high=None,
            source="A table",
            year=2020,
            region="Somewhere",
            version=1,
            confirmed=True,
        )
        for code, value in values.items()
    }


def driven(distance_m: int = 12_000, duration_s: int = 3_600) -> Driven:
    return Driven(routes=1, distance_m=distance_m, duration_s=duration_s)


def of(
    mass_g: int, *, distance_m: int = 12_000, resin: str | None = "PE-HD", **more: str
) -> Carbon:
    return carbon_of(driven(distance_m), [Piece(resin=resin, mass_g=mass_g)], factors(**more))


def test_a_short_ton_is_two_thousand_pounds() -> None:
    """The international pound is 0.45359237 kg by definition (1959)."""
    assert Decimal(2000) * Decimal("0.45359237") == KG_PER_SHORT_TON


def test_a_kilogram_recycled_instead_of_landfilled() -> None:
    """−0.76 t for each short ton is −0.8378 kg/kg; against 0.02 landfilled, 0.8598 are avoided."""
    assert Decimal("-0.76") * 1000 / KG_PER_SHORT_TON == pytest.approx(
        Decimal("-0.8378"), abs=CLOSE
    )
    assert avoided_kg_per_kg("PE-HD", factors()) == pytest.approx(Decimal("0.8598"), abs=CLOSE)
    mixed = avoided_kg_per_kg(None, factors())
    assert (
        mixed == avoided_kg_per_kg("PS", factors()) == pytest.approx(Decimal("1.0472"), abs=CLOSE)
    )


def test_a_trip_of_twelve_kilometres_needs_more_than_three_kilograms() -> None:
    """12 km at 0.24 kg/km are 2.88 kg CO2e: 3.35 kg of PE-HD, were each to displace new plastic."""
    found = of(1_000, displaced_share="1")
    assert found.transport_co2e_g == 2_880
    assert found.avoided_co2e_g == 860
    assert found.net_co2e_g == 2_020
    assert found.break_even_g == 3_350
    assert found.break_even_m == 3_583  # 0.8598 kg at 0.24 kg/km


def test_nothing_is_avoided_until_somebody_states_what_is_displaced() -> None:
    found = of(1_000_000)
    assert found.transport_co2e_g == 2_880
    assert (found.avoided_co2e_g, found.net_co2e_g, found.break_even_m) == (None, None, None)
    nothing = of(1_000_000, displaced_share="0")
    assert (nothing.avoided_co2e_g, nothing.net_co2e_g, nothing.break_even_m) == (0, 2_880, None)


@given(
    mass_g=st.integers(1, 10**9),
    distance_m=st.integers(1, 10**9),
    share=st.decimals("0.01", 1, places=2),
)
def test_transport_is_always_counted_and_the_break_even_is_where_it_is_even(
    mass_g: int, distance_m: int, share: Decimal
) -> None:
    found = of(mass_g, distance_m=distance_m, displaced_share=str(share))
    assert found.transport_co2e_g == of(mass_g, distance_m=distance_m).transport_co2e_g
    assert found.break_even_m is not None
    even = of(mass_g, distance_m=found.break_even_m, displaced_share=str(share))
    assert even.net_co2e_g is not None
    assert abs(even.net_co2e_g) <= 1


def test_a_resin_that_is_worse_recycled_has_no_break_even() -> None:
    found = of(1_000, displaced_share="1", recycled_pe_hd="0.5")
    assert found.avoided_co2e_g is not None
    assert found.avoided_co2e_g < 0
    assert (found.break_even_m, found.break_even_g) == (None, None)


def test_a_kilogram_costs_its_share_of_wages_and_vans() -> None:
    """90 min at 16 an hour and 30 km at 0.45: 24.00 + 13.50 = 37.50, for 50 kg 0.75 each."""
    stated = factors(wage_per_hour="16", cost_per_km="0.45")
    found = cost_of(driven(30_000, 5_400), 50_000, stated)
    assert found is not None
    assert (found.wages, found.vans, found.whole) == (
        Decimal("24.00"),
        Decimal("13.50"),
        Decimal("37.50"),
    )
    assert found.per_kg == Decimal("0.75")
    empty = cost_of(driven(), 0, stated)
    assert empty is not None
    assert empty.per_kg is None
    assert cost_of(driven(), 50_000, factors(wage_per_hour="16")) is None


def test_a_factor_without_its_source_is_refused() -> None:
    with pytest.raises(ValueError, match="source"):
        Factor(
            code="van_per_km",
            unit="kg CO2e/km",
            value=Decimal("0.24"),
            low=None,
            high=None,
            source="",
            year=2023,
            region="Somewhere",
            version=0,
            confirmed=False,
        )
