"""From an order of stops to a timed, loaded and costed plan."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from network.errors import InvalidInput
from network.pickups.core.cost import route_cost
from network.pickups.core.limits import late_s, stretch_excess_s, work_s
from network.pickups.core.obstacles import obstacles
from network.pickups.core.plan import Plan, Route, Stop, StopKind, Unplanned
from network.pickups.core.problem import (
    Load,
    Place,
    Problem,
    Shift,
    VisitDay,
    Window,
    first_fitting,
    is_within,
)
from network.pickups.core.reasons import Reason, ReasonCode


@dataclass(frozen=True, kw_only=True)
class _Task:
    """What is done at one stop, before times are known."""

    kind: StopKind
    location_id: str
    leg_m: int
    leg_s: int
    service_s: int
    windows: tuple[Window, ...]
    loads: tuple[Load, ...]
    worth: Decimal
    option: VisitDay | None = None
    break_s: int = 0

    @property
    def preferred(self) -> tuple[Window, ...]:
        """The hours that are preferred among the windows."""
        return self.option.preferred if self.option else ()

    def worth_at(self, start_s: int) -> Decimal:
        """What it is worth when the work begins then."""
        end_s = start_s + self.service_s
        if self.option is None or not self.option.misses(start_s=start_s, end_s=end_s):
            return self.worth
        return self.worth - self.option.missed_cost


def retime(problem: Problem, orders: Mapping[str, Sequence[str]]) -> Plan:
    """Work out times, loads, kilometres and costs of a given order of stops for each shift.

    `orders` maps a shift's id to the place ids in order; a depot's id among them is an
    unloading there. Nothing is refused here but unknown ids: what breaks a rule is left for
    `check` to tell. Shifts without stops have no route.
    """
    _refuse_unknown(problem, orders)
    routes = [
        timed_route(problem, shift, orders[shift.id])
        for shift in problem.shifts
        if orders.get(shift.id)
    ]
    visited = {stop.location_id for route in routes for stop in route.visits}
    return Plan(
        currency=problem.currency,
        routes=tuple(routes),
        unplanned=tuple(
            Unplanned(place_id=place.id, reasons=_why_not(problem, place))
            for place in problem.places
            if place.id not in visited
        ),
        notes=_notes(problem),
    )


def _refuse_unknown(problem: Problem, orders: Mapping[str, Sequence[str]]) -> None:
    known = {*problem.place_by_id, *problem.depot_by_id}
    unknown = set(orders) - set(problem.shift_by_id)
    unknown.update(
        stop_id for order in orders.values() for stop_id in order if stop_id not in known
    )
    if unknown:
        raise InvalidInput.of("orders", f"unknown: {', '.join(sorted(unknown))}")


def _why_not(problem: Problem, place: Place) -> tuple[Reason, ...]:
    return obstacles(problem, place) or (Reason(code=ReasonCode.LEFT_OUT),)


def _notes(problem: Problem) -> tuple[Reason, ...]:
    notes = []
    if not problem.shifts:
        notes.append(Reason(code=ReasonCode.NO_SHIFT))
    if not problem.places:
        notes.append(Reason(code=ReasonCode.NO_PLACE))
    notes += [
        Reason(
            code=ReasonCode.BREAK_NOW,
            params={
                "van_id": shift.van_id,
                "break_s": shift.paused_s,
                "start_clock_s": shift.start_s,
            },
        )
        for shift in problem.shifts
        if shift.paused_s
    ]
    return tuple(notes)


def timed_route(problem: Problem, shift: Shift, location_ids: Sequence[str]) -> Route:
    """Return one shift's route through the given (one or more) places and unloadings, in order.

    Of each place's windows the one is taken that makes the whole route shortest; where none
    holds the whole visit, work starts on arrival. Preferred hours are waited for, at all places
    that have some, where that costs less than missing them. The van leaves as late as it can
    without being home any later, so that nobody waits in front of a closed door for nothing. A
    route that is longer than a driver may be out at a stretch has a break, on arrival at the stop
    where it keeps most rules and makes the route least longer.
    """
    tasks = _tasks(problem, shift, location_ids)
    home = _leg(problem, location_ids[-1], shift.end_depot_id)
    route = min(
        _ways_to_time(problem, shift, tasks, home=home),
        key=lambda route: _hardship(tasks, route, shift),
    )
    if shift.stretch_s_max is None or work_s(route, shift) <= shift.stretch_s_max:
        return route
    return _with_break(problem, shift, tasks, home=home)


def _with_break(
    problem: Problem, shift: Shift, tasks: Sequence[_Task], *, home: tuple[int, int]
) -> Route:
    """Return the route with its break at the stop where it hurts least."""
    ways = (
        [replace(task, break_s=shift.break_s * (at == index)) for at, task in enumerate(tasks)]
        for index in range(len(tasks))
    )
    return min(
        (route for way in ways for route in _ways_to_time(problem, shift, way, home=home)),
        key=lambda route: _hardship(tasks, route, shift),
    )


def _ways_to_time(
    problem: Problem, shift: Shift, tasks: Sequence[_Task], *, home: tuple[int, int]
) -> Iterator[Route]:
    """Leaving at each start worth trying, and waiting for preferred hours or not."""
    patiences = (False, True) if any(task.preferred for task in tasks) else (False,)
    for start_s in _starts_worth_trying(tasks, shift):
        for patient in patiences:
            stops = _stops(tasks, start_s=start_s, patient=patient)
            yield _route(problem, shift, stops, home=home)


def _route(
    problem: Problem, shift: Shift, stops: tuple[Stop, ...], *, home: tuple[int, int]
) -> Route:
    return_m, return_s = home
    start_s = stops[0].arrival_s - stops[0].leg_s
    end_s = stops[-1].departure_s + return_s
    distance_m = sum(stop.leg_m for stop in stops) + return_m
    return Route(
        shift_id=shift.id,
        van_id=shift.van_id,
        day=shift.day,
        start_s=start_s,
        end_s=end_s,
        stops=stops,
        return_m=return_m,
        return_s=return_s,
        cost=route_cost(problem.van_of(shift), distance_m=distance_m, duration_s=end_s - start_s),
    )


def _leg(problem: Problem, from_id: str, to_id: str) -> tuple[int, int]:
    # Where no way is known the leg counts nothing; `check` tells that it is missing.
    metres = problem.travel.metres_between(from_id, to_id)
    seconds = problem.travel.seconds_between(from_id, to_id)
    return max(metres, 0), max(seconds, 0)


def _tasks(problem: Problem, shift: Shift, location_ids: Sequence[str]) -> list[_Task]:
    from_ids = (shift.start_depot_id, *location_ids)
    return [
        _task(problem, shift, to_id, leg=_leg(problem, from_id, to_id))
        for from_id, to_id in zip(from_ids, location_ids, strict=False)
    ]


def _task(problem: Problem, shift: Shift, location_id: str, *, leg: tuple[int, int]) -> _Task:
    depot = problem.depot_by_id.get(location_id)
    place = None if depot else problem.place_by_id[location_id]
    option: VisitDay | None = place.on(shift.day) if place else None
    return _Task(
        kind=StopKind.UNLOAD if depot else StopKind.VISIT,
        location_id=location_id,
        leg_m=leg[0],
        leg_s=leg[1],
        service_s=depot.unload_s if depot else problem.place_by_id[location_id].service_s,
        windows=option.windows if option else (),
        loads=option.loads if option else (),
        worth=option.worth if option else Decimal(0),
        option=option,
    )


def _starts_worth_trying(tasks: Sequence[_Task], shift: Shift) -> list[int]:
    """The start of the shift, and each moment at which leaving later misses some window.

    Between two of them the windows that are taken do not change. Only places with several
    windows matter: missing the one window of a place never makes a route better.
    """
    starts_s = {shift.start_s}
    way_s = 0
    for task in tasks:
        way_s += task.leg_s + task.break_s + task.service_s
        windows = (*task.windows, *task.preferred)
        if len(windows) > 1:
            starts_s.update(window.end_s - way_s + 1 for window in windows)
    return sorted(start_s for start_s in starts_s if start_s >= shift.start_s)


def _hardship(
    tasks: Sequence[_Task], route: Route, shift: Shift
) -> tuple[int, int, int, Decimal, int, int]:
    """Order ways to time a route: fewest missed windows, least overtime, money, time, earliest."""
    missed = sum(
        not is_within(task.windows, start_s=stop.start_s, end_s=stop.departure_s)
        for task, stop in zip(tasks, route.stops, strict=True)
    )
    out_too_long_s = (late_s(route, shift), stretch_excess_s(route, shift))
    money = route.cost.total - route.worth
    return missed, *out_too_long_s, money, route.duration_s, route.end_s


def _stops(tasks: Sequence[_Task], *, start_s: int, patient: bool) -> tuple[Stop, ...]:
    """Time the stops for leaving at `start_s`, or later where that brings nobody home later."""
    windows = _windows_in_turn(tasks, start_s=start_s, patient=patient)
    return _timed(tasks, windows, start_s=_latest_start_s(tasks, windows, start_s=start_s))


def _windows_in_turn(tasks: Sequence[_Task], *, start_s: int, patient: bool) -> list[Window | None]:
    """Choose each stop's window while going through the stops as early as can be.

    Who is patient takes the preferred hours where they can still be had.
    """
    chosen: list[Window | None] = []
    time_s = start_s
    for task in tasks:
        ready_s = time_s + task.leg_s + task.break_s
        tries = (task.preferred, task.windows) if patient else (task.windows,)
        fitting = (
            first_fitting(windows, arrival_s=ready_s, service_s=task.service_s) for windows in tries
        )
        window = next((window for window in fitting if window is not None), None)
        chosen.append(window)
        time_s = _work_start_s(ready_s, window) + task.service_s
    return chosen


def _work_start_s(ready_s: int, window: Window | None) -> int:
    return ready_s if window is None else max(ready_s, window.start_s)


def _latest_start_s(
    tasks: Sequence[_Task], windows: Sequence[Window | None], *, start_s: int
) -> int:
    """Return the latest leaving time that brings the van home no later than leaving at once."""
    last_departure_s = start_s
    for task, window in zip(tasks, windows, strict=True):
        ready_s = last_departure_s + task.leg_s + task.break_s
        last_departure_s = _work_start_s(ready_s, window) + task.service_s
    latest_s = last_departure_s
    for task, window in zip(reversed(tasks), reversed(windows), strict=True):
        latest_work_s = latest_s - task.service_s
        if window is not None:
            latest_work_s = min(latest_work_s, window.end_s - task.service_s)
        latest_s = latest_work_s - task.break_s - task.leg_s
    return latest_s


def _timed(
    tasks: Sequence[_Task], windows: Sequence[Window | None], *, start_s: int
) -> tuple[Stop, ...]:
    stops: list[Stop] = []
    time_s, mass_g, volume_ml = start_s, 0, 0
    for task, window in zip(tasks, windows, strict=True):
        arrival_s = time_s + task.leg_s
        work_start_s = _work_start_s(arrival_s + task.break_s, window)
        time_s = work_start_s + task.service_s
        emptied = task.kind is StopKind.UNLOAD
        mass_g = 0 if emptied else mass_g + sum(load.mass_g for load in task.loads)
        volume_ml = 0 if emptied else volume_ml + sum(load.volume_ml for load in task.loads)
        stops.append(
            Stop(
                kind=task.kind,
                location_id=task.location_id,
                leg_m=task.leg_m,
                leg_s=task.leg_s,
                arrival_s=arrival_s,
                start_s=work_start_s,
                departure_s=time_s,
                loads=task.loads,
                onboard_mass_g=mass_g,
                onboard_volume_ml=volume_ml,
                worth=task.worth_at(work_start_s),
                break_s=task.break_s,
            )
        )
    return tuple(stops)
