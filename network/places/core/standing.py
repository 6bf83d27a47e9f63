"""How containers stand full day by day if nobody comes, and how much of that coming would avoid.

What fills in a day or two stands full whatever one does. So what nobody's coming costs is what is
beyond that: how much likelier a container is full, and how much more no longer goes in, than where
it is emptied on each morning on which somebody could come.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from network.places.core.forecast import Beliefs, Mixture, outlook_at

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Standing:
    """Rows are containers, columns days that lie end to end.

    `full` is the chance to be full at the day's end, `lost` what no longer goes in on the day, a
    share of the volume; or by how much either is greater than elsewhere.
    """

    full: Floats
    lost: Floats


@dataclass(frozen=True, kw_only=True)
class FullDay:
    """One day of a container: the chance that it ends full if nobody comes, and what coming avoids.

    The chances are of a working day; on another both are nought. `avoidable_ml` no longer goes in.
    """

    chance: float
    avoidable_chance: float
    avoidable_ml: int


def told(beliefs: Beliefs, level: Floats | float, *, column: int) -> Beliefs:
    """Believe that levels are these, shares of the volume, on the morning of the record's column.

    Of the rates it is believed what was believed of them.
    """
    own = np.asarray(level, dtype=np.float64)[..., None]
    return replace(
        beliefs,
        mean=np.broadcast_to(own, beliefs.mean.shape),
        variance=np.zeros_like(beliefs.variance),
        since=beliefs.record.clock[:, column],
    )


def if_nobody_comes(beliefs: Beliefs, *, first: int, days: int) -> Standing:
    """Return what is expected on so many days from the record's column `first` on."""
    count = len(beliefs.since)
    mornings = [outlook_at(beliefs, np.full(count, first + step)) for step in range(days + 1)]
    beyond = np.stack([_beyond_full(levels) for levels in mornings], axis=1)
    return Standing(
        full=np.stack([levels.chance_above(1.0) for levels in mornings[1:]], axis=1),
        lost=np.diff(beyond, axis=1),
    )


def avoidable(
    nobody: Standing, emptied: Callable[[int], Standing], could_come: NDArray[np.bool_]
) -> Standing:
    """Return by how much each day is worse if nobody comes than after the last that could.

    `emptied` tells how it goes on from a day, of that number, on whose morning all are emptied;
    `could_come` has a row for each container and a column for each day. Until somebody could come
    nothing can be avoided.
    """
    last = np.maximum.accumulate(np.where(could_come, np.arange(could_come.shape[1]), -1), axis=1)
    full, lost = np.zeros((2, *could_come.shape))
    for day in np.flatnonzero(could_come.any(axis=0)).tolist():
        after = emptied(day)
        is_last = last[:, day:] == day
        full[:, day:] += is_last * (nobody.full[:, day:] - after.full)
        lost[:, day:] += is_last * (nobody.lost[:, day:] - after.lost)
    return Standing(full=np.maximum(full, 0), lost=np.maximum(lost, 0))


def expected_avoidable(beliefs: Beliefs, could_come: NDArray[np.bool_], *, first: int) -> Standing:
    """Return what coming is expected to avoid on each day from the record's column `first` on."""
    nobody = if_nobody_comes(beliefs, first=first, days=could_come.shape[1])
    return _beyond_emptied(beliefs, nobody, could_come, first)


def _beyond_emptied(
    beliefs: Beliefs, nobody: Standing, could_come: NDArray[np.bool_], first: int
) -> Standing:
    days = could_come.shape[1]

    def emptied(day: int) -> Standing:
        empty = told(beliefs, 0.0, column=first + day)
        return if_nobody_comes(empty, first=first + day, days=days - day)

    return avoidable(nobody, emptied, could_come)


def full_days(
    beliefs: Beliefs, could_come: NDArray[np.bool_], *, first: int
) -> list[list[FullDay]]:
    """Return for each container each of the days from the record's column `first` on."""
    days = could_come.shape[1]
    nobody = if_nobody_comes(beliefs, first=first, days=days)
    avoided = _beyond_emptied(beliefs, nobody, could_come, first)
    working = beliefs.record.running[:, first : first + days]
    return [
        [
            FullDay(
                chance=float(nobody.full[row, day]) if works else 0.0,
                avoidable_chance=float(avoided.full[row, day]) if works else 0.0,
                avoidable_ml=int(avoided.lost[row, day] * volume_ml),
            )
            for day, works in enumerate(working[row])
        ]
        for row, volume_ml in enumerate(beliefs.record.volume_ml)
    ]


def _beyond_full(levels: Mixture) -> Floats:
    """What is expected to have come beyond a full container, a share of its volume."""
    expected: Floats = (levels.weight * levels.mean).sum(axis=1) - levels.expected_up_to()
    return expected
