"""The uncertainty of a mass, against OIML R 76-1, the GUM and the `uncertainties` package."""

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from network.lots.core.mass import (
    Component,
    Mass,
    by_eye,
    error_limit_mg,
    estimated,
    rectangle,
    total_standard_mg,
    triangle,
    weighed,
)

# OIML R 76-1 Table 6, class III, at verification, for e = 20 g; read in a secondary source.
TABLE_6 = [(10_000, 10_000), (10_020, 20_000), (40_000, 20_000), (40_020, 30_000)]


@pytest.mark.parametrize(("load_g", "limit_mg"), TABLE_6)
def test_the_error_limit_steps_up_past_500_and_2000_intervals(load_g: int, limit_mg: int) -> None:
    assert error_limit_mg(load_g, 20, in_service=False) == limit_mg
    assert error_limit_mg(load_g, 20) == 2 * limit_mg


def test_no_class_iii_scale_has_more_than_10000_intervals() -> None:
    assert error_limit_mg(200_000, 20, in_service=False) == 30_000
    with pytest.raises(ValueError, match="10 000"):
        error_limit_mg(200_001, 20)


def test_a_bag_weighed_with_its_tare_has_the_uncertainty_of_the_worked_example() -> None:
    """12.34 kg gross, 0.86 kg tare, e = 20 g, repeatability 10 g; JCGM 100:2008, 4.3.7 and 5.1.2.

    20/√3, 10/√3, twice 20/√12, and 10, in quadrature: 18.26 g; worked out by hand.
    """
    bag = weighed(gross_g=12_340, tare_g=860, interval_g=20, repeatability_g=10, in_service=False)
    assert bag.net_g == 11_480
    assert bag.standard_mg == pytest.approx(18_257, abs=1)
    assert round(bag.expanded_mg / 1000) == 37
    assert bag.shared_mg == pytest.approx(12_910, abs=1)


@given(
    gross_g=st.integers(1_000, 60_000),
    tare_g=st.integers(1, 999),
    interval_g=st.sampled_from([10, 20, 50]),
    repeatability_g=st.integers(1, 50),
)
def test_it_agrees_with_the_uncertainties_package(
    gross_g: int, tare_g: int, interval_g: int, repeatability_g: int
) -> None:
    bag = weighed(
        gross_g=gross_g, tare_g=tare_g, interval_g=interval_g, repeatability_g=repeatability_g
    )
    readings = [
        load_g
        + ufloat(0, error_limit_mg(load_g, interval_g) / 1000 / sqrt(3))
        + ufloat(0, interval_g / sqrt(12))
        for load_g in (gross_g, tare_g)
    ]
    net = readings[0] - readings[1] + ufloat(0, repeatability_g)
    assert bag.net_g == net.nominal_value
    assert bag.standard_mg / 1000 == pytest.approx(net.std_dev)


def test_a_rectangle_is_that_of_the_gums_copper_rod() -> None:
    """JCGM 100:2008, 4.3.7, example 1: ±0.40e-6 per °C gives 0.23e-6; cited from memory."""
    assert round(rectangle(0.40), 2) == 0.23


def test_ten_resistors_of_one_standard_are_those_of_the_gum() -> None:
    """JCGM 100:2008, 5.2.2, example: ten, each to 100 mΩ by one standard, together to 1 Ω.

    So are ten bags on one scale; were they independent it would be 0.32 Ω. Cited from memory.
    """
    ten = [100.0] * 10
    assert total_standard_mg([sum(ten)], []) == pytest.approx(1_000)
    assert total_standard_mg([], ten) == pytest.approx(316, abs=0.5)


def test_parts_combine_as_those_of_the_gums_end_gauge() -> None:
    """JCGM 100:2008, H.1.3 and H.1.4, in nm: 5.8, 3.9, 6.7 are 9.7; with 25, 2.9, 16.6 they are 32.

    Cited from memory.
    """

    def combined(*parts_nm: float) -> float:
        parts = tuple(Component(name="", standard_mg=part) for part in parts_nm)
        return Mass(gross_g=1, tare_g=0, components=parts).standard_mg

    difference = combined(5.8, 3.9, 6.7)
    assert round(difference, 1) == 9.7
    assert round(combined(25, difference, 2.9, 16.6)) == 32


def test_below_twenty_intervals_the_scale_is_warned_of() -> None:
    """OIML R 76-1 Table 3: the least load is 20 e, 400 g at e = 20 g."""
    light = weighed(gross_g=549, tare_g=150, interval_g=20, repeatability_g=0)
    enough = weighed(gross_g=550, tare_g=150, interval_g=20, repeatability_g=0)
    assert "400 g" in light.warnings[0]
    assert not enough.warnings


def test_without_a_tare_only_one_reading_counts() -> None:
    alone = weighed(gross_g=5_000, tare_g=0, interval_g=20, repeatability_g=0, in_service=False)
    assert alone.standard_mg == pytest.approx(1000 * sqrt((10**2 + 10**2) / 3))


def test_one_biased_scale_does_not_average_out() -> None:
    """100 loads of 18.26 g each: 0.183 kg if independent, 1.83 kg if one cause; GUM 5.2.2."""
    hundred = [18_257.0] * 100
    assert total_standard_mg([], hundred) == pytest.approx(182_570, abs=1)
    assert total_standard_mg([sum(hundred)], []) == pytest.approx(1_825_700, abs=1)
    a, b = ufloat(0, 30), ufloat(0, 40)
    assert total_standard_mg([30, 40], [12]) == pytest.approx((a + b + ufloat(0, 12)).std_dev)


def test_an_estimate_is_never_as_sure_as_a_weighing() -> None:
    told = by_eye(gross_g=8_150, tare_g=150)
    # 60 l of loose caps at 110 to 200, most likely 150 g/l: an estimate, no published figure.
    full = estimated(mass_g=9_000, low_g=6_600, high_g=12_000, amount_half_width_g=900)
    on_a_scale = weighed(gross_g=8_150, tare_g=150, interval_g=20, repeatability_g=10)
    assert told.standard_mg > full.standard_mg > 10 * on_a_scale.standard_mg


def test_no_known_range_is_not_a_range_of_nothing() -> None:
    unsure = estimated(mass_g=1_000, low_g=None, high_g=None)
    assert unsure.standard_mg == pytest.approx(rectangle(500) * 1000)


def test_a_symmetric_triangle_is_that_of_the_gum() -> None:
    """JCGM 100:2008, 4.3.9: the variance of a symmetric triangle is its half-width squared / 6."""
    assert triangle(low=90, high=110, mode=100) == pytest.approx(10 / sqrt(6))
    with pytest.raises(ValueError, match="range"):
        triangle(low=90, high=110, mode=80)


def test_a_tare_as_heavy_as_the_whole_is_refused() -> None:
    with pytest.raises(ValueError, match="tare"):
        by_eye(gross_g=150, tare_g=150)
