"""How people tell how full a container is: who says too much or too little, and how surely."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from network.places.core.habits import EMPTIED_SD, LOOKS_FULL
from network.places.core.history import Record

Floats = NDArray[np.float64]

# Guesses that the back-test in tests/benchmarks/forecast holds to account; a weight is in reports.
_REPORT_SD_GUESS = 0.12
_REPORT_SD_RANGE = (0.05, 0.25)
_REPORT_WEIGHT = 10.0
_BIAS_SD = 0.1
_ODD_FROM_SD = 2.5
# The median absolute deviation of a normal distribution, in standard deviations, is 1 / 1.4826.
_MAD_TO_SD = 1.4826


@dataclass(frozen=True, kw_only=True, eq=False)
class Tellers:
    """What each person of a record says too much, and how far reports are off beside that.

    Both as fractions of the volume.
    """

    bias: Floats
    report_sd: float


def learn_tellers(record: Record, burst: Floats) -> Tellers:
    """Hold each report against a straight line from empty to what the next emptying found.

    A person's bias is drawn towards none while they have said little, and an odd report counts
    for no more than one at the edge of the usual. `burst` is that of each container.
    """
    end = record.next_emptied
    usable = (record.by >= 0) & (end >= 0) & ~record.emptied
    usable[usable] &= record.since_empty[end[usable]] > 0
    # Where it was full in the end, the line is not known to be straight.
    usable[usable] &= record.level[end[usable]] < LOOKS_FULL
    rows, ends, people = np.flatnonzero(usable), end[usable], len(record.people)
    if not len(rows):
        return Tellers(bias=np.zeros(people), report_sd=_REPORT_SD_GUESS)
    share = record.since_empty[rows] / record.since_empty[ends]
    error = record.level[rows] - share * record.level[ends]
    # Midway the line is least sure: a random walk held at both ends.
    wander = burst[record.container[rows]] * record.level[ends] * share * (1 - share)
    wander += (share * EMPTIED_SD) ** 2
    variance = _REPORT_SD_GUESS**2 + wander
    by = record.by[rows]
    odd_from = _ODD_FROM_SD * np.sqrt(variance)
    sums = np.bincount(by, np.clip(error, -odd_from, odd_from) / variance, people)
    bias = sums / (np.bincount(by, 1 / variance, people) + 1 / _BIAS_SD**2)
    return Tellers(bias=bias, report_sd=_spread(error - bias[by], wander))


def _spread(error: Floats, wander: Floats) -> float:
    """The spread of reports, by the median so that slips do not widen it."""
    typical = _MAD_TO_SD * np.median(np.abs(error))
    own = max(float(typical**2 - np.median(wander)), _REPORT_SD_RANGE[0] ** 2)
    total = _REPORT_WEIGHT + len(error)
    pooled = (_REPORT_WEIGHT * _REPORT_SD_GUESS**2 + len(error) * own) / total
    return float(np.clip(np.sqrt(pooled), *_REPORT_SD_RANGE))
