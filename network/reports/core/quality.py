"""What samples say about places, streams and rules: shares with intervals, and their difference."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot, sqrt
from typing import TypeVar

from scipy.stats import norm

from network.lots.core.sampling import CONFIDENCE, Share, beta_interval

T = TypeVar("T")
# Fewer samples than this are no ground to set a place beside others: common practice, no
# published source.
LOOKS_MIN = 3


@dataclass(frozen=True, kw_only=True)
class Look:
    """One sample: how many pieces were looked at, and how many of them did not belong."""

    pieces: int
    found: float

    def __post_init__(self) -> None:
        if self.pieces < 1 or not 0 <= self.found <= self.pieces:
            raise ValueError("what was found is part of what was looked at")


@dataclass(frozen=True, kw_only=True)
class Contamination:
    """A share of pieces with its interval, and what it rests on.

    `effective` is how many independent pieces tell as much: fewer, where samples differ more among
    each other than chance makes them.
    """

    share: Share
    looks: int
    pieces: int
    effective: int

    @property
    def is_too_little(self) -> bool:
        """Whether there are too few samples to be set beside others."""
        return self.looks < LOOKS_MIN


def contamination_of(looks: Sequence[Look]) -> Contamination:
    """Return the share over all samples, with the interval of so many independent pieces.

    Jeffreys' interval (Brown, Cai and DasGupta, Statistical Science 16 (2001), 101-133), with the
    number of pieces divided by the design effect of the samples (Kish, Survey Sampling, 1965, read
    in secondary sources). Raises ValueError without any sample.
    """
    if not looks:
        raise ValueError("there is nothing to say without a sample")
    pieces = sum(look.pieces for look in looks)
    share = sum(look.found for look in looks) / pieces
    effective = max(1, round(pieces / design_effect(looks)))
    interval = beta_interval(found=round(share * effective), sampled=effective)
    return Contamination(
        share=Share(share=share, low=min(interval.low, share), high=max(interval.high, share)),
        looks=len(looks),
        pieces=pieces,
        effective=effective,
    )


def design_effect(looks: Sequence[Look]) -> float:
    """Return by how much the samples' spread is more than chance alone gives; at least one.

    The variance of a ratio over samples of their own size, divided by that of as many independent
    pieces. A single sample says nothing of the spread.
    """
    pieces = sum(look.pieces for look in looks)
    share = sum(look.found for look in looks) / pieces
    count = len(looks)
    if count < 2 or not 0 < share < 1:  # noqa: PLR2004  # one sample has no spread
        return 1.0
    between = sum((look.found - share * look.pieces) ** 2 for look in looks)
    variance = between * count / ((count - 1) * pieces**2)
    return max(1.0, variance * pieces / (share * (1 - share)))


@dataclass(frozen=True, kw_only=True)
class Difference:
    """How much a share changed: after less before, with the ends of its 95 % interval."""

    change: float
    low: float
    high: float

    @property
    def is_clear(self) -> bool:
        """Whether chance alone hardly makes such a change."""
        return self.low > 0 or self.high < 0


def change_between(before: Contamination, after: Contamination) -> Difference:
    """Return the change of a share, with its interval.

    Newcombe, Statistics in Medicine 17 (1998), 873-890, method 10: from the two score intervals
    (Wilson 1927).
    """
    first, second = (
        wilson(found=one.share.share * one.effective, sampled=one.effective)
        for one in (before, after)
    )
    return newcombe(second, first)


def newcombe(one: Share, other: Share) -> Difference:
    """Return one share less another with the interval of Newcombe's method 10."""
    change = one.share - other.share
    return Difference(
        change=change,
        low=change - hypot(one.share - one.low, other.high - other.share),
        high=change + hypot(one.high - one.share, other.share - other.low),
    )


def wilson(*, found: float, sampled: int, confidence: float = CONFIDENCE) -> Share:
    """Return a share with its score interval; Wilson, JASA 22 (1927), 209-212."""
    z = float(norm.ppf((1 + confidence) / 2))
    share, spread = found / sampled, z**2 / sampled
    middle = share + spread / 2
    half = z * sqrt((share * (1 - share) + spread / 4) / sampled)
    return Share(
        share=share,
        low=min(share, max(0.0, (middle - half) / (1 + spread))),
        high=max(share, min(1.0, (middle + half) / (1 + spread))),
    )


def pieces_in(sample_g: int, found_g: int, piece_g: float) -> Look:
    """Return a sample weighed in g as pieces; less than a piece counts as one."""
    pieces = max(1, int(sample_g / max(piece_g, 1.0)))
    return Look(pieces=pieces, found=min(pieces, found_g / sample_g * pieces))


def worst_first(rows: Iterable[tuple[T, Contamination]]) -> list[tuple[T, Contamination]]:
    """Order by the low end of the interval, so that little data is never worst by chance.

    Those with too few samples stand last, the most sampled first: they are not ranked.
    """
    return sorted(
        rows,
        key=lambda row: (
            row[1].is_too_little,
            -row[1].looks if row[1].is_too_little else -row[1].share.low,
        ),
    )
