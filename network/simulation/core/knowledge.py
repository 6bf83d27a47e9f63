"""What a policy knows on a morning of how full containers are and will be."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from network.places.core.forecast import Beliefs, believe, outlook_at
from network.places.core.habits import KindHabits
from network.places.core.history import FillHistory, Sighting
from network.places.core.standing import Standing, avoidable, expected_avoidable, told
from network.simulation.core.world import World

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, eq=False)
class Knowledge:
    """Rows are places; column 0 is this morning, column 1 tomorrow's, and so on.

    `level` is the expected fill, a fraction of the volume of 1 at most; `full` the chance that
    the container stands full at that time. `avoidable` tells what coming would avoid on each day,
    where it is said for each place and day whether it could be visited then.
    """

    level: Floats
    full: Floats
    avoidable: Callable[[Flags], Standing]


def histories_of(world: World, sightings: Sequence[Sequence[Sighting]]) -> list[FillHistory]:
    """Return what was seen of each container, as the forecast of `places` takes it."""
    return [
        FillHistory(
            place_kind=place.kind.name,
            volume_ml=place.volume_ml,
            placed_on=world.first_day,
            calendar=place.calendar,
            sightings=tuple(seen),
        )
        for place, seen in zip(world.places, sightings, strict=True)
    ]


def believed(
    world: World,
    sightings: Sequence[Sequence[Sighting]],
    habits: dict[str, KindHabits],
    *,
    day: int,
    ahead: int,
) -> Beliefs:
    """Return what the forecast makes of all that was seen up to a morning."""
    return believe(histories_of(world, sightings), habits, last_day=world.day(day + ahead))


def by_forecast(beliefs: Beliefs, *, day: int, ahead: int) -> Knowledge:
    """Know by the forecast alone."""
    count = len(beliefs.since)
    outlooks = [outlook_at(beliefs, np.full(count, day + step)) for step in range(ahead + 1)]
    return Knowledge(
        level=np.stack([levels.expected_up_to() for levels in outlooks], axis=1),
        full=np.stack([levels.chance_above(1.0) for levels in outlooks], axis=1),
        avoidable=partial(expected_avoidable, beliefs, first=day),
    )


def by_sensor(beliefs: Beliefs, level: Floats, *, day: int, ahead: int) -> Knowledge:
    """Know how full each container is this morning, and by the forecast how it goes on."""
    return by_forecast(told(beliefs, level, column=day), day=day, ahead=ahead)


def by_foresight(world: World, level: Floats, *, day: int, ahead: int) -> Knowledge:
    """Know what nobody can: how full each container will be."""
    coming = world.deposits_ml[:, day : day + ahead] / world.volume_ml[:, None]
    levels = np.concatenate([level[:, None], coming], axis=1).cumsum(axis=1)

    def emptied(step: int) -> Standing:
        return _surely(levels[:, step:] - levels[:, step, None])

    return Knowledge(
        level=np.minimum(levels, 1.0),
        full=(levels >= 1).astype(np.float64),
        avoidable=partial(avoidable, _surely(levels), emptied),
    )


def _surely(levels: Floats) -> Standing:
    """How containers stand that hold so much from one morning to the next."""
    return Standing(
        full=(levels[:, 1:] >= 1).astype(np.float64),
        lost=np.diff(np.maximum(levels - 1, 0), axis=1),
    )
