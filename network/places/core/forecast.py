"""How full containers are likely to be: a level and a rate for each, learned from what was seen.

The rate is one of a row of possible ones, each with its probability; given the rate, the level
is known to a mean and a variance. Between sightings the level rises by the rate on each working
day, in uneven portions, and the rate itself drifts a little and now and then jumps: a place
takes off or goes quiet. A sighting weighs the rates by how well they foresaw it; an odd one is
taken for a slip, or for an emptying that nobody told of, rather than believed. This is the
interacting multiple model filter (Blom and Bar-Shalom, IEEE Trans. Automatic Control 33, 1988;
cited from memory) over rates, for all containers at once. Everything is a fraction of the volume.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc, log_ndtr, ndtr

from network.places.core.habits import EMPTIED_SD, KindHabits, guessed_habits
from network.places.core.history import FillHistory, Record, record_of
from network.places.core.tellers import Tellers, learn_tellers

Floats = NDArray[np.float64]

# From a container that fills in a year of working days to one that fills in a day and a bit.
_RATES = np.exp(np.linspace(np.log(0.003), np.log(0.8), 31))
_STEP = float(np.log(_RATES[1] / _RATES[0]))
# Of the logarithm of the rate, on each working day; guesses that the back-test holds to account.
_DRIFT_SD = 0.035
_JUMP_SD = 0.8
# A sighting is a slip; or the container was emptied before it and nobody said so, or, if it never
# was emptied, was not empty when it was placed.
_SLIP_CHANCE = 0.04
_UNTOLD_CHANCE, _UNTOLD_AT_FIRST_CHANCE = 0.01, 0.15
# Then any level to half above the brim is as likely as another.
_ANY_LEVEL_DENSITY = 1 / 1.5
_SLIP = _SLIP_CHANCE * _ANY_LEVEL_DENSITY
_FULL = 1.0
_LEAST_VARIANCE = 1e-6
_LEAST_WEIGHT = 1e-12
_USUAL_OVER_DAYS = 60.0
_CHANGED_BY = np.log(1.5)
_CHANGED_SURELY = 0.85


@dataclass(frozen=True, kw_only=True, eq=False)
class Beliefs:
    """For each container and rate: how likely it is, and the level's mean and variance with it.

    They hold at `since` on the container's clock, just after the last sighting. `usual` is the
    log of the rate that it has long had; `emptied` counts its emptyings. `evidence` is the log of
    how likely all its sightings were beforehand.
    """

    record: Record
    habits: tuple[KindHabits, ...]
    weight: Floats
    mean: Floats
    variance: Floats
    since: Floats
    usual: Floats
    emptied: NDArray[np.int64]
    evidence: Floats

    @property
    def rate(self) -> Floats:
        """The expected share of its volume by which each container fills on a working day."""
        expected: Floats = self.weight @ _RATES
        return expected

    @property
    def change(self) -> NDArray[np.int64]:
        """1 where a container has surely taken off, -1 where it has gone quiet, else 0."""
        shift = np.log(_RATES)[None, :] - self.usual[:, None]
        faster = (self.weight * (shift > _CHANGED_BY)).sum(axis=1)
        slower = (self.weight * (shift < -_CHANGED_BY)).sum(axis=1)
        known = self.emptied > 1
        up, down = faster > _CHANGED_SURELY, slower > _CHANGED_SURELY
        return np.where(known & up, 1, np.where(known & down, -1, 0))


def believe(
    histories: Sequence[FillHistory], habits: Mapping[str, KindHabits], *, last_day: date
) -> Beliefs:
    """Return what can be believed of containers, for outlooks up to the last day.

    `habits` are those of the kinds of places; a kind without any is guessed.
    """
    return believe_record(record_of(histories, last_day=last_day), habits)


def believe_record(record: Record, habits: Mapping[str, KindHabits]) -> Beliefs:
    """Return what can be believed of the containers of a record."""
    own = tuple(habits.get(kind) or guessed_habits(kind) for kind in record.kinds)
    shape = np.array([habit.weekdays for habit in own]).reshape(record.shape.shape)
    return _filtered(replace(record, shape=shape), own)


@dataclass(frozen=True, kw_only=True, eq=False)
class Mixture:
    """The level of each container at one moment: gamma-like for each rate, weighed together."""

    weight: Floats
    mean: Floats
    variance: Floats

    def chance_above(self, level: float | Floats) -> Floats:
        """Return the chance that a container holds at least so much of its volume."""
        level = np.broadcast_to(np.asarray(level, dtype=np.float64), self.weight.shape[:1])
        chance: Floats = (self.weight * self._above(level[:, None])).sum(axis=1)
        return chance

    def quantile(self, share: float) -> Floats:
        """Return the level below which a container is with that probability, to 0.1 % of it."""
        middle = (self.weight * self.mean).sum(axis=1)
        spread = (self.weight * (self.variance + self.mean**2)).sum(axis=1) - middle**2
        # No quantile from 0.05 to 0.95 lies further out than that (Cantelli's inequality).
        reach = np.sqrt(spread * max(share, 1 - share) / min(share, 1 - share))
        low, high = np.maximum(middle - reach, 0), middle + reach
        for _ in range(12):
            half = (low + high) / 2
            above = self.chance_above(half) > 1 - share
            low, high = np.where(above, half, low), np.where(above, high, half)
        level: Floats = (low + high) / 2
        return level

    def expected_up_to(self, most: float = _FULL) -> Floats:
        """Return the expected level where what would go beyond `most` is not in the container."""
        spread = np.sqrt(self.variance)
        z = (most - self.mean) / spread
        normal = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi)
        inside = self.mean * ndtr(z) + most * ndtr(-z) - spread * normal
        expected: Floats = (self.weight * np.clip(inside, 0, most)).sum(axis=1)
        return expected

    def _above(self, level: Floats) -> Floats:
        scale = self.variance / self.mean
        tail: Floats = gammaincc(self.mean / scale, np.maximum(level, 0) / scale)
        return tail


def outlook(beliefs: Beliefs, day: date) -> Mixture:
    """Return how full each container may be at the start of a day, or when last seen if later."""
    return outlook_at(beliefs, np.full(len(beliefs.since), beliefs.record.index(day)))


def outlook_at(beliefs: Beliefs, columns: NDArray[np.int64]) -> Mixture:
    """Return how full each container may be on a day of its own, by the record's columns."""
    now = beliefs.record.clock[np.arange(len(columns)), columns]
    weight, mean, variance = _advanced(
        beliefs.weight,
        beliefs.mean,
        beliefs.variance,
        np.maximum(now - beliefs.since, 0),
        _Pace.of(beliefs.habits),
    )
    return Mixture(
        weight=weight,
        mean=np.maximum(mean, _LEAST_VARIANCE),
        variance=np.maximum(variance, _LEAST_VARIANCE),
    )


