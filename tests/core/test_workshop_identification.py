"""What a piece is: liquids against a reference library, resins against published densities."""

from itertools import combinations
from math import log2

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from network.materials import catalogue
from network.materials.core.bayes import (
    SLIP,
    Floated,
    Hypothesis,
    Liquid,
    bits_of_clue,
    bits_of_float_test,
    entropy_bits,
    posterior,
)
from network.materials.core.liquids import (
    brine_g_cm3,
    ethanol_water_g_cm3,
    mass_share_of_volume_share,
)

COMMON = ("PE-HD", "PE-LD", "PP", "PS", "PET", "PVC", "ABS", "PA6", "PC")


def known(*symbols: str) -> list[Hypothesis]:
    found = []
    for symbol in symbols:
        density = catalogue.resins()[symbol].density
        assert density is not None
        assert density.low is not None
        assert density.high is not None
        found.append(
            Hypothesis(
                symbol=symbol,
                low_g_cm3=float(density.low),
                usual_g_cm3=float(density.value),
                high_g_cm3=float(density.high),
                prior=1 / len(symbols),
            )
        )
    return found


def in_liquid(density_g_cm3: float, *, floated: bool) -> Floated:
    liquid = Liquid(density_g_cm3=density_g_cm3, standard_g_cm3=0.001)
    return Floated(liquid=liquid, floated=floated)


@pytest.mark.parametrize("temperature_c", [10, 15, 20, 25, 30])
@pytest.mark.parametrize("percent", [10, 20, 30, 40, 50, 60])
def test_alcohol_in_water_is_as_dense_as_a_reference_library_has_it(
    percent: int, temperature_c: int
) -> None:
    """CoolProp's INCOMP::MEA is Melinder's fit of ethanol in water; OIML R 22 is another source."""
    ours = ethanol_water_g_cm3(mass_share=percent / 100, temperature_c=temperature_c)
    fluid = f"INCOMP::MEA[{percent / 100}]"
    theirs = PropsSI("D", "T", temperature_c + 273.15, "P", 101_325, fluid) / 1000
    assert ours == pytest.approx(theirs, abs=0.0007)


@pytest.mark.parametrize("temperature_c", [5, 10, 20, 30, 40])
def test_water_alone_is_as_dense_as_iapws_has_it(temperature_c: int) -> None:
    theirs = PropsSI("D", "T", temperature_c + 273.15, "P", 101_325, "Water") / 1000
    ours = ethanol_water_g_cm3(mass_share=0, temperature_c=temperature_c)
    assert ours == pytest.approx(theirs, abs=0.00003)


@pytest.mark.parametrize("percent", [5, 10, 15, 20, 23])
def test_brine_is_as_dense_as_a_reference_library_has_it(percent: int) -> None:
    theirs = PropsSI("D", "T", 293.15, "P", 101_325, f"INCOMP::MNA[{percent / 100}]") / 1000
    assert brine_g_cm3(mass_percent=percent) == pytest.approx(theirs, abs=0.001)


def test_the_tabled_liquids_are_those_of_the_formula() -> None:
    """CRC Handbook, from memory: 0.954, 0.935 and 0.914 at 30, 40 and 50 % by mass, 20 °C."""
    for percent in (30, 40, 50):
        tabled = float(catalogue.float_media()[f"ethanol-{percent}"].density.value)
        formula = ethanol_water_g_cm3(mass_share=percent / 100, temperature_c=20)
        assert formula == pytest.approx(tabled, abs=0.0006)


def test_a_bottle_of_forty_per_cent_by_volume_is_a_third_by_mass() -> None:
    """OIML R 22, table of strengths by mass and volume: 40 % vol is 33.3 % mas (from memory)."""
    assert mass_share_of_volume_share(0.40) == pytest.approx(0.333, abs=0.001)
    assert mass_share_of_volume_share(0) == pytest.approx(0, abs=1e-9)
    assert mass_share_of_volume_share(1) == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize("pair", list(combinations(COMMON, 2)), ids="-".join)
def test_a_liquid_between_two_published_ranges_tells_them_apart(pair: tuple[str, str]) -> None:
    """Ranges: Duis & Coors (2016), Table 1, and a trade chart; see the reference data."""
    light, dense = sorted(known(*pair), key=lambda h: h.low_g_cm3)
    apart = dense.low_g_cm3 - light.high_g_cm3
    if apart < 0.006:
        # They overlap: no liquid can do it, which the next liquid's bits show.
        bits = bits_of_float_test(
            [light, dense], Liquid(density_g_cm3=dense.low_g_cm3, standard_g_cm3=0.001)
        )
        assert bits < 0.95
        return
    between = light.high_g_cm3 + apart / 2
    floated = posterior([light, dense], floats=[in_liquid(between, floated=True)])
    sank = posterior([light, dense], floats=[in_liquid(between, floated=False)])
    # By hand: one that certainly floats against one that floats by a slip only.
    assert floated[light.symbol] == pytest.approx(1 - SLIP, abs=0.002)
    assert sank[dense.symbol] == pytest.approx(1 - SLIP, abs=0.002)


