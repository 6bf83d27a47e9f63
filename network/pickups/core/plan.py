"""A plan: which van visits whom, when, with what on board, at what cost; and who is left out.

Times are seconds on the problem's axis. A plan is a plain record: it may break the problem's
rules (a hand-changed order may), which `check` tells.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cached_property

from network.pickups.core.cost import RouteCost
from network.pickups.core.problem import Load, Place, Problem
from network.pickups.core.reasons import Reason
from network.units import G_PER_KG, to_cents


class StopKind(StrEnum):
    """What a van stops for."""

    VISIT = "visit"
    UNLOAD = "unload"


@dataclass(frozen=True, kw_only=True)
class Stop:
    """One stop of a route: a visit to a place, or an unloading at a depot on the way.

    `leg_m` and `leg_s` lead here from the stop before (or the start). `loads` is what is
    expected to be taken on here; `onboard_*` is what the van carries when it leaves. A break
    of `break_s` is taken on arrival, before the work.
    """

    kind: StopKind
    location_id: str
    leg_m: int
    leg_s: int
    arrival_s: int
    start_s: int
    departure_s: int
    loads: tuple[Load, ...]
    onboard_mass_g: int
    onboard_volume_ml: int
    worth: Decimal
    break_s: int = 0

    @property
    def wait_s(self) -> int:
        """How long the driver waits for the place to open."""
        return self.start_s - self.arrival_s - self.break_s

    @property
    def mass_g(self) -> int:
        """What is taken on here."""
        return sum(load.mass_g for load in self.loads)

    @property
    def volume_ml(self) -> int:
        """What is taken on here."""
        return sum(load.volume_ml for load in self.loads)


@dataclass(frozen=True, kw_only=True)
class Route:
    """One shift's ordered stops, from leaving the start depot to being home at the end depot."""

    shift_id: str
    van_id: str
    day: int
    start_s: int
    end_s: int
    stops: tuple[Stop, ...]
    return_m: int
    return_s: int
    cost: RouteCost

    @property
    def visits(self) -> tuple[Stop, ...]:
        """The stops at places, in order."""
        return tuple(stop for stop in self.stops if stop.kind is StopKind.VISIT)

    @property
    def order(self) -> list[str]:
        """Where it stops, in order: ids of places, and of depots where it unloads."""
        return [stop.location_id for stop in self.stops]

    @property
    def distance_m(self) -> int:
        """The way driven, home included."""
        return sum(stop.leg_m for stop in self.stops) + self.return_m

    @property
    def duration_s(self) -> int:
        """From leaving to being home."""
        return self.end_s - self.start_s

    @property
    def drive_s(self) -> int:
        """The time on the road, home included."""
        return sum(stop.leg_s for stop in self.stops) + self.return_s

    @property
    def work_s(self) -> int:
        """From leaving to being home, without the break."""
        return self.duration_s - sum(stop.break_s for stop in self.stops)

    @property
    def stretch_s(self) -> int:
        """The longest time out without a break."""
        return self.stretch_s_after(0)

    def stretch_s_after(self, out_before_s: int) -> int:
        """Return it for a driver who has been out for so long when the van leaves."""
        breaks = [stop for stop in self.stops if stop.break_s]
        begins = [self.start_s - out_before_s, *(stop.arrival_s + stop.break_s for stop in breaks)]
        ends = [*(stop.arrival_s for stop in breaks), self.end_s]
        return max(end_s - begin_s for begin_s, end_s in zip(begins, ends, strict=True))

    @property
    def mass_g(self) -> int:
        """All that is collected."""
        return sum(stop.mass_g for stop in self.stops)

    @property
    def volume_ml(self) -> int:
        """All that is collected."""
        return sum(stop.volume_ml for stop in self.stops)

    @property
    def worth(self) -> Decimal:
        """What its visits are worth together."""
        return sum((stop.worth for stop in self.stops), Decimal(0))

    @property
    def cost_per_kg(self) -> Decimal | None:
        """Money for each kilogram collected, or None where nothing is."""
        return _per_kg(self.cost.total, self.mass_g)


@dataclass(frozen=True, kw_only=True)
class Unplanned:
    """A place without a visit in this plan, and why."""

    place_id: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The routes of a horizon, the places left out, and what can be said of the whole."""

    currency: str
    routes: tuple[Route, ...]
    unplanned: tuple[Unplanned, ...]
    notes: tuple[Reason, ...] = ()

    @cached_property
    def visit_by_place(self) -> dict[str, tuple[Route, Stop]]:
        """The route and stop at which each planned place is visited."""
        return {stop.location_id: (route, stop) for route in self.routes for stop in route.visits}

    @property
    def orders(self) -> dict[str, list[str]]:
        """The order of stops by shift."""
        return {route.shift_id: route.order for route in self.routes}

    @property
    def distance_m(self) -> int:
        """The way driven by all."""
        return sum(route.distance_m for route in self.routes)

    @property
    def duration_s(self) -> int:
        """The driving, waiting and working time of all."""
        return sum(route.duration_s for route in self.routes)

    @property
    def mass_g(self) -> int:
        """All that is collected."""
        return sum(route.mass_g for route in self.routes)

    @property
    def volume_ml(self) -> int:
        """All that is collected."""
        return sum(route.volume_ml for route in self.routes)

    @property
    def cost(self) -> Decimal:
        """What all routes cost."""
        return sum((route.cost.total for route in self.routes), Decimal(0))

    @property
    def worth(self) -> Decimal:
        """What all visits are worth."""
        return sum((route.worth for route in self.routes), Decimal(0))

    @property
    def cost_per_kg(self) -> Decimal | None:
        """Money for each kilogram collected, or None where nothing is."""
        return _per_kg(self.cost, self.mass_g)


def missing_visits(problem: Problem, plan: Plan) -> list[Place]:
    """Return the places that must be visited and are not."""
    return [
        place
        for place in problem.places
        if place.must_be_visited and place.id not in plan.visit_by_place
    ]


def _per_kg(cost: Decimal, mass_g: int) -> Decimal | None:
    return to_cents(cost * G_PER_KG / mass_g) if mass_g else None
