"""From PyVRP's solutions to orders of stops, and from a plan to a solution to start from."""

import sys
from collections import defaultdict
from collections.abc import Sequence

import numpy as np
import pyvrp
from scipy.optimize import linear_sum_assignment

from network.pickups.core.model import Model
from network.pickups.core.plan import Plan, Route, Stop, StopKind
from network.pickups.core.problem import Problem, Shift, Window, is_within

LONG_STOPS = 50
"""From so many stops on, each is not tried any more for being left out of a route too long."""


def orders_of(
    model: Model, routes: Sequence[pyvrp.Route], *, like: Plan | None = None
) -> dict[str, list[str]]:
    """Read the order of stops for each shift out of a solution's routes.

    Of shifts that are all one to the solver, each gets the route with which most places keep their
    van: the one of the plan it should be `like`, then the one that came last.
    """
    kinds = {id(key.kind): key.kind for key in model.vehicles}
    own: dict[int, list[list[str]]] = defaultdict(list)
    for route in routes:
        own[id(model.vehicles[route.vehicle_type()].kind)].append(_order(model, route))
    orders: dict[str, list[str]] = {}
    for kind_id, alike in own.items():
        orders.update(_shared_out(model.problem, kinds[kind_id].shifts, alike, like=like))
    return orders


def _shared_out(
    problem: Problem, shifts: Sequence[Shift], orders: Sequence[list[str]], *, like: Plan | None
) -> dict[str, list[str]]:
    """Give each order one of the shifts, which are alike, as far as there are enough."""
    visited = _visited_by_shift(like)

    def kept(order: Sequence[str], shift: Shift) -> int:
        as_planned = len(visited.get(shift.id, set()).intersection(order))
        places = [problem.place_by_id[stop] for stop in order if stop in problem.place_by_id]
        as_last_time = sum(place.last_van_id == shift.van_id for place in places)
        return as_planned * (len(problem.places) + 1) + as_last_time

    here = orders[: len(shifts)]
    places_kept = [[kept(order, shift) for shift in shifts] for order in here]
    rows, columns = linear_sum_assignment(np.array(places_kept), maximize=True)
    return {shifts[column].id: here[row] for row, column in zip(rows, columns, strict=True)}


def _visited_by_shift(plan: Plan | None) -> dict[str, set[str]]:
    if plan is None:
        return {}
    return {route.shift_id: {stop.location_id for stop in route.visits} for route in plan.routes}


def sound_routes(model: Model, solution: pyvrp.Solution) -> tuple[pyvrp.Route, ...]:
    """Return a solution's routes, each without the visits that make it break a bound.

    A search that was cut short, or that could not make every visit that was asked for, may end
    on a route that is a little too long or too heavy.
    """
    mended = (_mended(model, route) for route in solution.routes())
    return tuple(route for route in mended if route.num_clients())


def _mended(model: Model, route: pyvrp.Route) -> pyvrp.Route:
    """Drop one visit after another, each time the one that leaves the soundest, worthiest rest.

    Of a route that is far too long, the least worthy are dropped at once while it stays long.
    """
    while route.num_clients() and not route.is_feasible():
        steps = [step for step in route.schedule() if _is_a_stop(model, step)]
        if len(steps) >= LONG_STOPS:
            by_worth = sorted(range(len(steps)), key=lambda index: _prize(model, steps[index]))
            kept = sorted(by_worth[len(steps) // LONG_STOPS :])
            rest: list[pyvrp.Activity] = [steps[index] for index in kept]
            route = pyvrp.Route(model.data, rest, route.vehicle_type())
            continue
        without = (steps[:index] + steps[index + 1 :] for index in range(len(steps)))
        rests = [pyvrp.Route(model.data, list(rest), route.vehicle_type()) for rest in without]
        route = max(rests, key=lambda rest: (rest.is_feasible(), rest.prizes()))
    return route


def _prize(model: Model, step: pyvrp.ScheduledActivity) -> int:
    """What a visit is worth to the solver; an unloading goes last."""
    return model.data.client(step.idx).prize if step.is_client() else sys.maxsize


def _is_a_stop(model: Model, step: pyvrp.ScheduledActivity) -> bool:
    return step.is_client() or step.idx in model.unload_depots.values()


def _order(model: Model, route: pyvrp.Route) -> list[str]:
    """The places and unloadings of a route, without unloadings of nothing."""
    depot_of = {index: depot_id for depot_id, index in model.unload_depots.items()}
    order: list[str] = []
    for step in route.schedule():
        if step.is_client():
            order.append(model.clients[step.idx].place.id)
        elif step.idx in depot_of and order and order[-1] not in model.unload_depots:
            order.append(depot_of[step.idx])
    while order and order[-1] in model.unload_depots:
        order.pop()
    return order


def solution_of(model: Model, plan: Plan) -> pyvrp.Solution:
    """Put a plan into PyVRP's words as far as it still fits: a place to start the search from."""
    client_of = {
        (key.place.id, key.option.day, key.window): index for index, key in enumerate(model.clients)
    }
    left = [key.count for key in model.vehicles]
    routes = []
    seen: set[str] = set()
    for route in plan.routes:
        vehicle = _vehicle_for(model, route, left)
        activities = [
            activity
            for stop in route.stops
            if stop.location_id not in seen
            and (activity := _activity(model, route, stop, client_of)) is not None
        ]
        seen.update(stop.location_id for stop in route.visits)
        if vehicle is not None and any(activity.is_client() for activity in activities):
            left[vehicle] -= 1
            routes.append(pyvrp.Route(model.data, activities, vehicle))
    return pyvrp.Solution(model.data, routes)


def _vehicle_for(model: Model, route: Route, left: Sequence[int]) -> int | None:
    """The vehicle type of a route's shift, in a setting that takes on all its streams."""
    streams = {load.stream_id for stop in route.stops for load in stop.loads}
    for index, key in enumerate(model.vehicles):
        is_its_kind = any(shift.id == route.shift_id for shift in key.kind.shifts)
        if is_its_kind and left[index] and not key.setting & streams:
            return index
    return None


def _activity(
    model: Model, route: Route, stop: Stop, client_of: dict[tuple[str, int, Window], int]
) -> pyvrp.Activity | None:
    if stop.kind is StopKind.UNLOAD:
        depot = model.unload_depots.get(stop.location_id)
        return None if depot is None else pyvrp.Activity(pyvrp.ActivityType.DEPOT, depot)
    place = model.problem.place_by_id.get(stop.location_id)
    option = place.on(route.day) if place else None
    if place is None or option is None:
        return None
    # The window that was used, if it is still there; else whichever comes next.
    by_closeness = sorted(option.windows, key=lambda w: (w.end_s < stop.departure_s, w.start_s))
    held = [
        w for w in option.preferred if is_within((w,), start_s=stop.start_s, end_s=stop.departure_s)
    ]
    for window in (*held, *by_closeness):
        client = client_of.get((place.id, option.day, window))
        if client is not None:
            return pyvrp.Activity(pyvrp.ActivityType.CLIENT, client)
    return None
