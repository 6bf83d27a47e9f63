"""Ways to decide who is visited today: what people do now, and what Millrace does."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from network.pickups.core.prize import (
    ONE_IN,
    full_days_cost,
    stop_cost,
    visit_prize,
    way_there,
)
from network.places.core.habits import KindHabits
from network.places.core.history import Sighting
from network.places.core.standing import Standing
from network.simulation.core.knowledge import (
    Flags,
    Knowledge,
    believed,
    by_forecast,
    by_foresight,
    by_sensor,
)
from network.simulation.core.rounds import Choice, vans_go_out, visitable
from network.simulation.core.terms import Terms
from network.simulation.core.world import CENTRE, DEPOT, World
from network.units import S_PER_HOUR

Floats = NDArray[np.float64]
# No place waits longer for its next open day than that; it is looked no further.
_LOOK_DAYS = 5
_DAYS_PER_WEEK = 7


class Source(StrEnum):
    """Whence a policy knows how full containers are."""

    FORECAST = "forecast"
    SENSOR = "sensor"
    FORESIGHT = "foresight"


@dataclass(frozen=True, kw_only=True, eq=False)
class Morning:
    """One morning of a world: what is so, and what was seen until now."""

    world: World
    terms: Terms
    day: int
    level: Floats
    sightings: Sequence[Sequence[Sighting]]
    habits: dict[str, KindHabits]

    def knowledge(self, source: Source, *, ahead: int) -> Knowledge:
        """What is known from a source, for so many days ahead."""
        if source is Source.FORESIGHT:
            return by_foresight(self.world, self.level, day=self.day, ahead=ahead)
        beliefs = believed(self.world, self.sightings, self.habits, day=self.day, ahead=ahead)
        if source is Source.SENSOR:
            return by_sensor(beliefs, self.level, day=self.day, ahead=ahead)
        return by_forecast(beliefs, day=self.day, ahead=ahead)

    def open_places(self) -> list[int]:
        """The places that can be visited today."""
        return [int(place) for place in np.flatnonzero(visitable(self.world, self.day))]

    def visitable(self, days: int) -> Flags:
        """For each place and day from this one on: whether it can be visited then."""
        return np.stack([visitable(self.world, self.day + step) for step in range(days)], axis=1)


class Policy(Protocol):
    """Chooses, on a morning on which vans go out, who could be visited on which of `days` days."""

    @property
    def days(self) -> int:
        """How many days are planned at once."""

    def choices(self, morning: Morning) -> list[Choice]:
        """Return the places that are due, or that could be worth a visit."""


def _due(places: Sequence[int], fill: Floats) -> list[Choice]:
    """Places that must be visited today, with what is expected in them."""
    return [
        Choice(place=place, options={0: (float(fill[place]), Decimal(0))}, required=True)
        for place in places
    ]


@dataclass(frozen=True, kw_only=True)
class FixedRounds:
    """A weekly round: each place has its weekday, and comes every so many weeks.

    Built by what was really brought in the first weeks: each place as rarely as leaves it no
    fuller than `limit` on the mean. Places in one direction share their weekday.
    """

    limit: float
    built_on_days: int = 21
    days: int = field(default=1, init=False)

    def choices(self, morning: Morning) -> list[Choice]:
        """Those whose weekday it is."""
        world, day = morning.world, morning.day
        every, turn = self._rounds(world)
        working_day = sum(vans_go_out(world, earlier) for earlier in range(day))
        due = [
            place for place in morning.open_places() if working_day % every[place] == turn[place]
        ]
        return _due(due, morning.level)

    def _rounds(self, world: World) -> tuple[Floats, Floats]:
        """Each place's period in working days of the vans, and which of them is its own."""
        built_on = slice(0, self.built_on_days)
        brought = world.deposits_ml[:, built_on].sum(axis=1) / world.volume_ml
        daily = np.maximum(brought, 0.02) / (self.built_on_days * 5 / _DAYS_PER_WEEK)
        periods = np.array([1, 2, 5, 10, 15, 20])
        fitting = periods[None, :] <= self.limit / daily[:, None]
        every = periods[np.maximum(fitting.sum(axis=1) - 1, 0)]
        sector = _sectors(world)
        weeks = np.maximum(every // 5, 1)
        turn = np.where(every >= 5, sector + 5 * (sector % weeks), sector % every)  # noqa: PLR2004
        return every, turn


def _sectors(world: World) -> NDArray[np.int64]:
    """Which of five directions each place lies in, as many places in each."""
    east = np.array([place.point.longitude - CENTRE.longitude for place in world.places])
    north = np.array([place.point.latitude - CENTRE.latitude for place in world.places])
    rank = np.argsort(np.argsort(np.arctan2(north, east)))
    sectors: NDArray[np.int64] = rank * 5 // len(rank)
    return sectors


@dataclass(frozen=True, kw_only=True)
class OnCall:
    """Whoever says on the day before that it is at least so full is visited."""

    limit: float
    days: int = field(default=1, init=False)

    def choices(self, morning: Morning) -> list[Choice]:
        """Those who called; who was not visited calls again."""
        if morning.day == 0:
            return []
        yesterday = morning.day - 1
        looks = morning.level + morning.world.misjudges[:, yesterday]
        called = morning.world.notices[:, yesterday] & (looks >= self.limit)
        return _due([place for place in morning.open_places() if called[place]], morning.level)


@dataclass(frozen=True, kw_only=True)
class Threshold:
    """Whoever is at least so full is visited."""

    limit: float
    source: Source
    days: int = field(default=1, init=False)

    def choices(self, morning: Morning) -> list[Choice]:
        """Those past the limit."""
        level = morning.knowledge(self.source, ahead=1).level[:, 0]
        return _due([p for p in morning.open_places() if level[p] >= self.limit], level)


@dataclass(frozen=True, kw_only=True)
class PredictiveThreshold:
    """Whoever may be full before one could come again is visited, from a certain risk on."""

    risk: float
    source: Source
    days: int = field(default=1, init=False)

    def choices(self, morning: Morning) -> list[Choice]:
        """Those at risk."""
        known = morning.knowledge(self.source, ahead=_LOOK_DAYS)
        visits = morning.visitable(_LOOK_DAYS)
        due = [
            place
            for place in morning.open_places()
            if known.full[place, self._next(visits[place])] >= self.risk
        ]
        return _due(due, known.level[:, 0])

    def _next(self, visits: Flags) -> int:
        later = range(1, _LOOK_DAYS)
        return next((step for step in later if visits[step]), _LOOK_DAYS)


@dataclass(frozen=True, kw_only=True)
class Planned:
    """Millrace's plan on a rolling horizon: visits by their prize, routes by their cost.

    `full_day_cost` is what the nuisance of a day on which a container stands full is held to cost,
    besides the value of what is lost; `one_in` as in `prize.way_there`.
    """

    full_day_cost: Decimal
    source: Source
    days: int = 3
    one_in: int = ONE_IN

    def choices(self, morning: Morning) -> list[Choice]:
        """All whose prize on some day is more than the stop alone costs."""
        known = morning.knowledge(self.source, ahead=self.days)
        visits = morning.visitable(self.days)
        avoided = known.avoidable(visits)
        found = []
        for place in range(len(morning.world.places)):
            full_days = self._full_days(morning, place, avoided)
            levels = {int(s): float(known.level[place, s]) for s in np.flatnonzero(visits[place])}
            options = self._options(morning, place, levels, full_days)
            if options:
                found.append(Choice(place=place, options=options))
        return found

    def _options(
        self,
        morning: Morning,
        place: int,
        levels: Mapping[int, float],
        full_days: Sequence[Decimal],
    ) -> dict[int, tuple[float, Decimal]]:
        """What would be there and what a visit is worth, of the days with a level."""
        world, terms = morning.world, morning.terms
        it = world.places[place]
        van = terms.van("van")
        way_m, way_s = way_there(world.travel, it.id, (DEPOT, *world.ids), one_in=self.one_in)
        cost = stop_cost(van, way_m=way_m, way_s=way_s, service_s=it.service_s)
        least = van.cost_per_hour * it.service_s / S_PER_HOUR
        options = {}
        for step, level in levels.items():
            worth = visit_prize(
                typical_cost=cost,
                fill_fraction=Decimal(level),
                full_days_cost=sum(full_days[step:], Decimal(0)),
            )
            if worth > least:
                options[step] = (level, worth)
        return options

    def _full_days(self, morning: Morning, place: int, avoided: Standing) -> list[Decimal]:
        """What coming is expected to save of standing full on each day that is looked at."""
        world, terms = morning.world, morning.terms
        works = world.running[place, morning.day :]
        return [
            full_days_cost(
                days=Decimal(avoided.full[place, step]) if works[step] else Decimal(0),
                nuisance_cost=self.full_day_cost,
                lost_g=terms.mass_g(avoided.lost[place, step] * world.places[place].volume_ml),
                value_per_kg=terms.value_per_kg,
            )
            for step in range(self.days)
        ]
