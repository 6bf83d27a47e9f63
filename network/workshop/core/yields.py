"""How much of what goes in comes out: a prior until there is a history, and then the history.

A yield is a share by mass, so its uncertainty is a beta distribution. One run counts as ten looks,
whatever its mass above a kilogram: the grams of one run share its day, its load and its water.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from scipy.stats import beta

LOOKS_PER_RUN = 10.0
FULL_RUN_G = 1_000
CONFIDENCE = 0.95

# Common practice, no published source: shares to start from, each worth one run.
PRIOR_SHARE: Mapping[str, float] = MappingProxyType(
    {"wash": 0.95, "delabel": 0.97, "sort": 0.96, "shred": 0.99}
)


@dataclass(frozen=True, kw_only=True)
class Run:
    """What went into a run and what came out of it as lots, in g."""

    in_g: int
    out_g: int

    def __post_init__(self) -> None:
        if not 0 <= self.out_g <= self.in_g or self.in_g == 0:
            raise ValueError("what comes out is part of what went in")


@dataclass(frozen=True, kw_only=True)
class Yield:
    """A share from 0 to 1 with the ends of its 95 % interval, and how many runs it rests on."""

    share: float
    low: float
    high: float
    runs: int
    prior_share: float


def learned(kind: str, runs: Iterable[Run]) -> Yield:
    """Return the yield of a kind of process, its prior moved by the runs that there were.

    Raises KeyError for a kind that is none.
    """
    prior_share = PRIOR_SHARE[kind]
    kept, lost = LOOKS_PER_RUN * prior_share, LOOKS_PER_RUN * (1 - prior_share)
    count = 0
    for run in runs:
        looks = LOOKS_PER_RUN * min(1.0, run.in_g / FULL_RUN_G)
        kept += looks * run.out_g / run.in_g
        lost += looks * (run.in_g - run.out_g) / run.in_g
        count += 1
    tail = (1 - CONFIDENCE) / 2
    return Yield(
        share=kept / (kept + lost),
        low=float(beta.ppf(tail, kept, lost)),
        high=float(beta.ppf(1 - tail, kept, lost)),
        runs=count,
        prior_share=prior_share,
    )


def promised_g(mass_g: int, steps: Iterable[Yield]) -> tuple[int, int]:
    """Return what is expected of a mass after all steps, and what is promised: the low end."""
    expected, low = float(mass_g), float(mass_g)
    for step in steps:
        expected *= step.share
        low *= step.low
    return int(expected), int(low)
