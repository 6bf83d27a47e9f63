"""Routes mended where a break, once it has its place, or the driving, breaks what a driver may do.

The search knows neither: it bounds the way instead of the driving, and leaves time for a break at
a shift's end. What then does not fit is told to a second search, and dropped where it fails.
"""

from decimal import Decimal

from network.pickups.core.limits import broken_limit, late_s, missed_s
from network.pickups.core.model import Spare, shift_kinds
from network.pickups.core.plan import Plan, Route, missing_visits
from network.pickups.core.problem import Problem
from network.pickups.core.schedule import retime, timed_route


def spare_for(problem: Problem, plan: Plan) -> Spare | None:
    """Return what another search should hold back, or None where each route keeps all limits."""
    broken = [route for route in plan.routes if not _is_kept(problem, route)]
    if not broken:
        return None
    metres_max: dict[str, int] = {}
    for kind in shift_kinds(problem):
        drive_s_max, ids = kind.first.drive_s_max, {shift.id for shift in kind.shifts}
        too_long = [
            r for r in broken if r.shift_id in ids and r.drive_s > (drive_s_max or r.drive_s)
        ]
        if too_long and drive_s_max is not None:
            metres_max[kind.first.id] = min(
                route.distance_m * drive_s_max // route.drive_s for route in too_long
            )
    return Spare(
        tight_days=frozenset(
            route.day for route in broken if problem.shift_by_id[route.shift_id].break_s
        ),
        metres_max=metres_max,
    )


def mended(problem: Problem, plan: Plan) -> Plan:
    """Return the plan without the visits that its drivers' time has no room for."""
    orders = plan.orders
    for route in plan.routes:
        if not _is_kept(problem, route):
            orders[route.shift_id] = _thinned(problem, route)
    return retime(problem, orders)


def rank(plan: Plan, problem: Problem) -> tuple[int, Decimal]:
    """Order plans: most of what must be visited first, then by cost less worth."""
    return len(missing_visits(problem, plan)), plan.cost - plan.worth


def _is_kept(problem: Problem, route: Route) -> bool:
    """Whether a route keeps its hours and limits; one without limits does by the search itself."""
    shift = problem.shift_by_id[route.shift_id]
    if not shift.has_limits:
        return True
    too_late_s = late_s(route, shift) + missed_s(problem, route)
    return not too_late_s and broken_limit(route, shift) is None


def _thinned(problem: Problem, route: Route) -> list[str]:
    """Drop one visit after another, each time the one that leaves the soundest, worthiest rest."""
    shift = problem.shift_by_id[route.shift_id]
    while not _is_kept(problem, route):
        orders = (
            [other.location_id for other in route.stops if other is not stop]
            for stop in route.visits
        )
        rests = [timed_route(problem, shift, order) for order in orders if order]
        if not any(rest.visits for rest in rests):
            return []
        route = min(rests, key=lambda rest: _thinned_rank(problem, rest))
    return route.order


def _thinned_rank(problem: Problem, route: Route) -> tuple[int, bool, Decimal]:
    asked = sum(problem.place_by_id[s.location_id].must_be_visited for s in route.visits)
    return -asked, not _is_kept(problem, route), route.cost.total - route.worth
