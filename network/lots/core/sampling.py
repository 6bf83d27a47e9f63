"""What a sample says about the whole: contamination by mass, with an interval."""

from dataclasses import dataclass

from scipy.stats import beta

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
