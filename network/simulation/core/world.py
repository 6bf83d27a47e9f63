"""An invented community made from a seed: places, roads, and what is really put in each day.

All chance is drawn when the world is made, so that every policy meets the same days.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta

import numpy as np
from numpy.typing import NDArray

from network.geo import Point
from network.pickups.core.travel import Travel, travel_by_great_circle
from network.places.core.calendar import DaySpan, PlaceCalendar, WeeklyWindow
from network.places.core.clock import running_mask
from network.simulation.core.kinds import BY_NAME, KINDS, PlaceKind

Floats = NDArray[np.float64]

# In open ocean, so that nobody takes it for a real place.
CENTRE = Point(longitude=-30.0, latitude=-40.0)
FIRST_DAY = date(2026, 8, 31)
DEPOT = "workshop"
ROAD_FACTOR = 1.3
SPEED_KM_PER_H = 40.0
TERM_DAYS, BREAK_DAYS = 46, 9
_KM_PER_DEGREE = 111.0
_TOWN_SHARE, _TOWN_SD_KM = 0.55, 1.5
_VILLAGES_PER_PLACES, _VILLAGE_SD_KM = 25, 0.6
_VILLAGE_AWAY_KM = (6.0, 18.0)
# How habits change, and how people tell: invented, as are the kinds.
_CHANGE_CHANCE = 1 / 200
_DRIFT_SD = 0.015
_BIAS_SD, _SLIP_SD, _WILD_CHANCE = 0.10, 0.07, 0.02
_STEPS = (10, 25)
_TELLS_EVERY_DAYS = (5, 40)
_NOTICES_CHANCE, _WEIGHS_SD = 0.6, 0.05


@dataclass(frozen=True, kw_only=True)
class WorldPlace:
    """A place of the world, with one container."""

    id: str
    kind: PlaceKind
    point: Point
    volume_ml: int
    calendar: PlaceCalendar
    service_s: int
    step_percent: int


@dataclass(frozen=True, kw_only=True, eq=False)
class World:
    """A community and its days; arrays have a row for each place and a column for each day.

    `deposits_ml` is what is brought to the container, whether or not it fits. `tells` says on
    which days its contact says how full it is, and `misjudges` by how much of the volume they
    are wrong then; `notices`, whether they would see that day that it is full; `weighs` is the
    natural logarithm of how far off a driver's figure is.
    """

    first_day: date
    places: tuple[WorldPlace, ...]
    travel: Travel
    deposits_ml: Floats
    running: NDArray[np.bool_]
    tells: NDArray[np.bool_]
    misjudges: Floats
    notices: NDArray[np.bool_]
    weighs: Floats

    @property
    def days(self) -> int:
        """How many days it lasts."""
        return int(self.deposits_ml.shape[1])

    @property
    def ids(self) -> tuple[str, ...]:
        """The places' ids, in order."""
        return tuple(place.id for place in self.places)

    @property
    def volume_ml(self) -> Floats:
        """The containers' volumes."""
        return np.array([place.volume_ml for place in self.places], dtype=np.float64)

    def day(self, index: int) -> date:
        """The date of a day."""
        return self.first_day + timedelta(days=index)


def make_world(*, places: int, days: int, seed: int) -> World:
    """Return a world of so many places and days; the same seed gives the same world."""
    if places < 1 or days < 1:
        raise ValueError("a world has a place and a day at least")
    dice = np.random.default_rng(seed)
    kinds = _kinds(places, dice)
    points = _points(places, dice)
    made = tuple(
        _place(index, kind, point, days, dice)
        for index, (kind, point) in enumerate(zip(kinds, points, strict=True))
    )
    running = np.array([running_mask(place.calendar, FIRST_DAY, days) for place in made])
    deposits_ml = np.array([_deposits(p, r, dice) for p, r in zip(made, running, strict=True)])
    tells, misjudges = _telling(running, dice)
    return World(
        first_day=FIRST_DAY,
        places=made,
        travel=travel_by_great_circle(
            {DEPOT: CENTRE, **{place.id: place.point for place in made}},
            road_factor=ROAD_FACTOR,
            speed_km_per_h=SPEED_KM_PER_H,
        ),
        deposits_ml=deposits_ml,
        running=running,
        tells=tells,
        misjudges=misjudges,
        notices=(dice.random(running.shape) < _NOTICES_CHANCE) & running,
        weighs=dice.normal(0, _WEIGHS_SD, running.shape),
    )


def _kinds(places: int, dice: np.random.Generator) -> Sequence[PlaceKind]:
    names = [kind.name for kind in KINDS]
    return [BY_NAME[name] for name in dice.choice(names, places, p=[k.share for k in KINDS])]


