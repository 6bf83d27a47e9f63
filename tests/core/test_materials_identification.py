"""Float tests: they say what a piece is not, and never that it is safe because it sank."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.materials import catalogue
from network.materials.core.identification import FloatTest, candidates, floated_in_plain_water

RESINS = catalogue.resins()
MEDIA = {slug: medium.density.value for slug, medium in catalogue.float_media().items()}


def ruled(**results: bool) -> set[str]:
    tests = [
        FloatTest(medium_g_cm3=MEDIA[slug.replace("_", "-")], floated=floated)
        for slug, floated in results.items()
    ]
    return set(candidates(tests, RESINS))


def test_only_polyethylene_and_polypropylene_float_in_water() -> None:
    # Density ranges: Duis & Coors (2016), Environ. Sci. Eur. 28:2, Table 1.
    assert ruled(water=True) == {"PE-HD", "PE-LD", "PP"}


def test_ps_pet_and_pvc_sink_in_water() -> None:
    assert {"PS", "PET", "PVC"} <= ruled(water=False)


def test_floating_in_water_and_sinking_in_40_percent_ethanol_leaves_only_pe_hd() -> None:
    # A piece of 0.953 g/cm³ between 0.935 and 0.998; liquids after the CRC Handbook, from memory.
    assert ruled(water=True, ethanol_40=False) == {"PE-HD"}


def test_floating_in_both_leaves_pe_ld_and_pp() -> None:
    # A piece of 0.92 g/cm³.
    assert ruled(water=True, ethanol_40=True) == {"PE-LD", "PP"}


def test_results_that_contradict_each_other_leave_nothing() -> None:
    assert ruled(water=False, ethanol_40=True) == set()


def test_with_no_test_nothing_is_ruled_out() -> None:
    assert ruled() == {symbol for symbol, resin in RESINS.items() if resin.density}


@given(st.lists(st.decimals("1.0", "1.4", places=2), max_size=4))
def test_sinking_never_rules_out_pvc_unless_it_is_denser_than_any_pvc(media: list[Decimal]) -> None:
    tests = [FloatTest(medium_g_cm3=medium, floated=False) for medium in media]
    assert "PVC" in candidates(tests, RESINS)


@given(
    st.lists(
        st.builds(
            FloatTest, medium_g_cm3=st.decimals("0.8", "1.6", places=3), floated=st.booleans()
        ),
        min_size=1,
        max_size=5,
    )
)
def test_one_more_test_never_brings_a_resin_back(tests: list[FloatTest]) -> None:
    assert set(candidates(tests, RESINS)) <= set(candidates(tests[:-1], RESINS))


def test_floating_in_brine_is_not_floating_in_plain_water() -> None:
    brine = FloatTest(medium_g_cm3=MEDIA["brine"], floated=True)
    water = FloatTest(medium_g_cm3=MEDIA["water"], floated=True)
    assert not floated_in_plain_water([brine])
    assert floated_in_plain_water([brine, water])


def test_a_liquid_has_a_density() -> None:
    with pytest.raises(ValueError, match="above zero"):
        FloatTest(medium_g_cm3=Decimal(0), floated=True)
