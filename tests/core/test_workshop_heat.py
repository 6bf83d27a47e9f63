"""Heat and press: the series against finite differences and published worked numbers."""

from decimal import Decimal
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.workshop.core.conduction import air_time_s, centre_share, mean_share, wall_time_s
from network.workshop.core.heat import (
    AIR,
    ONE_FACE,
    PRESS_AGAIN_S_MAX,
    TWO_FACES,
    Thermal,
    heat_plan,
    highest_set_c,
    lowest_set_c,
    slower_times,
    trial_steps_c,
)
from network.workshop.core.press import cavity_mm, force_n, pressure_kpa_max

HDPE = Thermal(
    symbol="PE-HD",
    press_low_c=160,
    press_high_c=200,
    melting_high_c=137,
    release_c=80,
    diffusivity_low_mm2_s=0.100,
    diffusivity_mm2_s=0.115,
    diffusivity_high_mm2_s=0.130,
    density_g_cm3=0.954,
)


def finite_differences(
    thickness_mm: float, diffusivity_mm2_s: float, time_s: float, *, one_face: bool
) -> tuple[float, float]:
    """Return the shares of the mean and of the hottest place, by explicit steps in time."""
    cells = 200
    dx = thickness_mm / cells
    dt = 0.4 * dx**2 / diffusivity_mm2_s
    left = np.ones(cells)
    for _ in range(round(time_s / dt)):
        ghost_right = left[-1] if one_face else -left[-1]
        padded = np.concatenate([[-left[0]], left, [ghost_right]])
        left = left + 0.4 * (padded[2:] - 2 * padded[1:-1] + padded[:-2])
    hottest = left[-1] if one_face else (left[cells // 2 - 1] + left[cells // 2]) / 2
    return float(left.mean()), float(hottest)


@pytest.mark.parametrize("one_face", [False, True])
@pytest.mark.parametrize("share", [0.9, 0.5, 0.2])
def test_the_series_agrees_with_finite_differences(share: float, *, one_face: bool) -> None:
    slab: dict[str, Any] = {"thickness_mm": 10.0, "diffusivity_mm2_s": 0.1}
    mean_s = wall_time_s(share, mean_share, **slab, two_faces=not one_face)
    centre_s = wall_time_s(share, centre_share, **slab, two_faces=not one_face)
    assert finite_differences(10, 0.1, mean_s, one_face=one_face)[0] == pytest.approx(
        share, abs=0.003
    )
    assert finite_differences(10, 0.1, centre_s, one_face=one_face)[1] == pytest.approx(
        share, abs=0.003
    )


@pytest.mark.parametrize(
    ("thickness_mm", "diffusivity", "share", "mean_s", "centre_s"),
    [
        # s²/(π²a) ln[(8/π²)(Tm-Tw)/(Te-Tw)] and with 4/π for the centre (Ballman and Shusman
        # 1959, from memory); one term by hand, from 190 to 80 °C and 220 to 90 °C, wall 30 °C.
        (10, 0.10, 50 / 160, 96.6, 142.3),
        (20, 0.10, 50 / 160, 386.3, 569.3),
        (10, 0.09, 60 / 190, 106.1, 157.0),
    ],
)
def test_cooling_takes_as_long_as_the_worked_examples(
    thickness_mm: float,
    diffusivity: float,
    share: float,
    mean_s: float,
    centre_s: float,
) -> None:
    slab: dict[str, Any] = {"thickness_mm": thickness_mm, "diffusivity_mm2_s": diffusivity}
    assert wall_time_s(share, mean_share, **slab) == pytest.approx(mean_s, abs=0.06)
    assert wall_time_s(share, centre_share, **slab) == pytest.approx(centre_s, abs=0.06)


def test_an_acrylic_sheet_on_a_hot_plate_softens_when_the_published_solution_says() -> None:
    """Incropera and others, Fundamentals of Heat and Mass Transfer, 6th ed., solution of 5.50.

    5 mm of acrylic at 20 °C, the other face insulated, on a plate of 300 °C, until that face is at
    90 °C: a share of 0.75 at a Fourier number of 0.214 (of the first term alone), which is 74 s.
    """
    diffusivity_mm2_s = 0.21 / (1_990 * 1_470) * 1e6
    slab: dict[str, Any] = {"thickness_mm": 5.0, "diffusivity_mm2_s": diffusivity_mm2_s}
    softened_s = wall_time_s(210 / 280, centre_share, **slab, two_faces=False)
    assert softened_s * diffusivity_mm2_s / 5**2 == pytest.approx(0.214, abs=0.002)
    assert softened_s == pytest.approx(74, abs=0.5)


def test_one_cold_face_takes_four_times_as_long() -> None:
    slab: dict[str, Any] = {"thickness_mm": 10.0, "diffusivity_mm2_s": 0.1}
    for of in (mean_share, centre_share):
        two = wall_time_s(0.3, of, **slab)
        assert wall_time_s(0.3, of, **slab, two_faces=False) == pytest.approx(4 * two)


def test_in_still_air_it_takes_as_long_as_the_lump() -> None:
    """By hand: 950 × 2300 × 0.005 / 10 × ln(170/60) = 1138 s."""
    time_s = air_time_s(60 / 170, thickness_mm=10, density_g_cm3=0.95, heat_j_g_k=2.3)
    assert time_s == pytest.approx(1138, abs=0.5)


@given(share=st.floats(0.01, 0.999), thickness=st.floats(1, 80))
def test_the_mean_is_there_before_the_middle(share: float, thickness: float) -> None:
    slab: dict[str, Any] = {"thickness_mm": thickness, "diffusivity_mm2_s": 0.1}
    mean_s = wall_time_s(share, mean_share, **slab)
    assert 0 <= mean_s <= wall_time_s(share, centre_share, **slab) + 1e-6


@given(
    set_c=st.integers(145, 180),
    thickness=st.floats(2, 60),
    cooling=st.sampled_from([TWO_FACES, ONE_FACE, AIR]),
)
def test_a_piece_is_pressed_at_once_and_again_until_it_is_cool(
    set_c: int, thickness: float, cooling: str
) -> None:
    plan = heat_plan(HDPE, set_c=set_c, thickness_mm=thickness, cooling=cooling)
    assert plan.press_at_s[0] == 0
    assert list(plan.press_at_s) == sorted(set(plan.press_at_s))
    times = [*plan.press_at_s, plan.hold.s]
    assert all(b - a <= PRESS_AGAIN_S_MAX for a, b in pairwise(times))
    assert plan.melt.low_s <= plan.melt.s <= plan.melt.high_s
    assert plan.hold.low_s <= plan.hold.s <= plan.hold.high_s


def test_a_thick_sheet_in_air_is_pressed_for_about_an_hour() -> None:
    """Common practice, no published source: pressure renewed every 5 to 10 minutes for an hour."""
    plan = heat_plan(HDPE, set_c=180, thickness_mm=35, cooling=AIR)
    assert 45 * 60 < plan.hold.s < 75 * 60
    gaps = [b - a for a, b in pairwise(plan.press_at_s)]
    assert all(4 * 60 <= gap <= 10 * 60 for gap in gaps)


def test_the_highest_temperature_is_the_lowest_of_all_limits() -> None:
    assert highest_set_c(HDPE, limit_c=180, source_c_max=250) == 180
    assert highest_set_c(HDPE, limit_c=180, source_c_max=170) == 170
    assert highest_set_c(HDPE, limit_c=300, source_c_max=250) == 200
    assert lowest_set_c(HDPE) == 160
    assert trial_steps_c(160, 185) == (160, 170, 180, 185)


def test_too_cool_a_plate_or_too_warm_a_wall_is_refused() -> None:
    with pytest.raises(ValueError, match="melt"):
        heat_plan(HDPE, set_c=138, thickness_mm=10, cooling=TWO_FACES)
    with pytest.raises(ValueError, match="release"):
        heat_plan(HDPE, set_c=180, thickness_mm=10, cooling=TWO_FACES, wall_c=85)


def test_the_log_corrects_the_reckoning() -> None:
    """By hand: (ln 2 + ln 2)/3 is 2^(2/3) = 1.587 times longer."""
    assert slower_times([]) == 1
    assert slower_times([2.0, 2.0]) == pytest.approx(2 ** (2 / 3))
    plain = heat_plan(HDPE, set_c=180, thickness_mm=20, cooling=AIR)
    slow = heat_plan(HDPE, set_c=180, thickness_mm=20, cooling=AIR, cools_slower_times=1.5)
    assert slow.hold.s == pytest.approx(1.5 * plain.hold.s, abs=1)
    assert slow.melt == plain.melt


def test_force_is_pressure_times_area() -> None:
    """By hand: 1 MPa × 0.3 m × 0.3 m = 90 kN; ten tonnes of 9.80665 N/kg are 98.07 kN."""
    assert force_n(pressure_kpa=1_000, width_mm=300, length_mm=300) == 90_000
    assert pressure_kpa_max(rating_n=98_067, width_mm=300, length_mm=300) == 1_089
    assert pressure_kpa_max(rating_n=196_133, width_mm=500, length_mm=500) == 784


@given(st.integers(1, 10_000_000), st.integers(1, 3_000), st.integers(1, 3_000))
def test_the_highest_pressure_stays_within_the_rating(rating: int, width: int, length: int) -> None:
    kpa = pressure_kpa_max(rating_n=rating, width_mm=width, length_mm=length)
    assert force_n(pressure_kpa=kpa, width_mm=width, length_mm=length) <= rating
    assert force_n(pressure_kpa=kpa + 1, width_mm=width, length_mm=length) > rating


def test_a_mould_is_cut_larger_by_what_the_piece_shrinks() -> None:
    """By hand: 300 / 0.98 = 306.12, and 306.12 less 2 % is 300."""
    assert cavity_mm(Decimal(300), shrinkage_percent=Decimal(2)) == Decimal("306.1")
    with pytest.raises(ValueError, match="less"):
        cavity_mm(Decimal(300), shrinkage_percent=Decimal(100))