def _points(places: int, dice: np.random.Generator) -> list[Point]:
    """A town around the workshop, and villages around it."""
    villages = max(2, places // _VILLAGES_PER_PLACES)
    angle = dice.uniform(0, 2 * np.pi, villages)
    away_km = dice.uniform(*_VILLAGE_AWAY_KM, villages)
    centres = np.stack([away_km * np.cos(angle), away_km * np.sin(angle)], axis=1)
    in_town = dice.random(places) < _TOWN_SHARE
    middle: Floats = np.where(in_town[:, None], 0.0, centres[dice.integers(villages, size=places)])
    sd_km: Floats = np.where(in_town, _TOWN_SD_KM, _VILLAGE_SD_KM).reshape(-1, 1)
    km = middle + dice.normal(size=(places, 2)) * sd_km
    across = _KM_PER_DEGREE * np.cos(np.radians(CENTRE.latitude))
    return [
        Point(CENTRE.longitude + east / across, CENTRE.latitude + north / _KM_PER_DEGREE)
        for east, north in km
    ]


def _place(
    index: int, kind: PlaceKind, point: Point, days: int, dice: np.random.Generator
) -> WorldPlace:
    return WorldPlace(
        id=f"{kind.name}-{index}",
        kind=kind,
        point=point,
        volume_ml=int(dice.choice(kind.volumes_ml)),
        calendar=_calendar(kind, days, dice),
        service_s=int(dice.integers(5, 11)) * 60,
        step_percent=int(dice.choice(_STEPS)),
    )


def _calendar(kind: PlaceKind, days: int, dice: np.random.Generator) -> PlaceCalendar:
    opens, closes = time(kind.opens_h), time(kind.closes_h)
    works = [day for day, share in enumerate(kind.weekdays) if share]
    windows = tuple(WeeklyWindow(weekday=day, opens=opens, closes=closes) for day in works)
    if kind.keeps_terms:
        return PlaceCalendar(windows=windows, terms=_terms(days))
    return PlaceCalendar(windows=windows, closures=_holiday(days, dice))


def _terms(days: int) -> tuple[DaySpan, ...]:
    starts = range(0, days, TERM_DAYS + BREAK_DAYS)
    first_days = [FIRST_DAY + timedelta(days=start) for start in starts]
    return tuple(
        DaySpan(first_day=first, last_day=first + timedelta(days=TERM_DAYS - 1))
        for first in first_days
    )


def _holiday(days: int, dice: np.random.Generator) -> tuple[DaySpan, ...]:
    """One place in five is shut for a week."""
    first = FIRST_DAY + timedelta(days=int(dice.integers(days)))
    shut = DaySpan(first_day=first, last_day=first + timedelta(days=6))
    return (shut,) if dice.random() < 0.2 else ()  # noqa: PLR2004 - the share just said


def _deposits(place: WorldPlace, running: NDArray[np.bool_], dice: np.random.Generator) -> Floats:
    """What is brought each day: so many portions of various sizes, by weekday and habit."""
    kind, days = place.kind, len(running)
    weekday = (FIRST_DAY.weekday() + np.arange(days)) % 7
    shape = np.array(kind.weekdays)[weekday]
    shape /= np.mean([share for share in kind.weekdays if share])
    days_to_fill = kind.days_to_fill * np.exp(dice.normal(0, kind.spread))
    rate_ml = place.volume_ml / days_to_fill * shape * running * np.exp(_habits(days, dice))
    portions = dice.poisson(rate_ml / kind.portion_ml)
    # So many portions, each exponential in size, together are gamma distributed.
    sizes: Floats = dice.gamma(np.maximum(portions, 1e-9), kind.portion_ml)
    return np.where(portions > 0, sizes, 0.0)


def _habits(days: int, dice: np.random.Generator) -> Floats:
    """The logarithm of how much more or less than at first: slow drift, and now and then a jump."""
    jumps = (dice.random(days) < _CHANGE_CHANCE) * dice.choice([-1, 1], days)
    sizes = dice.uniform(np.log(1.7), np.log(3), days)
    habits: Floats = np.cumsum(jumps * sizes + dice.normal(0, _DRIFT_SD, days))
    return habits


def _telling(
    running: NDArray[np.bool_], dice: np.random.Generator
) -> tuple[NDArray[np.bool_], Floats]:
    places, days = running.shape
    every = dice.uniform(*_TELLS_EVERY_DAYS, (places, 1))
    tells = (dice.random((places, days)) < 1 / every) & running
    bias = dice.normal(0, _BIAS_SD, (places, 1))
    wrong = bias + dice.normal(0, _SLIP_SD, (places, days))
    wild = dice.random((places, days)) < _WILD_CHANCE
    return tells, np.where(wild, dice.uniform(-0.8, 0.8, (places, days)), wrong)
