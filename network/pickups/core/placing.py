"""Where in a route one more place comes in best, for one who decides that it shall."""

from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.room import room_of


def with_stop(problem: Problem, plan: Plan, shift_id: str, place_id: str) -> list[str]:
    """Return the stops of a shift's route in order, with the place where its detour is shortest.

    A sound position is taken if there is one; else the shortest detour, and `check` tells what it
    breaks. The order of the other stops stays.
    """
    shift = problem.shift_by_id[shift_id]
    route = next((route for route in plan.routes if route.shift_id == shift_id), None)
    order = route.order if route else []
    room = room_of(problem, shift, route)
    place = problem.place_by_id[place_id]
    option = place.on(shift.day)
    position = room.positions_by_detour(place_id)[0]
    if option is not None:
        best, broken = room.best_position(place, option)
        position = best if broken is None else position
    return [*order[:position], place_id, *order[position:]]