def _filtered(record: Record, habits: tuple[KindHabits, ...]) -> Beliefs:
    """Go through the sightings turn by turn: the first of all containers, then the second..."""
    count = len(record.kinds)
    pace = _Pace.of(habits)
    tellers = learn_tellers(record, pace.burst)
    log_rate = np.array([habit.log_rate for habit in habits])[:, None]
    spread = np.array([habit.spread for habit in habits])[:, None]
    prior = np.exp(-(((np.log(_RATES) - log_rate) / spread) ** 2) / 2)
    state = _State(
        weight=prior / prior.sum(axis=1, keepdims=True),
        mean=np.zeros_like(prior),
        variance=np.zeros_like(prior),
        since=record.placed_at.copy(),
        usual=log_rate[:, 0].copy(),
        lived=np.zeros(count),
        evidence=np.zeros(count),
    )
    by_turn = np.argsort(record.turn, kind="stable")
    bounds = np.searchsorted(record.turn[by_turn], np.arange(record.turn.max(initial=-1) + 2))
    for start, stop in pairwise(bounds):
        _take_in(state, record, pace, tellers, by_turn[start:stop])
    return Beliefs(
        record=record,
        habits=habits,
        weight=state.weight,
        mean=state.mean,
        variance=state.variance,
        since=state.since,
        usual=state.usual,
        emptied=np.bincount(record.container[record.emptied], minlength=count),
        evidence=state.evidence,
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Pace:
    """How unevenly each container fills, and how likely its rate jumps."""

    burst: Floats
    jump_chance: Floats

    @classmethod
    def of(cls, habits: Sequence[KindHabits]) -> "_Pace":
        """Those of the containers' habits."""
        return cls(
            burst=np.array([habit.burst for habit in habits], dtype=np.float64),
            jump_chance=np.array([habit.jump_chance for habit in habits], dtype=np.float64),
        )

    def only(self, rows: NDArray[np.int64] | NDArray[np.bool_]) -> "_Pace":
        """Those of some of the containers."""
        return _Pace(burst=self.burst[rows], jump_chance=self.jump_chance[rows])


@dataclass(frozen=True, kw_only=True, eq=False)
class _State:
    """The beliefs while the filter runs; its arrays are written to."""

    weight: Floats
    mean: Floats
    variance: Floats
    since: Floats
    usual: Floats
    lived: Floats
    evidence: Floats


def _take_in(
    state: _State, record: Record, pace: _Pace, tellers: Tellers, rows: NDArray[np.int64]
) -> None:
    """Take in one sighting of each of some containers."""
    who = record.container[rows]
    days = np.maximum(record.at[rows] - state.since[who], 0)
    weight, mean, variance = _advanced(
        state.weight[who], state.mean[who], state.variance[who], days, pace.only(who)
    )
    emptied = record.emptied[rows]
    by = record.by[rows]
    bias = np.where(by >= 0, np.append(tellers.bias, 0.0)[by], 0.0)
    said = np.clip(record.level[rows] - bias, 0, _FULL)[:, None]
    noise = (np.where(emptied, EMPTIED_SD, tellers.report_sd) ** 2)[:, None]
    guess = _Guess(mean=mean, variance=np.maximum(variance, _LEAST_VARIANCE))
    is_first = (record.last_emptied[rows] < 0)[:, None]
    untold = np.where(is_first, _UNTOLD_AT_FIRST_CHANCE, _UNTOLD_CHANCE) * _ANY_LEVEL_DENSITY
    fits, brims = guess.foresaw(said, noise, untold)
    weight *= fits + brims + _SLIP + untold
    likelihood = weight.sum(axis=1)
    state.evidence[who] += np.log(likelihood)
    weight /= likelihood[:, None]
    state.weight[who] = weight
    state.mean[who], state.variance[who] = 0, 0
    told = ~emptied
    state.mean[who[told]], state.variance[who[told]] = guess.only(told).believing(
        said[told], noise[told], (fits[told], brims[told], untold[told])
    )
    state.since[who] = record.at[rows]
    state.lived[who] += days
    # What is usual lags behind: at first it is the mean so far, later that of many weeks.
    gain = 1 - np.exp(-days / np.clip(state.lived[who], 1, _USUAL_OVER_DAYS))
    state.usual[who] += gain * (weight @ np.log(_RATES) - state.usual[who])


def _advanced(
    weight: Floats, mean: Floats, variance: Floats, days: Floats, pace: _Pace
) -> tuple[Floats, Floats, Floats]:
    """Let working days pass: rates drift and jump, levels rise."""
    after, first, second = (np.empty_like(weight) for _ in range(3))
    for chance in np.unique(pace.jump_chance):
        rows = pace.jump_chance == chance
        passing = (values[rows] for values in (weight, mean, variance, days))
        after[rows], first[rows], second[rows] = _advanced_alike(
            *passing, burst=pace.burst[rows], jump_chance=float(chance)
        )
    return after, first, second


def _advanced_alike(
    weight: Floats,
    mean: Floats,
    variance: Floats,
    days: Floats,
    *,
    burst: Floats,
    jump_chance: float,
) -> tuple[Floats, Floats, Floats]:
    logs, vectors = _rate_changes(jump_chance)
    powers = np.exp(logs[None, :] * days[:, None])

    def mixed(values: Floats, rows: NDArray[np.bool_] | slice) -> Floats:
        changed: Floats = ((values @ vectors) * powers[rows]) @ vectors.T
        return np.maximum(changed, 0)

    after = np.maximum(mixed(weight, slice(None)), _LEAST_WEIGHT)
    rise = _RATES[None, :] * days[:, None]
    spread = burst[:, None] * rise
    # What was just emptied is empty whatever its rate.
    filled = mean[:, -1] > 0
    if filled.any():
        had, level = weight[filled], mean[filled]
        first = mixed(had * level, filled) / after[filled]
        second = mixed(had * (variance[filled] + level**2), filled) / after[filled]
        rise[filled] += first
        spread[filled] += np.maximum(second - first**2, 0)
    return after / after.sum(axis=1, keepdims=True), rise, spread


@dataclass(frozen=True, kw_only=True, eq=False)
class _Guess:
    """The levels that some containers were thought to have, rate by rate, when one was seen.

    What no longer fits is not seen: a container that looks full holds so much, or was brought
    more.
    """

    mean: Floats
    variance: Floats

    def only(self, rows: NDArray[np.bool_]) -> "_Guess":
        """The guesses of some of the containers."""
        return _Guess(mean=self.mean[rows], variance=self.variance[rows])

    def foresaw(self, said: Floats, noise: Floats, untold: Floats) -> tuple[Floats, Floats]:
        """How likely it was that so much was said: with all fitting in, and with more brought."""
        total = self.variance + noise
        fitting_mean, fitting_sd = self._fitting(said, noise)
        fits = _density(said - self.mean, total) * ndtr((_FULL - fitting_mean) / fitting_sd)
        brims = _density(said - _FULL, noise) * ndtr((self.mean - _FULL) / np.sqrt(self.variance))
        as_said = 1 - _SLIP_CHANCE - untold / _ANY_LEVEL_DENSITY
        return as_said * fits, as_said * brims

    def believing(
        self, said: Floats, noise: Floats, likely: tuple[Floats, Floats, Floats]
    ) -> tuple[Floats, Floats]:
        """The levels' means and variances after it: as said, a slip, or an emptying not told of."""
        fits, brims, untold = likely
        fitting_mean, fitting_sd = self._fitting(said, noise)
        sd = np.sqrt(self.variance)
        parts = (
            (fits, *_cut(fitting_mean, fitting_sd, (_FULL - fitting_mean) / fitting_sd, side=-1)),
            (brims, *_cut(self.mean, sd, (self.mean - _FULL) / sd, side=1)),
            (_SLIP, self.mean, self.variance),
            (untold, said, noise),
        )
        likelihood = fits + brims + _SLIP + untold
        mean: Floats = np.zeros_like(self.mean)
        square: Floats = np.zeros_like(self.mean)
        for share, its_mean, its_variance in parts:
            mean += share / likelihood * its_mean
            square += share / likelihood * (its_variance + its_mean**2)
        return mean, np.maximum(square - mean**2, 0)

    def _fitting(self, said: Floats, noise: Floats) -> tuple[Floats, Floats]:
        total = self.variance + noise
        mean = self.mean + self.variance / total * (said - self.mean)
        return mean, np.sqrt(self.variance * noise / total)


def _density(off: Floats, variance: Floats) -> Floats:
    density: Floats = np.exp(-(off**2) / (2 * variance)) / np.sqrt(2 * np.pi * variance)
    return density


def _cut(mean: Floats, sd: Floats, z: Floats, *, side: int) -> tuple[Floats, Floats]:
    """Mean and variance of a normal level on one side of a bound that leaves it the share Phi(z).

    `side` is 1 above the bound, -1 below it.
    """
    hazard = np.exp(-(z**2) / 2 - log_ndtr(z)) / np.sqrt(2 * np.pi)
    return mean + side * sd * hazard, np.maximum(sd**2 * (1 - hazard * (hazard + z)), 0)


@cache
def _rate_changes(jump_chance: float) -> tuple[Floats, Floats]:
    """How rates change in a working day: a symmetric matrix by its log eigenvalues and vectors.

    Drift moves a rate to its neighbours, with reflection at the ends; a jump lands anywhere, the
    less likely the further.
    """
    count = len(_RATES)
    aside = _DRIFT_SD**2 / _STEP**2 / 2
    drift = np.eye(count) * (1 - 2 * aside)
    drift += aside * (np.eye(count, k=1) + np.eye(count, k=-1))
    drift[0, 0] += aside
    drift[-1, -1] += aside
    apart = np.subtract.outer(np.arange(count), np.arange(count)) * _STEP
    jump = np.exp(-((apart / _JUMP_SD) ** 2) / 2)
    # Sinkhorn's balancing keeps it symmetric while rows come to sum to one.
    for _ in range(200):
        sums = np.sqrt(jump.sum(axis=1))
        jump /= sums[:, None] * sums[None, :]
    values, vectors = np.linalg.eigh((1 - jump_chance) * drift + jump_chance * jump)
    return np.log(np.clip(values, 1e-9, 1)), vectors
