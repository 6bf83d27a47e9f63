"""Prices, colours and what a product may say of itself."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.workshop.core.colour import (
    Lab,
    Patch,
    difference,
    from_photo,
    nearest,
    photo_uncertainty,
)
from network.workshop.core.custody import (
    Content,
    Custody,
    custody_of,
    in_parts,
    mixed,
    recycled_percent,
)
from network.workshop.core.pricing import (
    Costs,
    Stage,
    new_material_cost,
    pieces_of_a_day,
    sensitivities,
    shares_of_cost,
    unit_cost,
    with_margin,
    with_markup,
)
from network.workshop.core.yields import Run

D = Decimal
WORKED = Costs(
    day_rate=D(150),
    overhead_per_day=D(40),
    pieces_per_day=D(12),
    yield_share=D("0.9"),
    material=D("0.80"),
    energy=3 * D("0.30"),
    consumables=D(0),
    packaging=D("0.60"),
)

# ---- price


def test_the_worked_example_costs_20_08() -> None:
    """By hand: 190/(12 × 0.9) + (0.80 + 0.90)/0.9 + 0.60 = 17.593 + 1.889 + 0.60."""
    cost = unit_cost(WORKED)
    assert round(cost, 2) == D("20.08")
    assert round(with_margin(cost, D("0.30")), 2) == D("28.69")
    assert round(with_markup(cost, D("0.30")), 2) == D("26.11")


money = st.decimals("0", "500", places=2)
costs = st.builds(
    Costs,
    day_rate=st.decimals("1", "500", places=2),
    overhead_per_day=money,
    pieces_per_day=st.decimals("0.5", "500", places=2),
    yield_share=st.decimals("0.05", "1", places=2),
    material=money,
    energy=money,
    consumables=money,
    packaging=money,
)


@given(costs, st.decimals("0.01", "50", places=2))
def test_a_price_falls_when_pieces_per_day_rise(one: Costs, more: Decimal) -> None:
    assert unit_cost(replace(one, pieces_per_day=one.pieces_per_day + more)) < unit_cost(one)


@given(costs)
def test_the_parts_add_up_to_the_cost(one: Costs) -> None:
    assert sum(shares_of_cost(one).values()) == pytest.approx(unit_cost(one))
    assert unit_cost(one) > 0


def test_what_moves_the_price_most_is_named_first() -> None:
    """By hand: at nine tenths of the yield, (17.593 + 1.889)/9 = 2.165 more, 10.8 % of 20.08."""
    moves = {move.name: move.share for move in sensitivities(WORKED)}
    assert next(iter(moves)) == "yield_share"
    assert round(moves["yield_share"], 4) == D("0.1078")
    assert moves["pieces_per_day"] < 0 < moves["day_rate"]


def test_a_day_counts_the_whole_chain() -> None:
    """By hand: 10 + 20 + 10 min of hands a piece are 12 in 8 h; a press of 60 min makes 8."""
    hands = [
        Stage(name="sort", duration_s=600, pieces=1),
        Stage(name="finish", duration_s=1_200, pieces=1),
        Stage(name="pack", duration_s=6_000, pieces=10),
    ]
    by_hands = pieces_of_a_day(hands, day_s=8 * 3_600)
    assert (by_hands.pieces_per_day, by_hands.slowest) == (D(12), "finish")
    press = Stage(name="press", duration_s=3_600, pieces=1, is_attended=False)
    by_press = pieces_of_a_day([*hands, press], day_s=8 * 3_600)
    assert (by_press.pieces_per_day, by_press.slowest) == (D(8), "press")


def test_new_material_is_a_figure_beside_it() -> None:
    """By hand: 0.5 kg at 1.80 a kilogram over a yield of 0.9 is 1.00."""
    cost = new_material_cost(mass_g=500, price_per_kg=D("1.80"), yield_share=D("0.9"))
    assert cost == D("1.00")


@pytest.mark.parametrize(
    "change",
    [{"day_rate": D(0)}, {"pieces_per_day": D(0)}, {"yield_share": D(0)}, {"energy": D(-1)}],
)
def test_a_price_of_nothing_is_refused(change: dict[str, Decimal]) -> None:
    with pytest.raises(ValueError, match=r"day|yield|negative"):
        replace(WORKED, **change)


def test_a_margin_of_all_is_refused() -> None:
    with pytest.raises(ValueError, match="margin"):
        with_margin(D(1), D(1))
    with pytest.raises(ValueError, match="time"):
        pieces_of_a_day([Stage(name="sort", duration_s=0, pieces=1)], day_s=100)
    with pytest.raises(ValueError, match="part"):
        Run(in_g=1, out_g=2)


# ---- colour

# Sharma, Wu and Dalal, Color Research and Application 30 (2005), 21-30, Table 1.
SHARMA = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
    ((50.0, 2.8361, -74.0200), (50.0, 0.0, -82.7485), 3.4412),
    ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, -1.1848, -84.8006), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, -0.9009, -85.5211), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, -1.0, 2.0), (50.0, 0.0, 0.0), 2.3669),
    ((50.0, 2.4900, -0.0010), (50.0, -2.4900, 0.0009), 7.1792),
    ((50.0, 2.4900, -0.0010), (50.0, -2.4900, 0.0010), 7.1792),
    ((50.0, 2.4900, -0.0010), (50.0, -2.4900, 0.0011), 7.2195),
    ((50.0, 2.4900, -0.0010), (50.0, -2.4900, 0.0012), 7.2195),
    ((50.0, -0.0010, 2.4900), (50.0, 0.0009, -2.4900), 4.8045),
    ((50.0, -0.0010, 2.4900), (50.0, 0.0010, -2.4900), 4.8045),
    ((50.0, -0.0010, 2.4900), (50.0, 0.0011, -2.4900), 4.7461),
    ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5), 4.3065),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (61.0, -5.0, 29.0), 22.8977),
    ((50.0, 2.5, 0.0), (56.0, -27.0, -3.0), 31.9030),
    ((50.0, 2.5, 0.0), (58.0, 24.0, 15.0), 19.4535),
    ((50.0, 2.5, 0.0), (50.0, 3.1736, 0.5854), 1.0000),
    ((50.0, 2.5, 0.0), (50.0, 3.2972, 0.0), 1.0000),
    ((50.0, 2.5, 0.0), (50.0, 1.8634, 0.5757), 1.0000),
    ((50.0, 2.5, 0.0), (50.0, 3.2592, 0.3350), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.2480, -4.9620), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((36.4612, 47.8580, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


def lab(parts: tuple[float, float, float]) -> Lab:
    return Lab(lightness=parts[0], a=parts[1], b=parts[2])


@pytest.mark.parametrize(("one", "other", "apart"), SHARMA)
def test_colour_differences_are_the_published_ones(
    one: tuple[float, float, float], other: tuple[float, float, float], apart: float
) -> None:
    assert difference(lab(one), lab(other)) == pytest.approx(apart, abs=0.00006)
    assert difference(lab(other), lab(one)) == pytest.approx(apart, abs=0.00006)


def test_a_photo_in_yellow_light_shows_the_colour_that_the_card_tells() -> None:
    """The card itself comes out as the neutral grey that it is, whatever the light."""
    yellowish = Patch(rgb=(190, 180, 140))
    grey = from_photo(yellowish, yellowish, card_lightness=50)
    assert grey.lightness == pytest.approx(50, abs=0.01)
    assert [grey.a, grey.b] == pytest.approx([0, 0], abs=0.01)
    with pytest.raises(ValueError, match="burnt out"):
        from_photo(Patch(rgb=(10, 10, 10)), Patch(rgb=(255, 255, 255)), card_lightness=50)


def test_srgb_red_is_where_published_conversions_have_it() -> None:
    """sRGB red in L*a*b*, D65: 53.24, 80.09, 67.20 (Lindbloom's calculator; from memory)."""
    card = Patch(rgb=(119, 119, 119))
    red = from_photo(Patch(rgb=(255, 0, 0)), card, card_lightness=50.034)
    assert red.lightness == pytest.approx(53.24, abs=0.05)
    assert [red.a, red.b] == pytest.approx([80.09, 67.20], abs=0.1)


def test_a_photo_is_worked_out_as_the_rules_have_it() -> None:
    """The worked numbers of docs/rules/colour.md."""
    card = Patch(rgb=(190, 180, 140), spread=(2, 2, 2))
    sample = Patch(rgb=(90, 165, 80), spread=(4, 4, 4))
    found = from_photo(sample, card, card_lightness=50)
    assert [found.lightness, found.a, found.b] == pytest.approx([41.3, -28.2, 17.8], abs=0.05)
    assert difference(found, lab((46.7, -38.2, 17.5))) == pytest.approx(6.6, abs=0.05)
    assert photo_uncertainty(sample, card, card_lightness=50) == pytest.approx(1.7, abs=0.05)


def test_an_uneven_patch_makes_a_colour_less_sure() -> None:
    card = Patch(rgb=(119, 119, 119))
    off = [
        photo_uncertainty(
            Patch(rgb=(60, 140, 130), spread=(spread, spread, spread)), card, card_lightness=50
        )
        for spread in (0, 2, 6)
    ]
    assert 0 < off[0] < off[1] < off[2]
    # Whole steps of a channel alone are hardly to be seen (common practice: two units are).
    assert off[0] < 0.5


def test_the_uncertainty_of_a_colour_is_what_a_thousand_photos_scatter_by() -> None:
    """Against a simulation after JCGM 101:2008: draws of the six channels from their spreads."""
    dice = np.random.default_rng(5)
    sample, card = (60.0, 140.0, 130.0), (120.0, 118.0, 110.0)
    here = from_photo(Patch(rgb=sample), Patch(rgb=card), card_lightness=50)
    draws = dice.normal((*sample, *card), 3.0, size=(1_000, 6))
    apart = [
        difference(here, from_photo(Patch(rgb=(*d[:3],)), Patch(rgb=(*d[3:],)), card_lightness=50))
        for d in draws.tolist()
    ]
    scatter = float(np.sqrt(np.mean(np.square(apart))))
    spread = (3.0, 3.0, 3.0)
    found = photo_uncertainty(
        Patch(rgb=sample, spread=spread), Patch(rgb=card, spread=spread), card_lightness=50
    )
    assert found == pytest.approx(scatter, rel=0.15)


def test_the_nearest_of_the_makers_own_colours_comes_first() -> None:
    named = {"sea": lab((60, -30, -5)), "sand": lab((80, 2, 20))}
    order = nearest(lab((62, -28, -4)), named)
    assert [name for name, _ in order] == ["sea", "sand"]


# ---- custody


@pytest.mark.parametrize(
    ("places", "bought_g", "regrind_is_mixed", "model"),
    [
        # ISO 22095:2020, 3.3.1 to 3.3.4, read in a secondary source.
        (1, 0, False, Custody.IDENTITY_PRESERVED),
        (2, 0, False, Custody.SEGREGATED),
        (1, 50, False, Custody.CONTROLLED_BLENDING),
        (3, 0, True, Custody.MASS_BALANCE),
    ],
)
def test_the_model_is_what_the_ledger_bears_out(
    places: int, bought_g: int, *, regrind_is_mixed: bool, model: Custody
) -> None:
    found = custody_of(places=places, bought_g=bought_g, regrind_is_mixed=regrind_is_mixed)
    assert found is model


def test_own_offcuts_are_never_counted_as_recycled() -> None:
    """ISO 14021 §7.8: 0.85 kg collected, 0.10 own offcuts, 0.05 pigment is 85 %."""
    assert recycled_percent(Content(collected_g=850, regrind_g=100, bought_g=50)) == 85
    assert recycled_percent(Content(collected_g=999, regrind_g=0, bought_g=1)) == 99
    with pytest.raises(ValueError, match="mass"):
        Content(collected_g=0, regrind_g=0, bought_g=0)


@given(
    st.dictionaries(st.integers(0, 20), st.integers(1, 10_000), min_size=1, max_size=6),
    st.integers(0, 1_000),
)
def test_parts_of_a_whole_add_up_to_it(masses: dict[int, int], whole: int) -> None:
    shares = {key: Fraction(mass, sum(masses.values())) for key, mass in masses.items()}
    parts = in_parts(shares, whole)
    assert sum(parts.values()) == whole
    assert all(abs(parts[key] - shares[key] * whole) < 1 for key in parts)


def test_a_mix_of_mixes_is_made_of_their_parts() -> None:
    """By hand: 100 g of (half a, half b) with 300 g of a are 350 a and 50 b in 400."""
    of = {"m": {"a": Fraction(1, 2), "b": Fraction(1, 2)}, "a": {"a": Fraction(1)}}
    assert mixed({"m": 100, "a": 300}, of) == {"a": Fraction(7, 8), "b": Fraction(1, 8)}
