"""How regularly a place gives, and whether it has gone quiet."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil
from statistics import mean, median

VISITS_MIN = 3
# Were visits to come by chance, one gap in twenty would be longer than three mean ones: e^-3 is
# 0.0498. Visits that come regularly are longer apart still more rarely.
GAPS_MAX = 3


@dataclass(frozen=True, kw_only=True)
class Regularity:
    """The gaps between a place's visits, in days, and how long it has been since the last.

    `quiet_after_days` is None while there are too few visits to know what is usual.
    """

    visits: int
    usual_gap_days: float | None
    since_days: int
    quiet_after_days: int | None

    @property
    def is_quiet(self) -> bool:
        """Whether it has been longer than it hardly ever is."""
        return self.quiet_after_days is not None and self.since_days > self.quiet_after_days


def regularity_of(gaps_days: Sequence[int], *, since_days: int) -> Regularity:
    """Return how regular the visits of a place are, by the gaps between them in running days.

    A gap of none, of two visits with only closed days between them, counts as one day.
    """
    gaps = [max(1, gap) for gap in gaps_days]
    visits = len(gaps) + 1
    enough = visits >= VISITS_MIN
    return Regularity(
        visits=visits,
        usual_gap_days=float(median(gaps)) if gaps else None,
        since_days=since_days,
        quiet_after_days=ceil(GAPS_MAX * mean(gaps)) if enough else None,
    )


@dataclass(frozen=True, kw_only=True)
class Participation:
    """Of the places that could give in a month, how many did."""

    month: date
    could: int
    gave: int

    @property
    def share(self) -> float | None:
        """The share that gave; None where none could."""
        return self.gave / self.could if self.could else None
