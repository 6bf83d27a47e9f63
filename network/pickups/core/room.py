"""How much room a shift has left, in time and in the van, worked out once for all questions.

For each point of a route: the earliest moment at which the van can leave it, and the latest at
which it may arrive there with everything after still in time. What one more stop between two
points would break can then be told without timing the route again.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from network.pickups.core.limits import broken_limit, hopeless_limit, late_s, missed_s
from network.pickups.core.obstacles import obstacle
from network.pickups.core.plan import Plan, Route, StopKind
from network.pickups.core.problem import (
    Load,
    Place,
    Problem,
    Shift,
    Van,
    VisitDay,
    Window,
    first_fitting,
)
from network.pickups.core.reasons import Reason, ReasonCode
from network.pickups.core.schedule import timed_route

SOONEST_CHANGED = (
    ReasonCode.NO_TIME_LEFT,
    ReasonCode.NO_BREAK_FITS,
    ReasonCode.DRIVES_TOO_LONG,
    ReasonCode.WORKS_TOO_LONG,
    ReasonCode.NO_VOLUME_LEFT,
    ReasonCode.NO_PAYLOAD_LEFT,
    ReasonCode.STREAMS_WOULD_MIX,
    ReasonCode.NO_ROAD,
)


def shortfall(reason: Reason) -> tuple[int, int]:
    """Order what keeps a place out by what a maker could soonest change, then by how much."""
    names = ("late_s", "excess_s", "excess_g", "excess_ml")
    excess = sum(int(reason.params.get(name, 0)) for name in names)
    return SOONEST_CHANGED.index(reason.code), excess


@dataclass(frozen=True, kw_only=True)
class ShiftRoom:
    """A shift with its route so far (none: it stays at home), and the room that is left.

    `points` runs from the start depot over all stops to the end depot. `ready_s` and `latest_s`
    go with the points; `aboard` holds, for each position between two points, all loads that are
    on board together with what would be taken on there.
    """

    problem: Problem
    shift: Shift
    points: tuple[str, ...]
    ready_s: tuple[int, ...]
    latest_s: tuple[int, ...]
    aboard: tuple[tuple[Load, ...], ...]

    def positions_by_detour(self, place_id: str) -> list[int]:
        """Where the place could come in, shortest detour first; 0 is right after the start."""
        travel = self.problem.travel

        def detour_m(position: int) -> int:
            from_id, to_id = self.points[position], self.points[position + 1]
            there_m = travel.metres_between(from_id, place_id)
            back_m = travel.metres_between(place_id, to_id)
            return there_m + back_m - travel.metres_between(from_id, to_id)

        return sorted(range(len(self.points) - 1), key=detour_m)

    def broken_by(self, place: Place, option: VisitDay, position: int) -> Reason | None:
        """Return what a visit at that position would break first: a way, the clock, the van."""
        return (
            self._without_road(place, position)
            or self._late(place, option, position)
            or self._overloaded(option, position)
            or self._beyond_limits(place, position)
        )

    def best_position(self, place: Place, option: VisitDay) -> tuple[int, Reason | None]:
        """The sound position with the shortest detour; or, where none is, what comes nearest."""
        tries: list[tuple[int, Reason]] = []
        for position in self.positions_by_detour(place.id):
            reason = self.broken_by(place, option, position)
            if reason is None:
                return position, None
            tries.append((position, reason))
        return min(tries, key=lambda one: shortfall(one[1]))

    def _without_road(self, place: Place, position: int) -> Reason | None:
        from_id, to_id = self.points[position], self.points[position + 1]
        travel = self.problem.travel
        for other_id, is_known in (
            (from_id, travel.has_road(from_id, place.id)),
            (to_id, travel.has_road(place.id, to_id)),
        ):
            if not is_known:
                return Reason(code=ReasonCode.NO_ROAD, params={"other_id": other_id})
        return None

    def _late(self, place: Place, option: VisitDay, position: int) -> Reason | None:
        travel = self.problem.travel
        from_id, to_id = self.points[position], self.points[position + 1]
        arrival_s = self.ready_s[position] + travel.seconds_between(from_id, place.id)
        departure_s, missed_s = _work(option.windows, arrival_s, place.service_s)
        next_s = departure_s + travel.seconds_between(place.id, to_id)
        late_s = max(missed_s, next_s - self.latest_s[position + 1])
        if late_s <= 0:
            return None
        return self._reason(ReasonCode.NO_TIME_LEFT, late_s=late_s)

    def _overloaded(self, option: VisitDay, position: int) -> Reason | None:
        van = self.problem.van_of(self.shift)
        loads = (*self.aboard[position], *option.loads)
        excess_g = sum(load.mass_g for load in loads) - van.payload_g
        if excess_g > 0:
            return self._reason(ReasonCode.NO_PAYLOAD_LEFT, excess_g=excess_g)
        excess_ml = _excess_ml(van, loads)
        if excess_ml > 0:
            return self._reason(ReasonCode.NO_VOLUME_LEFT, excess_ml=excess_ml)
        streams = {load.stream_id for load in loads}
        for group in self.problem.apart:
            mixed = sorted(group & streams)
            if len(mixed) > 1:
                return self._reason(
                    ReasonCode.STREAMS_WOULD_MIX, one_stream=mixed[0], other_stream=mixed[1]
                )
        return None

    def _beyond_limits(self, place: Place, position: int) -> Reason | None:
        """Time the whole route anew where its driver's time is bound: its break may move.

        The points know nothing of breaks, so until then they only promise too much.
        """
        if not self.shift.has_limits:
            return None
        stops = self.points[1:-1]
        order = [*stops[:position], place.id, *stops[position:]]
        travel, points = self.problem.travel, (self.points[0], *order, self.points[-1])
        drive_s = sum(travel.seconds_between(*leg) for leg in pairwise(points))
        services = (_windows_and_service(self.problem, self.shift, stop)[1] for stop in order)
        hopeless = hopeless_limit(self.shift, drive_s=drive_s, work_s=drive_s + sum(services))
        if hopeless is not None:
            return hopeless
        route = timed_route(self.problem, self.shift, order)
        too_late_s = max(late_s(route, self.shift), missed_s(self.problem, route))
        if too_late_s:
            return self._reason(ReasonCode.NO_TIME_LEFT, late_s=too_late_s)
        return broken_limit(route, self.shift)

    def _reason(self, code: ReasonCode, **params: int | str) -> Reason:
        where: dict[str, int | str] = {"day": self.shift.day, "van_id": self.shift.van_id}
        return Reason(code=code, params={**where, **params})


def room_of(problem: Problem, shift: Shift, route: Route | None) -> ShiftRoom:
    """Work out the room that a shift has left with the route it drives, if any."""
    points = (shift.start_depot_id, *(route.order if route else ()), shift.end_depot_id)
    return ShiftRoom(
        problem=problem,
        shift=shift,
        points=points,
        ready_s=_ready_s(problem, shift, points),
        latest_s=_latest_s(problem, shift, points),
        aboard=_aboard(route),
    )


def rooms_of(problem: Problem, plan: Plan) -> list[ShiftRoom]:
    """Work out the room that each shift has left under a plan."""
    routes = {route.shift_id: route for route in plan.routes}
    return [room_of(problem, shift, routes.get(shift.id)) for shift in problem.shifts]


def best_positions(
    place: Place, rooms: Sequence[ShiftRoom]
) -> Iterator[tuple[Shift, int, Reason | None]]:
    """Yield each shift that could visit a place were it alone, with the `best_position` there."""
    for room in rooms:
        shift, option = room.shift, place.on(room.shift.day)
        if option is None or not place.may_be_visited_on(shift.day):
            continue
        if obstacle(room.problem, place, option, shift) is None:
            yield shift, *room.best_position(place, option)


def _work(windows: Sequence[Window], arrival_s: int, service_s: int) -> tuple[int, int]:
    """When work is done for one who arrives then, and by how much it misses the last window."""
    window = first_fitting(windows, arrival_s=arrival_s, service_s=service_s)
    if window is not None:
        return max(arrival_s, window.start_s) + service_s, 0
    done_s = arrival_s + service_s
    return done_s, done_s - max((window.end_s for window in windows), default=done_s)


def _windows_and_service(
    problem: Problem, shift: Shift, location_id: str
) -> tuple[tuple[Window, ...], int]:
    """A stop's windows and its work; an unloading can be done all through the shift."""
    depot = problem.depot_by_id.get(location_id)
    if depot is not None:
        return (Window(start_s=shift.start_s, end_s=shift.end_s),), depot.unload_s
    place = problem.place_by_id[location_id]
    option = place.on(shift.day)
    return option.windows if option else (), place.service_s


