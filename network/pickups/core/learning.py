"""What driven legs say about planned ones: one correction of the seconds, for a maker to accept.

The median of driven over planned time is not moved by a lunch break or a closed bridge (Huber,
Robust Statistics, 1981). It is believed as far as there are legs: n of them count n / (n + 20),
the credibility of Bühlmann (Experience rating and credibility, ASTIN Bulletin 4, 1967), on the
logarithm, so that twice as long and half as long weigh the same. The 20 and the limits are our own,
without a source.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

LEGS_MIN = 10
"""Of fewer legs nothing is said."""

HALF_BELIEVED_LEGS = 20
CORRECTION_MIN, CORRECTION_MAX = Decimal("0.50"), Decimal("2.00")
PLANNED_S_MIN = 60
"""A shorter leg says more about parking than about driving."""


@dataclass(frozen=True, kw_only=True)
class Leg:
    """A leg from one visit to the next, as planned without any correction and as driven, in s."""

    planned_s: int
    driven_s: int


@dataclass(frozen=True, kw_only=True)
class Learnt:
    """What some legs say: how many there were, their median ratio, and what we suggest."""

    legs: int
    median_ratio: Decimal
    suggested: Decimal


def learn(legs: Iterable[Leg]) -> Learnt | None:
    """Return the correction that legs suggest, to a hundredth; None of fewer than LEGS_MIN."""
    ratios = [leg.driven_s / leg.planned_s for leg in legs if _tells(leg)]
    if len(ratios) < LEGS_MIN:
        return None
    middle = median(ratios)
    weight = len(ratios) / (len(ratios) + HALF_BELIEVED_LEGS)
    suggested = round(Decimal(math.exp(weight * math.log(middle))), 2)
    return Learnt(
        legs=len(ratios),
        median_ratio=round(Decimal(middle), 2),
        suggested=min(max(suggested, CORRECTION_MIN), CORRECTION_MAX),
    )


def _tells(leg: Leg) -> bool:
    return leg.planned_s >= PLANNED_S_MIN and leg.driven_s > 0
