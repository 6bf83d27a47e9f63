"""What places of a kind have in common: how fast, how evenly and on which weekdays they fill.

Empirical Bayes: a kind's typical rate and how far its places differ are learned from those that
were emptied, and drawn towards a starting guess while these are few.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from network.places.core.clock import DAYS_PER_WEEK
from network.places.core.history import Record

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

# Starting guesses without a source, from no measurement: how many running days a place of a kind
# takes to fill one container. Pickups soon outweigh them.
PRIOR_RUNNING_DAYS_TO_FILL: Mapping[str, int] = {
    "school": 20,
    "cafe": 15,
    "salon": 30,
    "cleaner": 10,
    "other": 20,
}
# The rest are guesses of the same sort; the back-test in tests/benchmarks/forecast holds them to
# account. Spreads are of natural logarithms; weights are in containers or in cycles.
_SPREAD_GUESS = 0.7
_SPREAD_RANGE = (0.25, 1.2)
_KIND_WEIGHT = 2.0
_BURST_GUESS = 0.05
_BURST_RANGE = (0.005, 0.5)
_BURST_WEIGHT = 2.0
_WEEKDAY_SD = 0.1
_WEEKDAY_RANGE = (0.2, 3.0)
_LEVEL_MIN = 0.02
# Of a container that looks full it is not known how much it was brought.
LOOKS_FULL = 0.9
# How likely it is, on each working day, that a place's rate jumps. Which of the first suits a kind
# is learned; the second says how likely each is before anything was seen.
JUMP_CHANCES, JUMP_PRIOR = (1 / 1000, 1 / 250, 1 / 100), (0.2, 0.6, 0.2)
# How far the level found at an emptying is off, as a fraction of the volume.
EMPTIED_SD = 0.05


@dataclass(frozen=True, kw_only=True)
class KindHabits:
    """How places of a kind fill, as fractions of their container's volume.

    `log_rate` is the natural logarithm of what a working day adds, `spread` how far that differs
    from place to place; `burst` is the variance of a fill over its mean, the size of a typical
    putting-in, and `jump_chance` how likely the rate jumps on a day. `weekdays` says how much
    more or less is put in from Monday to Sunday. `containers` counts those that were emptied and
    that all this rests on.
    """

    log_rate: float
    spread: float
    burst: float
    jump_chance: float = JUMP_CHANCES[1]
    weekdays: tuple[float, ...] = (1.0,) * DAYS_PER_WEEK
    containers: int = 0

    def __post_init__(self) -> None:
        if len(self.weekdays) != DAYS_PER_WEEK or min(self.weekdays) <= 0:
            raise ValueError("a week has seven days, each above nothing")
        if self.spread <= 0 or self.burst <= 0:
            raise ValueError("spread and burst are above nothing")
        if not 0 <= self.jump_chance < 1:
            raise ValueError("a chance is from nothing to below one")


def guessed_habits(place_kind: str) -> KindHabits:
    """Return the starting guess for a kind of place of which none was emptied yet."""
    days = PRIOR_RUNNING_DAYS_TO_FILL.get(place_kind, PRIOR_RUNNING_DAYS_TO_FILL["other"])
    return KindHabits(log_rate=-float(np.log(days)), spread=_SPREAD_GUESS, burst=_BURST_GUESS)


def habits_shown(record: Record) -> dict[str, KindHabits]:
    """Return the habits of each kind of place in a record, as far as its emptyings show them.

    How likely rates jump they do not show by themselves: see `learning.learn_habits`.
    """
    names = sorted(set(record.kinds))
    number = {name: index for index, name in enumerate(names)}
    kind_of = np.array([number[kind] for kind in record.kinds], dtype=np.int64)
    weekdays = _weekdays(record, kind_of, len(names))
    cycles = _cycles(replace(record, shape=weekdays[kind_of]), kind_of)
    habits = {}
    for index, name in enumerate(names):
        part = cycles.of_kind(index)
        burst = _burst(part)
        mean, spread, containers = _typical(name, part, burst)
        habits[name] = KindHabits(
            log_rate=mean,
            spread=spread,
            burst=burst,
            weekdays=tuple(weekdays[index].tolist()),
            containers=containers,
        )
    return habits


@dataclass(frozen=True, kw_only=True, eq=False)
class _Cycles:
    """From empty to emptied: whose, of which kind, over how many days by the clock, to what level.

    `row` is the sighting that ended it; `rate` the container's mean over all its cycles.
    """

    container: Indices
    kind: Indices
    row: Indices
    days: Floats
    level: Floats
    rate: Floats

    def of_kind(self, kind: int) -> "_Cycles":
        """Those of one kind of place."""
        return self.only(self.kind == kind)

    def only(self, chosen: NDArray[np.bool_]) -> "_Cycles":
        """Some of the cycles."""
        return _Cycles(**{name: values[chosen] for name, values in vars(self).items()})


def _cycles(record: Record, kind_of: Indices) -> _Cycles:
    row = np.flatnonzero(record.emptied & (record.since_empty > 0))
    container, count = record.container[row], len(kind_of)
    days, level = record.since_empty[row], record.level[row]
    rate = np.maximum(np.bincount(container, level, count), _LEVEL_MIN)
    rate /= np.maximum(np.bincount(container, days, count), 1)
    return _Cycles(
        container=container,
        kind=kind_of[container],
        row=row,
        days=days,
        level=level,
        rate=rate[container],
    )


def _weekdays(record: Record, kind_of: Indices, kinds: int) -> Floats:
    """A ridge regression of the levels found on the weekdays that led to them, kind by kind."""
    cycles = _cycles(record, kind_of)
    counts = np.zeros((len(cycles.row), DAYS_PER_WEEK))
    for weekday in range(DAYS_PER_WEEK):
        before = np.zeros((record.running.shape[0], record.running.shape[1] + 1))
        np.cumsum(record.running & (record.weekdays == weekday), axis=1, out=before[:, 1:])
        ended = before[cycles.container, record.day[cycles.row]]
        counts[:, weekday] = ended - before[cycles.container, record.empty_since[cycles.row]]
    return np.array(
        [
            _weekdays_of_kind(cycles.of_kind(kind), counts[cycles.kind == kind])
            for kind in range(kinds)
        ]
    ).reshape(-1, DAYS_PER_WEEK)


def _weekdays_of_kind(cycles: _Cycles, counts: Floats) -> Floats:
    fits = cycles.level < LOOKS_FULL
    rate, days = cycles.rate[fits], cycles.days[fits]
    weight = 1 / (_BURST_GUESS * rate * days + EMPTIED_SD**2)
    by_weekday = rate[:, None] * counts[fits]
    missed = cycles.level[fits] - rate * days
    normal = (by_weekday * weight[:, None]).T @ by_weekday
    normal += np.eye(DAYS_PER_WEEK) / _WEEKDAY_SD**2
    shape = np.clip(1 + np.linalg.solve(normal, by_weekday.T @ (weight * missed)), *_WEEKDAY_RANGE)
    lived = counts.sum(axis=0)
    # A working day stays a day on the mean, so that rates keep their meaning.
    mean = (shape * lived).sum() / lived.sum() if lived.sum() else 1.0
    scaled: Floats = shape / mean
    return scaled


def _burst(cycles: _Cycles) -> float:
    """How far the cycles' levels differ beyond the slips of measuring, over their mean."""
    number = np.bincount(cycles.container)[cycles.container]
    # One mean is fitted to each container's cycles, which takes a degree of freedom.
    freedom = (number - 1) / np.maximum(number, 1)
    means = cycles.rate * cycles.days
    excess = (cycles.level - means) ** 2 - EMPTIED_SD**2 * freedom
    # A single wild cycle must not make a whole kind look bursty.
    excess = np.minimum(excess, 4 * _BURST_RANGE[1] * means)
    fits = cycles.level < LOOKS_FULL
    over = (excess * fits).sum() + _BURST_WEIGHT * _BURST_GUESS
    under = (means * freedom * fits).sum() + _BURST_WEIGHT
    return float(np.clip(over / under, *_BURST_RANGE))


def _typical(kind: str, cycles: _Cycles, burst: float) -> tuple[float, float, int]:
    """A kind's mean log rate and spread, drawn towards the guess; and how many it rests on."""
    guess = guessed_habits(kind).log_rate
    known, first = np.unique(cycles.container, return_index=True)
    rates = np.log(cycles.rate[first])
    levels = np.bincount(cycles.container, cycles.level)[known] if len(known) else rates
    variances = burst / np.maximum(levels, _LEVEL_MIN)
    weights = _SPREAD_GUESS**2 / (_SPREAD_GUESS**2 + variances)
    total = _KIND_WEIGHT + weights.sum()
    mean = (_KIND_WEIGHT * guess + (weights * rates).sum()) / total
    squares = (weights * np.maximum((rates - mean) ** 2 - variances, 0)).sum()
    spread = np.sqrt((_KIND_WEIGHT * _SPREAD_GUESS**2 + squares) / total)
    return float(mean), float(np.clip(spread, *_SPREAD_RANGE)), len(known)