def _ready_s(problem: Problem, shift: Shift, points: Sequence[str]) -> tuple[int, ...]:
    ready_s = [shift.start_s]
    for from_id, to_id in pairwise(points[:-1]):
        windows, service_s = _windows_and_service(problem, shift, to_id)
        arrival_s = ready_s[-1] + problem.travel.seconds_between(from_id, to_id)
        ready_s.append(_work(windows, arrival_s, service_s)[0])
    return tuple(ready_s)


def _latest_s(problem: Problem, shift: Shift, points: Sequence[str]) -> tuple[int, ...]:
    """The latest arrivals, from the last point back to the second; nothing arrives at the first."""
    latest_s = [shift.end_s]
    for to_id, from_id in pairwise(reversed(points[1:])):
        windows, service_s = _windows_and_service(problem, shift, from_id)
        done_s = latest_s[-1] - problem.travel.seconds_between(from_id, to_id)
        ends_s = [min(w.end_s, done_s) for w in windows if w.start_s + service_s <= done_s]
        latest_s.append(max(ends_s, default=done_s) - service_s)
    return (shift.start_s, *reversed(latest_s))


def _aboard(route: Route | None) -> tuple[tuple[Load, ...], ...]:
    """For each position, all that rides in the same load: from one unloading to the next."""
    loads: list[list[Load]] = [[]]
    load_of_position = [0]
    for stop in route.stops if route else ():
        if stop.kind is StopKind.UNLOAD:
            loads.append([])
        loads[-1].extend(stop.loads)
        load_of_position.append(len(loads) - 1)
    return tuple(tuple(loads[number]) for number in load_of_position)


def _excess_ml(van: Van, loads: Sequence[Load]) -> int:
    """By how much loads are too bulky for the van, or for the fullest of its compartments."""
    excess_ml = sum(load.volume_ml for load in loads) - van.volume_ml
    for stream_id, room_ml in van.stream_volume_ml.items():
        stream_ml = sum(load.volume_ml for load in loads if load.stream_id == stream_id)
        excess_ml = max(excess_ml, stream_ml - room_ml)
    return excess_ml
