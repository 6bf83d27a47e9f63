"""How much to look at: against scipy, counting by hand, and published plans."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, hypergeom

from network.lots.core.sampling import (
    bad_pieces,
    beta_interval,
    chance_to_catch,
    pieces_to_look_at,
)


@pytest.mark.parametrize(
    ("limit", "chance", "pieces"),
    [
        # Success-run theorem, n = ln(1 - C)/ln R: the well-known 59 (95/95), 22 (90/90) and
        # 299 (99/95) samples without a failure; from memory.
        (0.05, 0.95, 59),
        (0.10, 0.90, 22),
        (0.01, 0.95, 299),
    ],
)
def test_published_plans_without_a_failure(limit: float, chance: float, pieces: int) -> None:
    assert pieces_to_look_at(whole=None, limit_share=limit, chance=chance) == pieces


def test_the_chance_is_that_of_counting_all_samples() -> None:
    """Ten pieces of which two are bad: count the samples of three that hold one."""
    samples = list(combinations(range(10), 3))
    caught = [sample for sample in samples if min(sample) < 2]
    ours = chance_to_catch(looked_at=3, whole=10, limit_share=0.2)
    assert ours == pytest.approx(len(caught) / len(samples))


@given(
    whole=st.integers(1, 3_000),
    limit=st.floats(0.001, 1),
    chance=st.floats(0.01, 0.995),
)
def test_it_is_the_fewest_that_reach_the_chance(whole: int, limit: float, chance: float) -> None:
    pieces = pieces_to_look_at(whole=whole, limit_share=limit, chance=chance)
    bad = bad_pieces(whole, limit)
    assert 1 <= pieces <= whole
    assert 1 - hypergeom.pmf(0, whole, bad, pieces) >= chance
    if pieces > 1:
        assert 1 - hypergeom.pmf(0, whole, bad, pieces - 1) < chance


@given(limit=st.floats(0.001, 0.9), pieces=st.integers(0, 500))
def test_without_a_known_whole_it_is_binomial(limit: float, pieces: int) -> None:
    ours = chance_to_catch(looked_at=pieces, whole=None, limit_share=limit)
    assert ours == pytest.approx(1 - binom.pmf(0, pieces, limit), abs=1e-9)


@given(whole=st.integers(10, 2_000), chance=st.floats(0.05, 0.99))
def test_a_small_whole_never_needs_more_than_a_large_one(whole: int, chance: float) -> None:
    of_whole = pieces_to_look_at(whole=whole, limit_share=0.1, chance=chance)
    assert of_whole <= pieces_to_look_at(whole=None, limit_share=0.1, chance=chance)


def test_jeffreys_interval_is_the_published_one() -> None:
    """Brown, Cai and DasGupta, Statistical Science 16 (2001), Table 5: n = 10, x = 1; memory."""
    seen = beta_interval(found=1, sampled=10)
    assert (round(seen.low, 3), round(seen.high, 3)) == (0.011, 0.381)
    assert seen.share == pytest.approx(1.5 / 11)


@given(sampled=st.integers(1, 1_000), data=st.data())
def test_the_share_lies_in_its_interval(sampled: int, data: st.DataObject) -> None:
    seen = beta_interval(found=data.draw(st.integers(0, sampled)), sampled=sampled)
    assert 0 <= seen.low < seen.share < seen.high <= 1


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="limit"):
        chance_to_catch(looked_at=1, whole=None, limit_share=0)
    with pytest.raises(ValueError, match="no more"):
        chance_to_catch(looked_at=11, whole=10, limit_share=0.5)
    with pytest.raises(ValueError, match="chance"):
        pieces_to_look_at(whole=None, limit_share=0.1, chance=1)
    with pytest.raises(ValueError, match="part of"):
        beta_interval(found=2, sampled=1)
