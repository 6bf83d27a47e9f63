"""How full a container is likely to be: a plain expectation from its last known level.

It advances by the days the place runs, so a closure changes nothing. It says no more than a
straight line can: what it rests on goes with it, and it is never shown as if weighed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from network.materials.core.amounts import EstimatedMass, mass_of_volume
from network.materials.core.figures import Figure
from network.places.core.calendar import PlaceCalendar, day_in_words, running_days_between

PERCENT = 100
# Starting guesses without a source, from no measurement: how many running days a place of a kind
# takes to fill one container. The first two pickups replace them.
PRIOR_RUNNING_DAYS_TO_FILL: Mapping[str, int] = {
    "school": 20,
    "cafe": 15,
    "salon": 30,
    "cleaner": 10,
    "other": 20,
}


class LevelOrigin(StrEnum):
    """How the last level became known."""

    REPORTED = "reported"
    EMPTIED = "emptied"
    PLACED = "placed"


class RateBasis(StrEnum):
    """What a rate rests on."""

    PICKUPS = "pickups"
    STARTING_GUESS = "starting_guess"


@dataclass(frozen=True, kw_only=True)
class KnownLevel:
    """The last known level of a container: percent of its volume, on a day; heaped is over 100."""

    percent: int
    day: date
    origin: LevelOrigin

    def __post_init__(self) -> None:
        if self.percent < 0:
            raise ValueError("a level is not below empty")


@dataclass(frozen=True, kw_only=True)
class Emptied:
    """A past pickup: the volume that came out, on a day."""

    day: date
    volume_ml: int

    def __post_init__(self) -> None:
        if self.volume_ml < 0:
            raise ValueError("a volume is not negative")


@dataclass(frozen=True, kw_only=True)
class FillRate:
    """Millilitres a running day, exactly, and what that rests on."""

    ml_per_running_day: Fraction
    basis: RateBasis
    pickups: int

    def __post_init__(self) -> None:
        if self.ml_per_running_day < 0:
            raise ValueError("a container does not empty itself")


@dataclass(frozen=True, kw_only=True)
class ExpectedFill:
    """What is expected in a container; `mass` is None where no bulk density is known."""

    volume_ml: int
    percent: int
    mass: EstimatedMass | None
    is_full: bool
    running_days: int
    rests_on: str


def learn_rate(pickups: Sequence[Emptied], calendar: PlaceCalendar) -> FillRate | None:
    """Return the rate that past pickups show; None when they are too few to say.

    The first pickup only says when counting starts; the volumes after it are set against the
    running days from it to the last.
    """
    ordered = sorted(pickups, key=lambda pickup: pickup.day)
    if len(ordered) < 2:  # noqa: PLR2004 - one to start from, one to measure
        return None
    running_days = running_days_between(calendar, ordered[0].day, ordered[-1].day)
    if running_days == 0:
        return None
    volume_ml = sum(pickup.volume_ml for pickup in ordered[1:])
    return FillRate(
        ml_per_running_day=Fraction(volume_ml, running_days),
        basis=RateBasis.PICKUPS,
        pickups=len(ordered),
    )


def starting_rate(place_kind: str, volume_ml: int) -> FillRate:
    """Return the starting guess for a container of a volume at a place of a kind."""
    days = PRIOR_RUNNING_DAYS_TO_FILL.get(place_kind, PRIOR_RUNNING_DAYS_TO_FILL["other"])
    return FillRate(
        ml_per_running_day=Fraction(volume_ml, days), basis=RateBasis.STARTING_GUESS, pickups=0
    )


def expect_fill(
    *,
    volume_ml: int,
    level: KnownLevel,
    rate: FillRate,
    calendar: PlaceCalendar,
    day: date,
    bulk_density: Figure | None,
) -> ExpectedFill:
    """Return what is expected in a container of a volume at the start of a day.

    Each running day from the level's own on adds the rate; never more than the volume, and for a
    day before the level, the level itself. Volume rounds down to whole millilitres.
    """
    if volume_ml <= 0:
        raise ValueError("a container has a volume")
    running_days = running_days_between(calendar, level.day, day)
    then_ml = Fraction(level.percent * volume_ml, PERCENT)
    expected_ml = min(Fraction(volume_ml), then_ml + running_days * rate.ml_per_running_day)
    whole_ml = int(expected_ml)
    return ExpectedFill(
        volume_ml=whole_ml,
        percent=int(expected_ml * PERCENT / volume_ml),
        mass=mass_of_volume(whole_ml, bulk_density) if bulk_density else None,
        is_full=whole_ml == volume_ml,
        running_days=running_days,
        rests_on=f"{_level_in_words(level)} {_rate_in_words(rate, running_days)}",
    )


def _level_in_words(level: KnownLevel) -> str:
    day = day_in_words(level.day)
    if level.origin is LevelOrigin.EMPTIED:
        return f"Emptied on {day}."
    if level.origin is LevelOrigin.PLACED:
        return f"Put there empty on {day}."
    return f"Reported {level.percent} % full on {day}."


def _rate_in_words(rate: FillRate, running_days: int) -> str:
    days = "1 working day" if running_days == 1 else f"{running_days} working days"
    litres = f"{float(rate.ml_per_running_day) / 1000:.1f} L"
    if rate.basis is RateBasis.PICKUPS:
        return f"{days} since, at {litres} a day as in {rate.pickups} past pickups."
    return f"{days} since, at {litres} a day: a starting guess, until two pickups are known."
