"""Contamination from a sample, against scipy and a published interval."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from network.lots.core.sampling import clopper_pearson, contamination


def test_none_found_in_a_hundred_still_leaves_three_or_so_per_cent_open() -> None:
    """The one-sided 95 % bound of none in n is about 3/n, the 'rule of three'.

    Hanley and Lippman-Hand, JAMA 249 (1983), 1743-1745; from memory. At 90 % two-sided the upper
    tail is 5 %.
    """
    none = clopper_pearson(found=0, sampled=100, confidence=0.90)
    assert none.low == 0
    assert none.high == pytest.approx(0.03, abs=0.001)
    assert none.high == pytest.approx(1 - 0.05 ** (1 / 100))


@given(sampled=st.integers(1, 2_000), data=st.data())
def test_it_agrees_with_scipy(sampled: int, data: st.DataObject) -> None:
    found = data.draw(st.integers(0, sampled))
    ours = clopper_pearson(found=found, sampled=sampled)
    theirs = binomtest(found, sampled).proportion_ci(confidence_level=0.95, method="exact")
    assert ours.low == pytest.approx(theirs.low, abs=1e-9)
    assert ours.high == pytest.approx(theirs.high, abs=1e-9)


@given(
    sample_g=st.integers(1, 5_000),
    more_g=st.integers(1, 50_000),
    piece_g=st.integers(1, 40),
    data=st.data(),
)
def test_the_share_lies_in_its_interval(
    sample_g: int, more_g: int, piece_g: int, data: st.DataObject
) -> None:
    found_g = data.draw(st.integers(0, sample_g))
    seen = contamination(
        found_g=found_g, sample_g=sample_g, piece_g=piece_g, whole_g=sample_g + more_g
    )
    assert 0 <= seen.low <= seen.share <= seen.high <= 1


def test_a_larger_sample_of_the_same_share_says_more() -> None:
    small = contamination(found_g=10, sample_g=200, piece_g=2, whole_g=10_000)
    large = contamination(found_g=100, sample_g=2_000, piece_g=2, whole_g=10_000)
    assert small.share == large.share == 0.05
    assert large.high - large.low < small.high - small.low


def test_heavy_pieces_say_less_than_light_ones_of_the_same_mass() -> None:
    caps = contamination(found_g=50, sample_g=1_000, piece_g=2, whole_g=10_000)
    bottles = contamination(found_g=50, sample_g=1_000, piece_g=40, whole_g=10_000)
    assert bottles.high > caps.high


def test_having_looked_at_all_of_it_leaves_nothing_open() -> None:
    seen = contamination(found_g=30, sample_g=1_000, piece_g=2, whole_g=1_000)
    assert (seen.low, seen.share, seen.high) == (0.03, 0.03, 0.03)


@pytest.mark.parametrize(("found", "sampled"), [(3, 2), (0, 0), (-1, 5)])
def test_more_than_was_looked_at_is_refused(found: int, sampled: int) -> None:
    with pytest.raises(ValueError, match="part of"):
        clopper_pearson(found=found, sampled=sampled)
