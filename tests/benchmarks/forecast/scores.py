"""How good a distribution of levels turned out: CRPS, and whether its intervals hold."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.forecast.models import Cdf, all_of
from tests.benchmarks.forecast.series import Series

Floats = NDArray[np.float64]
# Levels are said in whole per cent of the volume: an interval holds if the rounded level is in it.
_HALF_PERCENT = 0.005
_STEP = 0.02
_GRID = np.arange(_STEP / 2, 3.0, _STEP)


@dataclass(frozen=True, kw_only=True)
class Score:
    """One model's scores: mean CRPS in per cent of the volume, and how many 90 % intervals hold."""

    model: str
    cases: int
    crps: float
    holds_90: float
    holds_50: float

    def text(self) -> str:
        """The row in columns."""
        return (
            f"{self.model:24} {self.cases:7} {self.crps:8.2f} {self.holds_90 * 100:9.1f}"
            f" {self.holds_50 * 100:9.1f}"
        )


HEADER = f"{'model':24} {'cases':>7} {'CRPS %':>8} {'in 90 %':>9} {'in 50 %':>9}"


def back_test(
    series: Iterable[Series], *, origins: Sequence[int], ahead: Sequence[int]
) -> list[Score]:
    """Score every model on all series, from each origin for each number of days ahead.

    A container that is emptied in between is left out: its level is known then.
    """
    crps: dict[str, list[Floats]] = defaultdict(list)
    low: dict[str, list[Floats]] = defaultdict(list)
    high: dict[str, list[Floats]] = defaultdict(list)
    for one in series:
        for origin in origins:
            models = all_of(one, origin, ahead)
            for step, days in enumerate(ahead):
                stayed = one.emptied_on[:, origin + days] <= origin
                truth = one.brought[:, origin + days]
                for name, steps in models.items():
                    crps[name].append(_crps(steps[step], truth)[stayed])
                    low[name].append(steps[step](truth + _HALF_PERCENT)[stayed])
                    high[name].append(steps[step](truth - _HALF_PERCENT)[stayed])
    return [
        _score(
            name, np.concatenate(crps[name]), np.concatenate(low[name]), np.concatenate(high[name])
        )
        for name in crps
    ]


def _score(name: str, crps: Floats, below: Floats, above: Floats) -> Score:
    return Score(
        model=name,
        cases=len(crps),
        crps=float(crps.mean()) * 100,
        holds_90=float(((below >= 0.05) & (above <= 0.95)).mean()),
        holds_50=float(((below >= 0.25) & (above <= 0.75)).mean()),
    )


def _crps(cdf: Cdf, truth: Floats) -> Floats:
    """The integral of the squared gap between the distribution and the step at the truth."""
    total: Floats = np.zeros(len(truth))
    for level in _GRID:
        total += (cdf(float(level)) - (truth <= level)) ** 2 * _STEP
    return total
