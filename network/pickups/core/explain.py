"""Why each place is in a plan, when it is next, or what keeps it out, in numbers.

Each answer is worked out against the plan as it stands: what its stop adds to its route, or
what the best stop elsewhere would add. It never changes the plan.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from network.pickups.core.obstacles import obstacle, obstacles
from network.pickups.core.plan import Plan, Route, Stop
from network.pickups.core.problem import Place, Problem, Shift, VisitDay
from network.pickups.core.reasons import Reason, ReasonCode
from network.pickups.core.room import ShiftRoom, room_of
from network.pickups.core.schedule import timed_route

SOONEST_CHANGED = (
    ReasonCode.NO_TIME_LEFT,
    ReasonCode.NO_VOLUME_LEFT,
    ReasonCode.NO_PAYLOAD_LEFT,
    ReasonCode.STREAMS_WOULD_MIX,
    ReasonCode.NO_ROAD,
)


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """What there is to say about one place: when it is visited, if it is, and the reasons."""

    place_id: str
    day: int | None
    shift_id: str | None
    arrival_s: int | None
    reasons: tuple[Reason, ...]

    @property
    def is_planned(self) -> bool:
        """Whether the plan visits it."""
        return self.shift_id is not None


@dataclass(frozen=True, kw_only=True)
class _Insertion:
    """The place soundly put into one shift's route: what that adds."""

    shift: Shift
    extra_m: int
    extra_s: int
    extra_cost: Decimal
    worth: Decimal


def explain(problem: Problem, plan: Plan) -> tuple[Explanation, ...]:
    """Explain every place of the problem against a plan, in the problem's order."""
    routes = {route.shift_id: route for route in plan.routes}
    rooms = [room_of(problem, shift, routes.get(shift.id)) for shift in problem.shifts]
    return tuple(_explanation(problem, plan, place, rooms) for place in problem.places)


def _explanation(
    problem: Problem, plan: Plan, place: Place, rooms: Sequence[ShiftRoom]
) -> Explanation:
    visit = plan.visit_by_place.get(place.id)
    if visit is None:
        reasons = obstacles(problem, place) or (_why_left_out(problem, plan, place, rooms),)
        return Explanation(
            place_id=place.id, day=None, shift_id=None, arrival_s=None, reasons=reasons
        )
    route, stop = visit
    return Explanation(
        place_id=place.id,
        day=route.day,
        shift_id=route.shift_id,
        arrival_s=stop.arrival_s,
        reasons=_why_visited(problem, place, route, stop),
    )


def _why_visited(problem: Problem, place: Place, route: Route, stop: Stop) -> tuple[Reason, ...]:
    """What the stop adds to its route: the route with it less the route without it."""
    others = [other.location_id for other in route.stops if other is not stop]
    shift = problem.shift_by_id[route.shift_id]
    without = timed_route(problem, shift, others) if len(route.visits) > 1 else None
    params: dict[str, int | str | Decimal] = {
        "day": route.day,
        "arrival_clock_s": stop.arrival_s,
        "extra_m": route.distance_m - (without.distance_m if without else 0),
        "extra_s": route.duration_s - (without.duration_s if without else 0),
        "extra_cost": route.cost.total - (without.cost.total if without else 0),
        "worth": stop.worth,
    }
    visited = Reason(code=ReasonCode.VISITED, params=params)
    asked_for = (Reason(code=ReasonCode.ASKED_FOR),) if place.must_be_visited else ()
    return (*asked_for, visited)


def _why_left_out(problem: Problem, plan: Plan, place: Place, rooms: Sequence[ShiftRoom]) -> Reason:
    """The best sound way to add the place; or, where there is none, what comes nearest."""
    routes = {route.shift_id: route for route in plan.routes}
    sound: list[_Insertion] = []
    broken: list[Reason] = []
    for room in rooms:
        shift, option = room.shift, place.on(room.shift.day)
        if option is None or not place.may_be_visited_on(shift.day):
            continue
        if obstacle(problem, place, option, shift) is not None:
            continue
        position, reason = _best_position(room, place, option)
        if reason is None:
            sound.append(_insertion(problem, shift, routes.get(shift.id), place.id, position))
        else:
            broken.append(reason)
    if not sound:
        return min(broken, key=_shortfall)
    return _offer(min(sound, key=lambda one: (one.extra_cost - one.worth, one.extra_m)))


def _best_position(room: ShiftRoom, place: Place, option: VisitDay) -> tuple[int, Reason | None]:
    """The sound position with the shortest detour; or, where none is, what comes nearest."""
    tries: list[tuple[int, Reason]] = []
    for position in room.positions_by_detour(place.id):
        reason = room.broken_by(place, option, position)
        if reason is None:
            return position, None
        tries.append((position, reason))
    return min(tries, key=lambda one: _shortfall(one[1]))


def _shortfall(reason: Reason) -> tuple[int, int]:
    """Order what keeps a place out by what a maker could soonest change, then by how much."""
    names = ("late_s", "excess_g", "excess_ml")
    excess = sum(int(reason.params.get(name, 0)) for name in names)
    return SOONEST_CHANGED.index(reason.code), excess


def _insertion(
    problem: Problem, shift: Shift, route: Route | None, place_id: str, position: int
) -> _Insertion:
    before = [stop.location_id for stop in route.stops] if route else []
    after = timed_route(problem, shift, [*before[:position], place_id, *before[position:]])
    return _Insertion(
        shift=shift,
        extra_m=after.distance_m - (route.distance_m if route else 0),
        extra_s=after.duration_s - (route.duration_s if route else 0),
        extra_cost=after.cost.total - (route.cost.total if route else 0),
        worth=after.stops[position].worth,
    )


def _offer(best: _Insertion) -> Reason:
    pays = best.extra_cost < best.worth
    return Reason(
        code=ReasonCode.WOULD_PAY if pays else ReasonCode.NOT_WORTH_IT,
        params={
            "day": best.shift.day,
            "shift_id": best.shift.id,
            "extra_m": best.extra_m,
            "extra_s": best.extra_s,
            "extra_cost": best.extra_cost,
            "worth": best.worth,
        },
    )
