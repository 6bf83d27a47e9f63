"""What driven legs say about planned ones, by hand-worked numbers."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.pickups.core.learning import (
    CORRECTION_MAX,
    CORRECTION_MIN,
    LEGS_MIN,
    Leg,
    learn,
)

legs = st.builds(Leg, planned_s=st.integers(60, 4_000), driven_s=st.integers(1, 40_000))


def driven(ratios: list[float], planned_s: int = 1_000) -> list[Leg]:
    return [Leg(planned_s=planned_s, driven_s=round(planned_s * ratio)) for ratio in ratios]


def test_the_more_legs_there_are_the_more_they_are_believed() -> None:
    # 1.2 to the power of n / (n + 20): of 20 legs half, of 80 four fifths.
    assert learn(driven([1.2] * 20)).suggested == Decimal("1.10")  # type: ignore[union-attr]
    assert learn(driven([1.2] * 80)).suggested == Decimal("1.16")  # type: ignore[union-attr]


def test_a_lunch_break_moves_nothing() -> None:
    usual = [0.9, 1.0, 1.1] * 10
    calm, broken = learn(driven([*usual, 1.0])), learn(driven([*usual, 9.0]))
    assert calm is not None
    assert broken is not None
    assert calm.median_ratio == broken.median_ratio == 1
    assert calm.suggested == broken.suggested == 1


def test_of_few_legs_nothing_is_said() -> None:
    assert learn(driven([1.5] * (LEGS_MIN - 1))) is None
    told = learn(driven([1.5] * LEGS_MIN))
    assert told is not None
    assert told.legs == LEGS_MIN


def test_a_leg_too_short_to_tell_does_not_count() -> None:
    short = driven([3.0] * 50, planned_s=59)
    assert learn(short) is None
    told = learn([*short, *driven([1.0] * LEGS_MIN)])
    assert told is not None
    assert told.legs == LEGS_MIN


@pytest.mark.parametrize(("ratio", "limit"), [(40.0, CORRECTION_MAX), (0.01, CORRECTION_MIN)])
def test_what_cannot_be_is_not_suggested(ratio: float, limit: Decimal) -> None:
    told = learn(driven([ratio] * 500))
    assert told is not None
    assert told.suggested == limit


@given(st.lists(legs, min_size=LEGS_MIN, max_size=60))
def test_what_is_suggested_lies_between_no_correction_and_the_median(found: list[Leg]) -> None:
    told = learn(found)
    assert told is not None
    # Both are rounded to a hundredth.
    near = Decimal("0.01")
    least, greatest = sorted([Decimal(1), told.median_ratio])
    assert max(least, CORRECTION_MIN) - near <= told.suggested or told.suggested == CORRECTION_MAX
    assert told.suggested <= greatest + near or told.suggested == CORRECTION_MIN