def test_floating_in_water_and_sinking_in_40_per_cent_alcohol_is_polyethylene_hd() -> None:
    water, alcohol = in_liquid(0.998, floated=True), in_liquid(0.935, floated=False)
    chances = posterior(known(*COMMON), floats=[water, alcohol])
    assert max(chances, key=lambda s: chances[s]) == "PE-HD"
    assert chances["PE-HD"] > 0.85


def test_floating_in_both_leaves_polypropylene_and_polyethylene_ld() -> None:
    water, alcohol = in_liquid(0.998, floated=True), in_liquid(0.935, floated=True)
    chances = posterior(known(*COMMON), floats=[water, alcohol])
    assert chances["PP"] + chances["PE-LD"] > 0.95


def test_two_liquids_are_judged_together_since_a_piece_has_one_density() -> None:
    """Sinking in a lighter liquid after sinking in a denser one tells next to nothing new."""
    resins = known("PP", "PE-LD")
    once = posterior(resins, floats=[in_liquid(0.915, floated=False)])
    twice = posterior(
        resins, floats=[in_liquid(0.915, floated=False), in_liquid(0.80, floated=False)]
    )
    assert once["PE-LD"] == pytest.approx(twice["PE-LD"], abs=0.01)


def test_a_test_that_settles_two_equal_chances_tells_one_bit() -> None:
    """Shannon (1948): a fair toss of a coin is one bit."""
    assert entropy_bits({"a": 0.5, "b": 0.5}) == 1
    outcomes = [{"a": 1.0, "b": 0.0}, {"a": 0.0, "b": 1.0}]
    assert bits_of_clue({"a": 0.5, "b": 0.5}, outcomes) == pytest.approx(1)
    assert bits_of_clue({"a": 0.5, "b": 0.5}, [{"a": 1.0, "b": 1.0}]) == 0


def test_the_bits_of_a_float_test_are_those_of_a_noisy_channel() -> None:
    """By hand: 1 - H(slip) bits of a binary symmetric channel, MacKay (2003), eq. 9.30; memory."""
    light, dense = known("PP", "PS")
    water = Liquid(density_g_cm3=0.998, standard_g_cm3=0.001)
    noise = -SLIP * log2(SLIP) - (1 - SLIP) * log2(1 - SLIP)
    assert bits_of_float_test([light, dense], water) == pytest.approx(1 - noise, abs=0.001)


clues = st.fixed_dictionaries({symbol: st.floats(0.01, 1) for symbol in COMMON})
floats = st.lists(st.builds(in_liquid, st.floats(0.8, 1.6), floated=st.booleans()), max_size=3)


@given(seen=floats, looked=st.lists(clues, max_size=2))
def test_the_chances_add_up_to_one_and_none_is_ever_nothing(
    seen: list[Floated], looked: list[dict[str, float]]
) -> None:
    chances = posterior(known(*COMMON), floats=seen, clues=looked)
    assert sum(chances.values()) == pytest.approx(1)
    assert all(0 < p <= 1 for p in chances.values())


@given(seen=floats, density=st.floats(0.8, 1.6))
def test_a_test_never_tells_less_than_nothing_nor_more_than_one_bit(
    seen: list[Floated], density: float
) -> None:
    liquid = Liquid(density_g_cm3=density, standard_g_cm3=0.003)
    assert 0 <= bits_of_float_test(known(*COMMON), liquid, floats=seen) <= 1


def test_how_often_each_outcome_is_seen_adds_up_for_each_resin() -> None:
    for table in catalogue.clue_tables().values():
        for symbol in (*COMMON, "other"):
            whole = sum(outcome[symbol] for outcome in table.outcomes.values())
            assert whole == pytest.approx(1), f"{table.slug}: {symbol}"


def test_no_look_is_by_flame_or_smell() -> None:
    words = " ".join(
        f"{table.question} {' '.join(table.outcomes)}" for table in catalogue.clue_tables().values()
    ).lower()
    assert not any(word in words for word in ("flame", "burn", "smell", "sniff", "heat", "lighter"))


def test_a_liquid_that_cannot_be_is_refused() -> None:
    for wrong in ({"mass_share": 1.2, "temperature_c": 20}, {"mass_share": 0, "temperature_c": 90}):
        with pytest.raises(ValueError, match="from"):
            ethanol_water_g_cm3(**wrong)
    with pytest.raises(ValueError, match="dissolves"):
        brine_g_cm3(mass_percent=40)
    with pytest.raises(ValueError, match="share"):
        mass_share_of_volume_share(1.1)
