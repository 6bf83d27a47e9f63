"""Why each place is in a plan, when it is next, or what keeps it out, in numbers.

Each answer is worked out against the plan as it stands: what its stop adds to its route, or
what the best stop elsewhere would add. It never changes the plan.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from network.pickups.core.cost import NO_COST, RouteCost, cost_between
from network.pickups.core.obstacles import obstacles
from network.pickups.core.plan import Plan, Route, Stop
from network.pickups.core.problem import Place, Problem, Shift
from network.pickups.core.reasons import Reason, ReasonCode
from network.pickups.core.room import ShiftRoom, best_positions, rooms_of, shortfall
from network.pickups.core.schedule import timed_route


@dataclass(frozen=True, kw_only=True)
class StopFigures:
    """What the place's stop adds to the shift that has it, or would add to the best that could."""

    shift_id: str
    day: int
    extra_m: int
    extra_s: int
    extra_cost: RouteCost
    worth: Decimal
    # What of the worth is lost where the stop misses the hours that the place prefers, else None.
    missed_cost: Decimal | None


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """What there is to say about one place: when it is visited, if it is, and the reasons.

    `figures` are None where no shift could visit it soundly.
    """

    place_id: str
    day: int | None
    shift_id: str | None
    arrival_s: int | None
    reasons: tuple[Reason, ...]
    figures: StopFigures | None

    @property
    def is_planned(self) -> bool:
        """Whether the plan visits it."""
        return self.shift_id is not None


def explain(problem: Problem, plan: Plan) -> tuple[Explanation, ...]:
    """Explain every place of the problem against a plan, in the problem's order."""
    rooms = rooms_of(problem, plan)
    return tuple(_explanation(problem, plan, place, rooms) for place in problem.places)


def _explanation(
    problem: Problem, plan: Plan, place: Place, rooms: Sequence[ShiftRoom]
) -> Explanation:
    visit = plan.visit_by_place.get(place.id)
    if visit is None:
        reasons, figures = _why_left_out(problem, plan, place, rooms)
        return Explanation(
            place_id=place.id,
            day=None,
            shift_id=None,
            arrival_s=None,
            reasons=reasons,
            figures=figures,
        )
    route, stop = visit
    figures = _added_by(problem, route, stop)
    return Explanation(
        place_id=place.id,
        day=route.day,
        shift_id=route.shift_id,
        arrival_s=stop.arrival_s,
        reasons=_why_visited(place, stop, figures),
        figures=figures,
    )


def _added_by(problem: Problem, route: Route, stop: Stop) -> StopFigures:
    """What the stop adds to its route: the route with it less the route without it."""
    others = [other.location_id for other in route.stops if other is not stop]
    shift = problem.shift_by_id[route.shift_id]
    without = timed_route(problem, shift, others) if len(route.visits) > 1 else None
    return _between(problem, without, route, stop)


def _between(problem: Problem, before: Route | None, after: Route, stop: Stop) -> StopFigures:
    return StopFigures(
        shift_id=after.shift_id,
        day=after.day,
        extra_m=after.distance_m - (before.distance_m if before else 0),
        extra_s=after.duration_s - (before.duration_s if before else 0),
        extra_cost=cost_between(before.cost if before else NO_COST, after.cost),
        worth=stop.worth,
        missed_cost=_missed_cost(problem.place_by_id[stop.location_id], after.day, stop),
    )


def _missed_cost(place: Place, day: int, stop: Stop) -> Decimal | None:
    option = place.on(day)
    if option is None or not option.misses(start_s=stop.start_s, end_s=stop.departure_s):
        return None
    return option.missed_cost


def _why_visited(place: Place, stop: Stop, figures: StopFigures) -> tuple[Reason, ...]:
    params: dict[str, int | str | Decimal] = {
        "day": figures.day,
        "arrival_clock_s": stop.arrival_s,
        **_params(figures),
    }
    visited = Reason(code=ReasonCode.VISITED, params=params)
    asked_for = (Reason(code=ReasonCode.ASKED_FOR),) if place.must_be_visited else ()
    pause = Reason(code=ReasonCode.BREAK_FIRST, params={"break_s": stop.break_s})
    more = [pause] if stop.break_s else []
    if figures.missed_cost is not None:
        missed: dict[str, int | str | Decimal] = {"missed_cost": figures.missed_cost}
        more.append(Reason(code=ReasonCode.HOURS_MISSED, params=missed))
    return (*asked_for, visited, *more)


def _params(figures: StopFigures) -> dict[str, int | Decimal]:
    return {
        "extra_m": figures.extra_m,
        "extra_s": figures.extra_s,
        "extra_cost": figures.extra_cost.total,
        "worth": figures.worth,
    }


def _why_left_out(
    problem: Problem, plan: Plan, place: Place, rooms: Sequence[ShiftRoom]
) -> tuple[tuple[Reason, ...], StopFigures | None]:
    """The best sound way to add the place; or, where there is none, what comes nearest."""
    in_the_way = obstacles(problem, place)
    if in_the_way:
        return in_the_way, None
    routes = {route.shift_id: route for route in plan.routes}
    sound: list[StopFigures] = []
    broken: list[Reason] = []
    for shift, position, reason in best_positions(place, rooms):
        if reason is None:
            sound.append(_inserted(problem, shift, routes.get(shift.id), place.id, position))
        else:
            broken.append(reason)
    if not sound:
        return (min(broken, key=shortfall),), None
    best = min(sound, key=lambda one: (one.extra_cost.total - one.worth, one.extra_m))
    return (_offer(best),), best


def _inserted(
    problem: Problem, shift: Shift, route: Route | None, place_id: str, position: int
) -> StopFigures:
    before = route.order if route else []
    after = timed_route(problem, shift, [*before[:position], place_id, *before[position:]])
    return _between(problem, route, after, after.stops[position])


def _offer(best: StopFigures) -> Reason:
    pays = best.extra_cost.total < best.worth
    return Reason(
        code=ReasonCode.WOULD_PAY if pays else ReasonCode.NOT_WORTH_IT,
        params={"day": best.day, "shift_id": best.shift_id, **_params(best)},
    )
