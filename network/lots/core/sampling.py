"""What a sample says about the whole: contamination by mass, with an interval."""

from dataclasses import dataclass
from math import ceil

from scipy.stats import beta, hypergeom

CONFIDENCE = 0.95


@dataclass(frozen=True, kw_only=True)
class Share:
    """A share between 0 and 1, with the ends of its interval."""

    share: float
    low: float
    high: float


def clopper_pearson(*, found: int, sampled: int, confidence: float = CONFIDENCE) -> Share:
    """Return the share of so many found among so many looked at, with its exact interval.

    Source: Clopper and Pearson, Biometrika 26 (1934), 404-413. Raises ValueError when nothing was
    looked at or more was found than that.
    """
    if not 0 <= found <= sampled or sampled == 0:
        raise ValueError("what was found is part of what was looked at")
    tail = (1 - confidence) / 2
    return Share(
        share=found / sampled,
        low=0.0 if found == 0 else float(beta.ppf(tail, found, sampled - found + 1)),
        high=1.0 if found == sampled else float(beta.ppf(1 - tail, found + 1, sampled - found)),
    )


def contamination(*, found_g: int, sample_g: int, piece_g: int, whole_g: int) -> Share:
    """Return the contamination by mass that a sample shows, with an interval for the whole.

    A gram is not an independent look, a piece is: the interval is that of as many looks as the
    sample has pieces of `piece_g`. A sample of everything leaves nothing open.
    """
    if not 0 <= found_g <= sample_g or sample_g == 0:
        raise ValueError("what was found is part of what was looked at")
    share = found_g / sample_g
    if sample_g >= whole_g:
        return Share(share=share, low=share, high=share)
    pieces = max(1, sample_g // max(1, piece_g))
    interval = clopper_pearson(found=round(share * pieces), sampled=pieces)
    return Share(share=share, low=min(interval.low, share), high=max(interval.high, share))


def beta_interval(*, found: int, sampled: int, confidence: float = CONFIDENCE) -> Share:
    """Return the share of so many found, as Bayes sees it: the middle 95 % of its posterior.

    From Jeffreys' prior, Beta(1/2, 1/2); `share` is the posterior's mean. Raises ValueError when
    nothing was looked at or more was found than that.
    """
    if not 0 <= found <= sampled or sampled == 0:
        raise ValueError("what was found is part of what was looked at")
    tail = (1 - confidence) / 2
    posterior = beta(found + 0.5, sampled - found + 0.5)
    return Share(
        share=float(posterior.mean()),
        low=float(posterior.ppf(tail)),
        high=float(posterior.ppf(1 - tail)),
    )


def chance_to_catch(*, looked_at: int, whole: int | None, limit_share: float) -> float:
    """Return the chance that at least one bad piece is among those looked at.

    Of a whole of so many pieces, of which the limit's share (rounded up, at least one) is bad:
    hypergeometric, without putting back. Of a whole without number: binomial. Raises ValueError
    for a share not between 0 and 1, or more looked at than there is.
    """
    if not 0 < limit_share <= 1:
        raise ValueError("a limit is a share above 0 and at most 1")
    if whole is None:
        return float(1 - (1 - limit_share) ** looked_at)
    if not 0 <= looked_at <= whole:
        raise ValueError("no more can be looked at than there is")
    return float(1 - hypergeom.pmf(0, whole, bad_pieces(whole, limit_share), looked_at))


def bad_pieces(whole: int, limit_share: float) -> int:
    """Return how many pieces of a whole reach the limit: rounded up, at least one."""
    # A product such as 0.07 × 100 lies a hair above its whole number.
    return max(1, ceil(limit_share * whole - 1e-9))


def pieces_to_look_at(*, whole: int | None, limit_share: float, chance: float) -> int:
    """Return the fewest pieces that catch a contamination at the limit with at least this chance.

    Raises ValueError for a chance or share that is none.
    """
    if not 0 < chance < 1:
        raise ValueError("a chance is between 0 and 1")
    too_few, enough = 0, 1
    while chance_to_catch(looked_at=enough, whole=whole, limit_share=limit_share) < chance:
        too_few, enough = enough, enough * 2 if whole is None else min(whole, enough * 2)
    while enough - too_few > 1:
        half = (too_few + enough) // 2
        if chance_to_catch(looked_at=half, whole=whole, limit_share=limit_share) < chance:
            too_few = half
        else:
            enough = half
    return enough
