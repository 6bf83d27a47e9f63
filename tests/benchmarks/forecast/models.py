"""The models that are held against each other, each as a distribution of the level on a later day.

Beside Millrace's own: what is commonly done with the rates of past fills (the last one, the mean
of the last four, exponential smoothing), and two more models that the product could have had.
"""

import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray
from scipy import stats
from statsmodels.tsa.holtwinters import SimpleExpSmoothing

from network.places.core.forecast import Mixture, believe, outlook
from network.places.core.history import FillHistory, record_of
from network.places.core.learning import learn_habits
from tests.benchmarks.forecast.series import Series

Floats = NDArray[np.float64]
# The chance of each container to hold no more than a level, the same for all or each its own.
Cdf = Callable[[float | Floats], Floats]
_LEVEL_MIN = 0.01


def ours(series: Series, origin: int, ahead: Sequence[int]) -> list[Cdf]:
    """What the product says."""
    last_day = series.day(origin + max(ahead))
    histories = series.histories(origin)
    habits = learn_habits(record_of(histories, last_day=last_day))
    beliefs = believe(histories, habits, last_day=last_day)
    return [_cdf_of(outlook(beliefs, series.day(origin + days))) for days in ahead]


def _cdf_of(levels: Mixture) -> Cdf:
    return lambda level: 1 - levels.chance_above(level)


@dataclass(frozen=True, kw_only=True)
class Past:
    """What the plain models know of a container: past fills, and what is in it since.

    `rates` are the shares of the volume a working day between emptyings; `known` the level last
    said since, with the working days that have gone by after it.
    """

    rates: tuple[float, ...]
    days: tuple[float, ...]
    known: float
    ahead: tuple[int, ...]


def pasts(series: Series, origin: int, ahead: Sequence[int]) -> list[Past]:
    """What is known of each container on a day, by straight counting."""
    return [_past(series, history, origin, ahead) for history in series.histories(origin)]


def _past(series: Series, history: FillHistory, origin: int, ahead: Sequence[int]) -> Past:
    record = record_of([history], last_day=series.day(origin + max(ahead)))
    ends = record.emptied & (record.since_empty > 0)
    since = record.at[-1] if len(record.at) else 0.0
    is_told = len(record.at) > 0 and not record.emptied[-1]
    return Past(
        rates=tuple(np.maximum(record.level[ends], _LEVEL_MIN) / record.since_empty[ends]),
        days=tuple(record.since_empty[ends]),
        known=float(record.level[-1]) if is_told else 0.0,
        ahead=tuple(
            int(record.clock[0, record.index(series.day(origin) + timedelta(days=days))] - since)
            for days in ahead
        ),
    )


def last_value(rates: Sequence[float]) -> float:
    """As last time."""
    return rates[-1]


def moving_average(rates: Sequence[float]) -> float:
    """As on the mean of the last four times."""
    return float(np.mean(rates[-4:]))


def exponential_smoothing(rates: Sequence[float]) -> float:
    """As by simple exponential smoothing, its weight fitted by statsmodels."""
    if len(rates) < 3:
        return float(np.mean(rates))
    with warnings.catch_warnings():
        # Short or even series fit badly and say so; the forecast is taken all the same.
        warnings.simplefilter("ignore")
        fitted = SimpleExpSmoothing(np.array(rates), initialization_method="estimated").fit()
    return float(fitted.forecast(1)[0])


def plain(
    rate_of: Callable[[Sequence[float]], float], past: Sequence[Past], step: int
) -> tuple[Floats, Floats]:
    """Mean and standard deviation of each container's level, by a rule for the next rate.

    The spread is that of the rule's own one-step errors, over all containers together and
    relative to the rate; a sum of days spreads as the root of their number.
    """
    errors = [
        (one.rates[turn] / rate_of(one.rates[:turn]) - 1, one.days[turn])
        for one in past
        for turn in range(max(1, len(one.rates) - 3), len(one.rates))
    ]
    relative = np.sqrt(np.mean([min(error**2, 9.0) for error, _ in errors]))
    usual_days = np.mean([days for _, days in errors])
    everyone = float(np.mean([rate for one in past for rate in one.rates]))
    rates = np.array([rate_of(one.rates) if one.rates else everyone for one in past])
    days = np.array([one.ahead[step] for one in past], dtype=np.float64)
    known = np.array([one.known for one in past])
    sd = relative * rates * np.sqrt(np.maximum(days, 0.5) * usual_days)
    return known + rates * days, sd


def normal(mean: Floats, sd: Floats) -> Cdf:
    """A normal distribution of each container's level, none of it below empty."""
    return lambda level: np.where(np.asarray(level) < 0, 0.0, stats.norm.cdf(level, mean, sd))


def kalman(past: Sequence[Past], step: int) -> tuple[Floats, Floats]:
    """A linear filter of the rate: it drifts, and each emptying measures it; no jumps, no slips."""
    mean, sd = [], []
    everyone = float(np.mean([rate for one in past for rate in one.rates]))
    for one in past:
        rate, variance = everyone, (0.6 * everyone) ** 2
        for found, days in zip(one.rates, one.days, strict=True):
            variance += days * (0.04 * rate) ** 2
            noise = 0.05 * max(rate, 1e-3) / days + (0.05 / days) ** 2
            gain = variance / (variance + noise)
            rate, variance = rate + gain * (found - rate), variance * (1 - gain)
        days = max(one.ahead[step], 0.25)
        mean.append(one.known + rate * days)
        sd.append(np.sqrt(variance * days**2 + 0.05 * max(rate, 1e-3) * days + 0.0004))
    return np.array(mean), np.array(sd)


def gamma_process(past: Sequence[Past], step: int) -> Cdf:
    """A gamma process whose rate has a gamma distribution, older fills counting for less."""
    burst, keep = 0.05, 0.85
    everyone = float(np.mean([rate for one in past for rate in one.rates]))
    shapes, rates = [], []
    for one in past:
        shape, days = 3.0, 3.0 / everyone
        for found, lasted in zip(one.rates, one.days, strict=True):
            shape, days = keep * shape + found * lasted / burst, keep * days + lasted / burst
        shapes.append(shape)
        rates.append(days)
    ahead = np.maximum([one.ahead[step] for one in past], 0.25)
    mean = np.array(shapes) / np.array(rates) * ahead
    variance = mean**2 / np.array(shapes) + burst * mean
    known = np.array([one.known for one in past])
    return lambda level: stats.gamma.cdf(level - known, mean**2 / variance, scale=variance / mean)


def all_of(series: Series, origin: int, ahead: Sequence[int]) -> dict[str, list[Cdf]]:
    """Every model's distributions, for each number of days ahead."""
    past = pasts(series, origin, ahead)
    steps = range(len(ahead))
    rules = {
        "last value": last_value,
        "moving average": moving_average,
        "exponential smoothing": exponential_smoothing,
    }
    return {
        "millrace": ours(series, origin, ahead),
        **{
            name: [normal(*plain(rule, past, step)) for step in steps]
            for name, rule in rules.items()
        },
        "Kalman filter": [normal(*kalman(past, step)) for step in steps],
        "gamma process": [gamma_process(past, step) for step in steps],
    }
