"""From the places that are due, or could be, to the day's routes: all policies use this one way."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from network.pickups.core.plan import Plan, Route
from network.pickups.core.problem import (
    Depot,
    Load,
    Place,
    Problem,
    Shift,
    VisitDay,
    Window,
)
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from network.simulation.core.terms import Terms
from network.simulation.core.world import CENTRE, DEPOT, World, WorldPlace
from network.units import S_PER_HOUR

S_PER_DAY = 86_400
_STREAM = "caps"
_UNLOAD_S = 900

# What was planned for days to come: the order of stops by van and day of the world.
Ahead = Mapping[tuple[str, int], list[str]]


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A place that may be visited on some days: what would be there, and what that is worth.

    `options` maps a day, counted from this one, to the expected fill and the worth.
    """

    place: int
    options: dict[int, tuple[float, Decimal]]
    required: bool = False


class Router(Protocol):
    """Finds the routes of a problem: Millrace's own search, or another held against it."""

    def __call__(
        self, problem: Problem, *, seed: int, iterations: int, warm_start: Plan | None
    ) -> Plan:
        """Return a plan; the same problem, seed, limit and start give the same."""


def vans_go_out(world: World, day: int) -> bool:
    """Return whether a day is one on which vans go out: Monday to Friday."""
    return world.day(day).weekday() < 5  # noqa: PLR2004 - Saturday


def visitable(world: World, day: int) -> NDArray[np.bool_]:
    """Return for each place whether it is open on a day on which vans go out."""
    open_then: NDArray[np.bool_] = world.running[:, day] & vans_go_out(world, day)
    return open_then


def plan_days(
    world: World,
    terms: Terms,
    choices: Sequence[Choice],
    *,
    day: int,
    days: int,
    seed: int,
    ahead: Ahead,
    router: Router = solve,
) -> tuple[Route, ...]:
    """Plan so many days from this one on, beginning with what was planned ahead for them.

    Return the routes of all days, each with its day counted from this one.
    """
    if not choices:
        return ()
    problem = Problem(
        days=days,
        currency=terms.currency,
        depots=(
            Depot(
                id=DEPOT,
                longitude=CENTRE.longitude,
                latitude=CENTRE.latitude,
                unload_s=_UNLOAD_S,
            ),
        ),
        vans=tuple(terms.van(f"van-{number}") for number in range(terms.vans)),
        shifts=tuple(_shifts(world, terms, day=day, days=days)),
        places=tuple(_place(world, terms, choice) for choice in choices),
        travel=world.travel,
    )
    start = _begun(problem, ahead, day=day)
    return router(problem, seed=seed, iterations=terms.iterations, warm_start=start).routes


def ahead_of(routes: Iterable[Route], *, day: int) -> Ahead:
    """What the routes of a plan of this day hold for the days after it."""
    return {(route.van_id, day + route.day): route.order for route in routes if route.day > 0}


def _begun(problem: Problem, ahead: Ahead, *, day: int) -> Plan | None:
    """What was planned ahead for these days, as far as it is still among the choices."""
    orders = {
        shift.id: [
            place_id
            for place_id in ahead.get((shift.van_id, day + shift.day), ())
            if (place := problem.place_by_id.get(place_id)) and place.on(shift.day)
        ]
        for shift in problem.shifts
    }
    return retime(problem, orders) if any(orders.values()) else None


def _shifts(world: World, terms: Terms, *, day: int, days: int) -> Iterable[Shift]:
    for step in range(days):
        if not vans_go_out(world, day + step):
            continue
        for number in range(terms.vans):
            yield Shift(
                id=f"van-{number}-{step}",
                van_id=f"van-{number}",
                day=step,
                start_s=step * S_PER_DAY + terms.shift_start_h * S_PER_HOUR,
                end_s=step * S_PER_DAY + terms.shift_end_h * S_PER_HOUR,
                start_depot_id=DEPOT,
                end_depot_id=DEPOT,
            )


def _place(world: World, terms: Terms, choice: Choice) -> Place:
    place = world.places[choice.place]
    return Place(
        id=place.id,
        longitude=place.point.longitude,
        latitude=place.point.latitude,
        service_s=place.service_s,
        days=tuple(
            _visit_day(place, terms, step, fill=fill, worth=worth)
            for step, (fill, worth) in choice.options.items()
        ),
        required=choice.required,
    )


def _visit_day(
    place: WorldPlace, terms: Terms, step: int, *, fill: float, worth: Decimal
) -> VisitDay:
    volume_ml = int(fill * place.volume_ml)
    start_s = step * S_PER_DAY
    return VisitDay(
        day=step,
        windows=(
            Window(
                start_s=start_s + place.kind.opens_h * S_PER_HOUR,
                end_s=start_s + place.kind.closes_h * S_PER_HOUR,
            ),
        ),
        loads=(Load(stream_id=_STREAM, mass_g=terms.mass_g(volume_ml), volume_ml=volume_ml),),
        worth=worth,
    )
