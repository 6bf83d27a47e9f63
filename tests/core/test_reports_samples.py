"""Shares with intervals against scipy and published examples; ranking; who has gone quiet."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta, binomtest

from network.reports.core.quality import (
    Look,
    change_between,
    contamination_of,
    design_effect,
    newcombe,
    pieces_in,
    wilson,
    worst_first,
)
from network.reports.core.regularity import regularity_of

looks = st.builds(
    lambda pieces, share: Look(pieces=pieces, found=pieces * share / 100),
    st.integers(1, 2_000),
    st.integers(0, 100),
)


def test_the_difference_of_two_shares_is_as_published() -> None:
    """56 of 70 less 48 of 80: 0.20, 0.0524 to 0.3339.

    Newcombe, Statistics in Medicine 17 (1998), table II, example (a), method 10; the figures are
    from memory, and are what the two score intervals give.
    """
    found = newcombe(wilson(found=56, sampled=70), wilson(found=48, sampled=80))
    assert found.change == pytest.approx(0.2)
    assert found.low == pytest.approx(0.0524, abs=5e-5)
    assert found.high == pytest.approx(0.3339, abs=5e-5)
    assert found.is_clear


@given(st.integers(1, 500), st.floats(0, 1))
def test_the_score_interval_is_that_of_scipy(sampled: int, share: float) -> None:
    found = round(sampled * share)
    ours, theirs = wilson(found=found, sampled=sampled), binomtest(found, sampled)
    low, high = theirs.proportion_ci(method="wilson")
    assert ours.low == pytest.approx(low, abs=1e-9)
    assert ours.high == pytest.approx(high, abs=1e-9)


def test_samples_alike_have_the_interval_of_jeffreys() -> None:
    """Four samples of 100 with 5 each: Beta(20.5, 380.5), by scipy."""
    found = contamination_of([Look(pieces=100, found=5)] * 4)
    assert (found.looks, found.pieces, found.effective) == (4, 400, 400)
    assert found.share.low == pytest.approx(beta.ppf(0.025, 20.5, 380.5))
    assert found.share.high == pytest.approx(beta.ppf(0.975, 20.5, 380.5))


def test_samples_that_differ_much_tell_less() -> None:
    alike = contamination_of([Look(pieces=100, found=10)] * 4)
    uneven = contamination_of([Look(pieces=100, found=n) for n in (0, 0, 0, 40)])
    assert uneven.share.share == alike.share.share
    assert uneven.effective < alike.effective
    assert uneven.share.high > alike.share.high


@given(st.lists(looks, min_size=1, max_size=12))
def test_a_share_lies_in_its_interval_and_spread_never_makes_it_surer(found: list[Look]) -> None:
    said = contamination_of(found)
    assert 0 <= said.share.low <= said.share.share <= said.share.high <= 1
    assert 1 <= said.effective <= said.pieces
    assert design_effect(found) >= 1


def test_a_place_with_two_bags_is_not_set_beside_one_with_two_hundred() -> None:
    little = contamination_of([Look(pieces=20, found=10)] * 2)
    much = contamination_of([Look(pieces=50, found=5)] * 200)
    some = contamination_of([Look(pieces=50, found=4)] * 5)
    order = [name for name, _ in worst_first([("little", little), ("some", some), ("much", much)])]
    assert order == ["much", "some", "little"]
    assert little.is_too_little
    assert not much.is_too_little


def test_a_rule_that_helped_shows_and_one_that_may_not_have_is_not_called_clear() -> None:
    before = contamination_of([Look(pieces=100, found=12)] * 4)
    after = contamination_of([Look(pieces=100, found=4)] * 4)
    change = change_between(before, after)
    assert change.change == pytest.approx(-0.08)
    assert change.is_clear
    assert not change_between(before, contamination_of([Look(pieces=25, found=2)])).is_clear


def test_a_sample_is_as_many_pieces_as_it_weighs() -> None:
    """50 g of 1,000 g at 2 g a cap: 25 of 500."""
    assert pieces_in(1_000, 50, 2.0) == Look(pieces=500, found=25)
    assert pieces_in(10, 10, 40.0) == Look(pieces=1, found=1)


@pytest.mark.parametrize(("since", "quiet"), [(42, False), (43, True)])
def test_a_place_is_quiet_after_three_of_its_usual_gaps(since: int, quiet: bool) -> None:
    """Every 14 days: after 3 × 14 = 42 days."""
    found = regularity_of([14, 14, 14], since_days=since)
    assert (found.usual_gap_days, found.quiet_after_days) == (14, 42)
    assert found.is_quiet is quiet


def test_of_two_visits_nobody_knows_what_is_usual() -> None:
    assert not regularity_of([14], since_days=400).is_quiet
    assert regularity_of([], since_days=400).usual_gap_days is None
