"""Tiny named planning problems that a reader can hold in the head.

The cross: a workshop with four places around it.

             north
               |
      west --- W --- east        each arm 3 km and 300 s
               |
             south               neighbours 4 km and 400 s apart, opposite ones 6 km and 600 s

Van 'tern' costs 10 a shift, 0.50 a kilometre and 12 an hour. Its shift is 08:00 to 16:00. Every
place is open from 09:00 to 15:00, takes 10 minutes, holds 20 kg in 200 l, and is worth 15.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np

from network.pickups.core.problem import (
    Depot,
    Load,
    Place,
    Problem,
    Shift,
    Van,
    VisitDay,
    Window,
)
from network.pickups.core.travel import Travel

NAMES = ("north", "east", "south", "west")
HOUR_S = 3600
DAY_S = 24 * HOUR_S

WORKSHOP = Depot(id="workshop", longitude=-30.0, latitude=-40.0, unload_s=600)
TERN = Van(
    id="tern",
    payload_g=500_000,
    volume_ml=3_000_000,
    cost_per_shift=Decimal(10),
    cost_per_km=Decimal("0.50"),
    cost_per_hour=Decimal(12),
)


def cross_travel() -> Travel:
    """The cross's matrix, workshop first, then the places clockwise."""
    metres = [
        [0, 3000, 3000, 3000, 3000],
        [3000, 0, 4000, 6000, 4000],
        [3000, 4000, 0, 4000, 6000],
        [3000, 6000, 4000, 0, 4000],
        [3000, 4000, 6000, 4000, 0],
    ]
    matrix = np.array(metres, dtype=np.int64)
    return Travel(ids=("workshop", *NAMES), metres=matrix, seconds=matrix // 10)


def hours(opens: float, closes: float, *, day: int = 0) -> Window:
    """A window from one hour of a day to another."""
    return Window(
        start_s=int(day * DAY_S + opens * HOUR_S), end_s=int(day * DAY_S + closes * HOUR_S)
    )


def load(mass_kg: int = 20, volume_l: int = 200, stream_id: str = "caps") -> Load:
    """An expected load in the units people say."""
    return Load(stream_id=stream_id, mass_g=mass_kg * 1000, volume_ml=volume_l * 1000)


def visit_day(
    day: int = 0,
    *,
    windows: Sequence[Window] | None = None,
    loads: Iterable[Load] = (load(),),
    worth: int | Decimal = 15,
) -> VisitDay:
    """A day on which a place is open from nine to three."""
    return VisitDay(
        day=day,
        windows=(hours(9, 15, day=day),) if windows is None else tuple(windows),
        loads=tuple(loads),
        worth=Decimal(worth),
    )


def place(name: str, *days: VisitDay, **changes: Any) -> Place:
    """A place of the cross, open on day 0 unless told otherwise."""
    given = {
        "longitude": -30.0,
        "latitude": -40.0,
        "service_s": 600,
        "days": days or (visit_day(),),
    }
    return Place(id=name, **{**given, **changes})


def shift(van_id: str = "tern", *, day: int = 0, **changes: Any) -> Shift:
    """A shift from eight to four."""
    made = Shift(
        id=f"{van_id}-{day}",
        van_id=van_id,
        day=day,
        start_s=day * DAY_S + 8 * HOUR_S,
        end_s=day * DAY_S + 16 * HOUR_S,
        start_depot_id="workshop",
        end_depot_id="workshop",
    )
    return replace(made, **changes)


def cross(**changes: Any) -> Problem:
    """Four places, one van, one day; any part may be given otherwise."""
    given = {
        "days": 1,
        "currency": "EUR",
        "depots": (WORKSHOP,),
        "vans": (TERN,),
        "shifts": (shift(),),
        "places": tuple(place(name) for name in NAMES),
        "travel": cross_travel(),
    }
    return Problem(**{**given, **changes})


def cross_with(*places: Place, **changes: Any) -> Problem:
    """The cross with these places in it and no others."""
    return cross(places=places, **changes)
