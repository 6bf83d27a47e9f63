"""What is known of containers' fills, from which forecasts are learned."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from network.places.core.calendar import PlaceCalendar
from network.places.core.clock import DAYS_PER_WEEK, running_mask

PERCENT = 100


@dataclass(frozen=True, kw_only=True)
class Sighting:
    """Someone saw on a day how full a container was, in percent; heaped is over 100.

    `emptied`: it was emptied then and is empty since. `by` names who said so, for whom it
    is learned how they differ from others; empty for nobody in particular.
    """

    day: date
    percent: int
    emptied: bool
    by: str = ""

    def __post_init__(self) -> None:
        if self.percent < 0:
            raise ValueError("a level is not below empty")


@dataclass(frozen=True, kw_only=True)
class FillHistory:
    """One container: what kind of place it is at, since when, and all that was seen of it.

    Sightings are in the order in which they were made.
    """

    place_kind: str
    volume_ml: int
    placed_on: date
    calendar: PlaceCalendar
    sightings: tuple[Sighting, ...] = ()

    def __post_init__(self) -> None:
        if self.volume_ml <= 0:
            raise ValueError("a container has a volume")
        days = [self.placed_on, *(seen.day for seen in self.sightings)]
        if any(later < earlier for earlier, later in pairwise(days[1:])):
            raise ValueError("sightings are in the order in which they were made")


@dataclass(frozen=True, kw_only=True, eq=False)
class Record:
    """All histories as arrays.

    `running` has a row for each container and a column for each day from `first_day` on, and
    `shape` says how much more or less is put in on each weekday from Monday on. The sightings of
    all stand one below the other: `container` says whose, `turn` which of its own, from 0;
    `level` is a fraction of the volume, and `by` a place in `people`, or -1.
    """

    first_day: date
    kinds: tuple[str, ...]
    volume_ml: NDArray[np.float64]
    running: NDArray[np.bool_]
    shape: NDArray[np.float64]
    placed: NDArray[np.int64]
    container: NDArray[np.int64]
    turn: NDArray[np.int64]
    day: NDArray[np.int64]
    level: NDArray[np.float64]
    emptied: NDArray[np.bool_]
    people: tuple[str, ...]
    by: NDArray[np.int64]

    @cached_property
    def weekdays(self) -> NDArray[np.int64]:
        """The weekday of each column; 0 is Monday."""
        days = np.arange(self.running.shape[1])
        weekdays: NDArray[np.int64] = (self.first_day.weekday() + days) % DAYS_PER_WEEK
        return weekdays

    @cached_property
    def clock(self) -> NDArray[np.float64]:
        """Working days before each day, by what weekdays are worth; one entry more at the end."""
        counts = np.zeros((len(self.kinds), self.running.shape[1] + 1))
        np.cumsum(self.running * self.shape[:, self.weekdays], axis=1, out=counts[:, 1:])
        return counts

    @cached_property
    def at(self) -> NDArray[np.float64]:
        """Each sighting's time on its container's clock."""
        return self.clock[self.container, self.day]

    @cached_property
    def placed_at(self) -> NDArray[np.float64]:
        """When each container was placed, on its clock."""
        return self.clock[np.arange(len(self.kinds)), self.placed]

    @cached_property
    def last_emptied(self) -> NDArray[np.int64]:
        """For each sighting, which one emptied the container last before it; -1 where none did."""
        rows = np.arange(len(self.container))
        marks = np.maximum.accumulate(np.where(self.emptied, rows, -1))
        before = np.concatenate([[-1], marks])[:-1]
        own = (before >= 0) & (self.container[before] == self.container)
        return np.where(own, before, -1)

    @cached_property
    def next_emptied(self) -> NDArray[np.int64]:
        """For each sighting, which one empties the container, itself or later; -1 if none does."""
        count = len(self.container)
        marks = np.where(self.emptied, np.arange(count), count)
        after = np.minimum.accumulate(marks[::-1])[::-1]
        own = (after < count) & (self.container[np.minimum(after, count - 1)] == self.container)
        return np.where(own, after, -1)

    @cached_property
    def empty_since(self) -> NDArray[np.int64]:
        """The day from which on each sighting's container had been filling from empty."""
        start = self.placed[self.container]
        known = self.last_emptied >= 0
        start[known] = self.day[self.last_emptied[known]]
        return start

    @cached_property
    def since_empty(self) -> NDArray[np.float64]:
        """How long each sighting's container had been filling, on its clock."""
        return self.at - self.clock[self.container, self.empty_since]

    def index(self, day: date) -> int:
        """The column of a day; raises ValueError for one that the record was not made for."""
        index = (day - self.first_day).days
        if not 0 <= index < self.running.shape[1]:
            raise ValueError("the day lies outside of what the record was made for")
        return index


def record_of(histories: Sequence[FillHistory], *, last_day: date) -> Record:
    """Return the histories as arrays, with clocks up to the last day asked about."""
    starts = [min([h.placed_on, last_day, *(s.day for s in h.sightings[:1])]) for h in histories]
    first_day = min([last_day, *starts])
    days = (last_day - first_day).days + 1
    rows = [
        (index, turn, seen)
        for index, history in enumerate(histories)
        for turn, seen in enumerate(history.sightings)
        if seen.day <= last_day
    ]
    people = tuple(sorted({seen.by for _, _, seen in rows if seen.by and not seen.emptied}))
    number = {name: index for index, name in enumerate(people)}
    masks = {id(h.calendar): running_mask(h.calendar, first_day, days) for h in histories}
    running = np.array([masks[id(h.calendar)] for h in histories], dtype=np.bool_)
    return Record(
        first_day=first_day,
        kinds=tuple(history.place_kind for history in histories),
        volume_ml=np.array([history.volume_ml for history in histories], dtype=np.float64),
        running=running.reshape(len(histories), days),
        shape=np.ones((len(histories), DAYS_PER_WEEK)),
        placed=np.array([(start - first_day).days for start in starts], dtype=np.int64),
        container=np.array([index for index, _, _ in rows], dtype=np.int64),
        turn=np.array([turn for _, turn, _ in rows], dtype=np.int64),
        day=np.array([(seen.day - first_day).days for _, _, seen in rows], dtype=np.int64),
        level=np.array([seen.percent / PERCENT for _, _, seen in rows], dtype=np.float64),
        emptied=np.array([seen.emptied for _, _, seen in rows], dtype=np.bool_),
        people=people,
        by=np.array([number.get(seen.by, -1) for _, _, seen in rows], dtype=np.int64),
    )
