"""Why each place is in a plan, when it is next, or what keeps it out, in numbers.

Each answer is worked out against the plan as it stands: what its stop adds to its route, or
what the best stop elsewhere would add. It never changes the plan.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from network.pickups.core.obstacles import obstacle, obstacles
from network.pickups.core.plan import Plan, Route, Stop, StopKind
from network.pickups.core.problem import Load, Place, Problem, Shift, Van
from network.pickups.core.reasons import Reason, ReasonCode
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
    """The place put into one shift's route somewhere: what that adds, and what it breaks."""

    shift: Shift
    extra_m: int
    extra_s: int
    extra_cost: Decimal
    worth: Decimal
    broken: Reason | None


def explain(problem: Problem, plan: Plan) -> tuple[Explanation, ...]:
    """Explain every place of the problem against a plan, in the problem's order."""
    return tuple(explain_place(problem, plan, place) for place in problem.places)


def explain_place(problem: Problem, plan: Plan, place: Place) -> Explanation:
    """Explain one place against a plan."""
    visit = plan.visit_by_place.get(place.id)
    if visit is None:
        reasons = obstacles(problem, place) or (_why_left_out(problem, plan, place),)
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


def _why_left_out(problem: Problem, plan: Plan, place: Place) -> Reason:
    """The best sound way to add the place; or, where there is none, what comes nearest."""
    tries = list(_insertions(problem, plan, place))
    sound = [one for one in tries if one.broken is None]
    if not sound:
        return min((one.broken for one in tries if one.broken), key=_shortfall)
    best = min(sound, key=lambda one: (one.extra_cost - one.worth, one.extra_m))
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


def _shortfall(reason: Reason) -> tuple[int, int]:
    """Order what keeps a place out by what a maker could soonest change, then by how much."""
    names = ("late_s", "excess_g", "excess_ml")
    excess = sum(int(reason.params.get(name, 0)) for name in names)
    return SOONEST_CHANGED.index(reason.code), excess


def _insertions(problem: Problem, plan: Plan, place: Place) -> Iterator[_Insertion]:
    """The best position in every shift that could visit the place at all."""
    routes = {route.shift_id: route for route in plan.routes}
    for option in place.allowed_days():
        for shift in problem.shifts:
            if shift.day == option.day and obstacle(problem, place, option, shift) is None:
                yield _best_in_shift(problem, shift, routes.get(shift.id), place)


def _best_in_shift(problem: Problem, shift: Shift, route: Route | None, place: Place) -> _Insertion:
    """Try the positions from the shortest detour on; the first that is sound is taken."""
    before = [stop.location_id for stop in route.stops] if route else []
    tries: list[tuple[tuple[int, int], _Insertion]] = []
    for position in _by_detour(problem, shift, before, place.id):
        after = timed_route(problem, shift, [*before[:position], place.id, *before[position:]])
        one = _Insertion(
            shift=shift,
            extra_m=after.distance_m - (route.distance_m if route else 0),
            extra_s=after.duration_s - (route.duration_s if route else 0),
            extra_cost=after.cost.total - (route.cost.total if route else 0),
            worth=after.stops[position].worth,
            broken=_broken(problem, shift, after),
        )
        if one.broken is None:
            return one
        tries.append((_shortfall(one.broken), one))
    return min(tries, key=lambda pair: pair[0])[1]


def _by_detour(problem: Problem, shift: Shift, before: Sequence[str], place_id: str) -> list[int]:
    travel = problem.travel
    points = [shift.start_depot_id, *before, shift.end_depot_id]

    def detour_m(position: int) -> int:
        from_id, to_id = points[position], points[position + 1]
        there_m = travel.metres_between(from_id, place_id)
        back_m = travel.metres_between(place_id, to_id)
        return there_m + back_m - travel.metres_between(from_id, to_id)

    return sorted(range(len(before) + 1), key=detour_m)


def _broken(problem: Problem, shift: Shift, route: Route) -> Reason | None:
    """What a route breaks first: a missing way, the clock, the van's room, or mixed streams."""
    return (
        _without_road(problem, shift, route)
        or _late(problem, shift, route)
        or _overloaded(problem, shift, route)
    )


def _without_road(problem: Problem, shift: Shift, route: Route) -> Reason | None:
    ids = [shift.start_depot_id, *(stop.location_id for stop in route.stops), shift.end_depot_id]
    for from_id, to_id in pairwise(ids):
        if not problem.travel.has_road(from_id, to_id):
            return Reason(code=ReasonCode.NO_ROAD, params={"other_id": from_id})
    return None


def _late(problem: Problem, shift: Shift, route: Route) -> Reason | None:
    late_s = max(0, route.end_s - shift.end_s)
    for stop in route.visits:
        option = problem.place_by_id[stop.location_id].on(shift.day)
        windows = option.windows if option else ()
        if not any(w.start_s <= stop.start_s and stop.departure_s <= w.end_s for w in windows):
            last_s = max((window.end_s for window in windows), default=0)
            late_s = max(late_s, stop.departure_s - last_s)
    if late_s == 0:
        return None
    params: dict[str, int | str] = {"day": shift.day, "van_id": shift.van_id, "late_s": late_s}
    return Reason(code=ReasonCode.NO_TIME_LEFT, params=params)


def _overloaded(problem: Problem, shift: Shift, route: Route) -> Reason | None:
    van = problem.van_of(shift)
    params: dict[str, int | str] = {"day": shift.day, "van_id": van.id}
    for aboard in _loads_driven(route):
        excess_g = sum(load.mass_g for load in aboard) - van.payload_g
        if excess_g > 0:
            return Reason(code=ReasonCode.NO_PAYLOAD_LEFT, params={**params, "excess_g": excess_g})
        excess_ml = _excess_ml(van, aboard)
        if excess_ml > 0:
            return Reason(code=ReasonCode.NO_VOLUME_LEFT, params={**params, "excess_ml": excess_ml})
        for group in problem.apart:
            mixed = sorted(group & {load.stream_id for load in aboard})
            if len(mixed) > 1:
                names = {"one_stream": mixed[0], "other_stream": mixed[1]}
                return Reason(code=ReasonCode.STREAMS_WOULD_MIX, params={**params, **names})
    return None


def _loads_driven(route: Route) -> list[list[Load]]:
    """All that is on board together, from one unloading to the next."""
    driven: list[list[Load]] = [[]]
    for stop in route.stops:
        if stop.kind is StopKind.UNLOAD:
            driven.append([])
        driven[-1].extend(stop.loads)
    return driven


def _excess_ml(van: Van, aboard: Sequence[Load]) -> int:
    """By how much a load is too bulky for the van, or for the fullest of its compartments."""
    excess_ml = sum(load.volume_ml for load in aboard) - van.volume_ml
    for stream_id, room_ml in van.stream_volume_ml.items():
        stream_ml = sum(load.volume_ml for load in aboard if load.stream_id == stream_id)
        excess_ml = max(excess_ml, stream_ml - room_ml)
    return excess_ml
