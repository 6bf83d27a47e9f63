"""How full containers are likely to be on a day, and what that rests on: never as if weighed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from network.materials.core.amounts import EstimatedMass, mass_of_volume
from network.materials.core.figures import Figure
from network.places.core.calendar import day_in_words
from network.places.core.forecast import Beliefs, outlook, outlook_at
from network.places.core.habits import KindHabits, guessed_habits
from network.places.core.history import PERCENT
from network.units import ML_PER_L

# An interval holds with 90 %: one in twenty lies below it, one in twenty above.
LOW, HIGH = 0.05, 0.95
# How far ahead it is looked for the day on which a container is full.
LOOK_AHEAD_DAYS = 120
_LIKELY = 0.5


@dataclass(frozen=True, kw_only=True)
class Ground:
    """One thing that an expectation rests on, as a code with its params and in words."""

    code: str
    params: Mapping[str, str] = field(default_factory=dict)
    text: str


@dataclass(frozen=True, kw_only=True)
class FillRate:
    """Millilitres a running day, exactly."""

    ml_per_running_day: Fraction

    def __post_init__(self) -> None:
        if self.ml_per_running_day < 0:
            raise ValueError("a container does not empty itself")


@dataclass(frozen=True, kw_only=True)
class ExpectedFill:
    """What is expected in a container; `mass` is None where no bulk density is known.

    With nine chances in ten it is from `low_percent` to `high_percent` of its volume; over 100
    is what no longer fits. The mass' range covers that and the density's. `overflow_chance` is
    that it is full by then. `full_on` is the first day on which that is as likely as not; None
    where that is far off or not asked for.
    """

    volume_ml: int
    percent: int
    low_percent: int
    high_percent: int
    mass: EstimatedMass | None
    overflow_chance: float
    full_on: date | None
    running_days: int
    grounds: tuple[Ground, ...]

    @property
    def rests_on(self) -> str:
        """What it rests on, in sentences."""
        return " ".join(ground.text for ground in self.grounds)


def starting_rate(habits: KindHabits | None, place_kind: str, volume_ml: int) -> FillRate:
    """Return the rate at which a container of a volume starts at a place of a kind."""
    known = habits or guessed_habits(place_kind)
    share = Fraction(float(np.exp(known.log_rate))).limit_denominator(PERCENT**2)
    return FillRate(ml_per_running_day=share * volume_ml)


def expect_fills(
    beliefs: Beliefs, *, day: date, bulk_densities: Sequence[Figure | None], ahead: bool = False
) -> list[ExpectedFill]:
    """Return what is expected in each container at the start of a day.

    With `ahead` it is also told when each is full; the beliefs then reach LOOK_AHEAD_DAYS further
    than the day.
    """
    levels = outlook(beliefs, day)
    expected, chance = levels.expected_up_to(), levels.chance_above(1.0)
    low, high = levels.quantile(LOW), levels.quantile(HIGH)
    full_on = days_full(beliefs, day) if ahead else [None] * len(expected)
    grounds = _grounds(beliefs, day)
    running_days = _running_days(beliefs, day)
    volumes = beliefs.record.volume_ml
    return [
        ExpectedFill(
            volume_ml=int(expected[row] * volumes[row]),
            percent=round(float(expected[row]) * PERCENT),
            low_percent=int(low[row] * PERCENT),
            high_percent=-int(-high[row] * PERCENT // 1),
            mass=_mass(volumes[row], expected[row], low[row], high[row], density),
            overflow_chance=round(float(chance[row]), 3),
            full_on=full_on[row],
            running_days=int(running_days[row]),
            grounds=grounds[row],
        )
        for row, density in enumerate(bulk_densities)
    ]


def days_full(beliefs: Beliefs, day: date, *, limit: float = 1.0) -> list[date | None]:
    """Return the first day, from one on, on which each container is as likely as not past a limit.

    `limit` is a fraction of the volume. None where that is further off than LOOK_AHEAD_DAYS.
    """
    first = beliefs.record.index(day)
    count = len(beliefs.record.kinds)
    low = np.full(count, first - 1)
    high = np.full(count, first + LOOK_AHEAD_DAYS)
    while (high - low > 1).any():
        middle = (low + high) // 2
        past = outlook_at(beliefs, middle).chance_above(limit) >= _LIKELY
        low, high = np.where(past, low, middle), np.where(past, middle, high)
    return [
        beliefs.record.first_day + timedelta(days=int(column)) if column < last else None
        for column, last in zip(high, np.full(count, first + LOOK_AHEAD_DAYS), strict=True)
    ]


def _mass(
    volume_ml: float, expected: float, low: float, high: float, density: Figure | None
) -> EstimatedMass | None:
    """Return the mass, with a range from the low level of light stuff to the high of heavy."""
    if density is None:
        return None
    # A mean may lie outside of the range where nearly all of it is nothing.
    least = mass_of_volume(int(volume_ml * min(low, expected, 1)), density)
    most = mass_of_volume(int(volume_ml * min(max(high, expected), 1)), density)
    return EstimatedMass(
        mass_g=mass_of_volume(int(volume_ml * expected), density).mass_g,
        low_g=least.mass_g if least.low_g is None else least.low_g,
        high_g=most.mass_g if most.high_g is None else most.high_g,
    )


def _running_days(beliefs: Beliefs, day: date) -> NDArray[np.int64]:
    """Count the days a place worked from its last sighting (or its placing) to a day."""
    record = beliefs.record
    last = _last_rows(beliefs)
    start = np.where(last >= 0, np.append(record.day, 0)[last], record.placed)
    columns = np.arange(record.running.shape[1])
    within = (columns >= start[:, None]) & (columns < record.index(day))
    days: NDArray[np.int64] = (record.running & within).sum(axis=1)
    return days


def _last_rows(beliefs: Beliefs) -> NDArray[np.int64]:
    """Each container's last sighting; -1 where there is none."""
    last = np.full(len(beliefs.record.kinds), -1)
    last[beliefs.record.container] = np.arange(len(beliefs.record.container))
    return last


def _grounds(beliefs: Beliefs, day: date) -> list[tuple[Ground, ...]]:
    last, running_days = _last_rows(beliefs), _running_days(beliefs, day)
    rate_ml = beliefs.rate * beliefs.record.volume_ml
    change = beliefs.change
    return [
        (
            _level_ground(beliefs, row, int(last[row])),
            _rate_ground(
                rate_ml=float(rate_ml[row]),
                days=int(running_days[row]),
                pickups=int(beliefs.emptied[row]),
                habits=beliefs.habits[row],
            ),
            *_change_ground(int(change[row])),
        )
        for row in range(len(last))
    ]


def _level_ground(beliefs: Beliefs, container: int, row: int) -> Ground:
    record = beliefs.record
    column = record.placed[container] if row < 0 else record.day[row]
    day = record.first_day + timedelta(days=int(column))
    params = {"day": day.isoformat()}
    if row < 0:
        text = f"Put there empty on {day_in_words(day)}."
        return Ground(code="placed", params=params, text=text)
    if record.emptied[row]:
        return Ground(code="emptied", params=params, text=f"Emptied on {day_in_words(day)}.")
    percent = str(round(float(record.level[row]) * PERCENT))
    text = f"Reported {percent} % full on {day_in_words(day)}."
    return Ground(code="reported", params={**params, "percent": percent}, text=text)


def _rate_ground(*, rate_ml: float, days: int, pickups: int, habits: KindHabits) -> Ground:
    litres = f"{rate_ml / ML_PER_L:.1f}"
    params = {"running_days": str(days), "litres_per_day": litres}
    so_far = f"{_counted(days, 'working day')} since, at about {litres} L a day"
    if pickups:
        text = f"{so_far} as in {_counted(pickups, 'past pickup')}."
        return Ground(code="own_pickups", params={**params, "pickups": str(pickups)}, text=text)
    if habits.containers:
        others = str(habits.containers)
        text = f"{so_far} as in {_counted(habits.containers, 'container')} at places of its kind."
        return Ground(code="places_alike", params={**params, "containers": others}, text=text)
    text = f"{so_far}: a starting guess, until a pickup is known."
    return Ground(code="starting_guess", params=params, text=text)


def _change_ground(change: int) -> tuple[Ground, ...]:
    if change > 0:
        return (Ground(code="takes_off", text="It fills much faster than it used to."),)
    if change < 0:
        return (Ground(code="goes_quiet", text="It fills much more slowly than it used to."),)
    return ()


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
