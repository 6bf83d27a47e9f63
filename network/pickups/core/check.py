"""An independent check of a plan: every rule worked out anew from the problem, none of it trusted.

It shares no arithmetic with the making of plans, so that a fault there shows here.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum

from network.pickups.core.plan import Plan, Route, Stop, StopKind
from network.pickups.core.problem import Problem, Shift, Van, VisitDay

CENT = Decimal("0.01")


class ViolationCode(StrEnum):
    """All rules that a plan can break."""

    UNKNOWN_SHIFT = "unknown_shift"
    SHIFT_USED_TWICE = "shift_used_twice"
    WRONG_VAN = "wrong_van"
    UNKNOWN_LOCATION = "unknown_location"
    NO_STOP = "no_stop"
    VISITED_TWICE = "visited_twice"
    CLOSED_THAT_DAY = "closed_that_day"
    DAY_RULED_OUT = "day_ruled_out"
    VAN_NOT_ALLOWED = "van_not_allowed"
    OUTSIDE_WINDOWS = "outside_windows"
    LEAVES_BEFORE_SHIFT = "leaves_before_shift"
    HOME_AFTER_SHIFT = "home_after_shift"
    BREAK_TOO_LATE = "break_too_late"
    WRONG_BREAK = "wrong_break"
    DRIVES_TOO_LONG = "drives_too_long"
    WORKS_TOO_LONG = "works_too_long"
    TOO_HEAVY = "too_heavy"
    TOO_BULKY = "too_bulky"
    STREAM_TOO_BULKY = "stream_too_bulky"
    STREAMS_MIXED = "streams_mixed"
    TOO_MANY_UNLOADINGS = "too_many_unloadings"
    NO_ROAD = "no_road"
    WRONG_LEG = "wrong_leg"
    WRONG_TIME = "wrong_time"
    WRONG_LOAD = "wrong_load"
    WRONG_COST = "wrong_cost"
    WRONG_WORTH = "wrong_worth"
    WRONG_CURRENCY = "wrong_currency"
    WRONG_LEFT_OUT = "wrong_left_out"
    REQUIRED_LEFT_OUT = "required_left_out"


@dataclass(frozen=True, kw_only=True)
class Violation:
    """One broken rule: where, and by how much (unit last in each name)."""

    code: ViolationCode
    shift_id: str | None = None
    location_id: str | None = None
    params: Mapping[str, int | str | Decimal] = field(default_factory=dict)


def check(problem: Problem, plan: Plan) -> list[Violation]:
    """List every rule of the problem that a plan breaks; an empty list is a sound plan.

    REQUIRED_LEFT_OUT tells that a visit that was asked for is missing: the routes may still be
    sound, and no better plan may exist.
    """
    violations = [*_whole_plan(problem, plan)]
    for route in plan.routes:
        shift = problem.shift_by_id.get(route.shift_id)
        if shift is None:
            violations.append(Violation(code=ViolationCode.UNKNOWN_SHIFT, shift_id=route.shift_id))
        else:
            violations.extend(_RouteCheck(problem, route, shift).violations())
    return violations


def _whole_plan(problem: Problem, plan: Plan) -> Iterator[Violation]:
    if plan.currency != problem.currency:
        yield Violation(
            code=ViolationCode.WRONG_CURRENCY,
            params={"currency": plan.currency, "expected": problem.currency},
        )
    uses = Counter(route.shift_id for route in plan.routes)
    for shift_id in _more_than_once(uses):
        yield Violation(code=ViolationCode.SHIFT_USED_TWICE, shift_id=shift_id)
    stops = [stop for route in plan.routes for stop in route.stops]
    visits = Counter(stop.location_id for stop in stops if stop.kind is StopKind.VISIT)
    for place_id in _more_than_once(visits):
        yield Violation(code=ViolationCode.VISITED_TWICE, location_id=place_id)
    yield from _left_out(problem, plan, visits)


def _more_than_once(counts: Counter[str]) -> list[str]:
    return [key for key, count in counts.items() if count > 1]


def _left_out(problem: Problem, plan: Plan, visits: Counter[str]) -> Iterator[Violation]:
    listed = Counter(unplanned.place_id for unplanned in plan.unplanned)
    for place in problem.places:
        if (visits[place.id] > 0) + listed[place.id] != 1:
            yield Violation(code=ViolationCode.WRONG_LEFT_OUT, location_id=place.id)
        asked_for = place.required or place.pinned_day is not None
        if asked_for and not visits[place.id]:
            yield Violation(code=ViolationCode.REQUIRED_LEFT_OUT, location_id=place.id)
    for place_id in sorted(set(listed) - set(problem.place_by_id)):
        yield Violation(code=ViolationCode.WRONG_LEFT_OUT, location_id=place_id)


class _RouteCheck:
    """Walks one route from its start to its end and notes what is wrong."""

    def __init__(self, problem: Problem, route: Route, shift: Shift) -> None:
        self.problem = problem
        self.route = route
        self.shift = shift
        self.van: Van = problem.van_by_id[shift.van_id]
        self.found: list[Violation] = []

    def violations(self) -> list[Violation]:
        """All that is wrong with the route."""
        self._check_shift()
        unknown = [stop for stop in self.route.stops if not self._is_known(stop)]
        for stop in unknown:
            self._note(ViolationCode.UNKNOWN_LOCATION, stop)
        if not unknown:
            self._check_way_and_time()
            self._check_driver()
            self._check_loads()
            for stop in self.route.stops:
                self._check_stop(stop)
        return self.found

    def _is_known(self, stop: Stop) -> bool:
        is_depot = stop.kind is StopKind.UNLOAD
        known = self.problem.depot_by_id if is_depot else self.problem.place_by_id
        return stop.location_id in known

    def _note(
        self, code: ViolationCode, stop: Stop | None = None, **params: int | str | Decimal
    ) -> None:
        location_id = stop.location_id if stop else None
        self.found.append(
            Violation(
                code=code, shift_id=self.route.shift_id, location_id=location_id, params=params
            )
        )

    def _note_unlike(
        self, code: ViolationCode, stop: Stop | None, said: int | Decimal, found: int | Decimal
    ) -> None:
        if said != found:
            self._note(code, stop, said=said, found=found)

    def _check_shift(self) -> None:
        route, shift = self.route, self.shift
        if (route.van_id, route.day) != (shift.van_id, shift.day):
            self._note(ViolationCode.WRONG_VAN)
        if not route.stops:
            self._note(ViolationCode.NO_STOP)
        if route.start_s < shift.start_s:
            self._note(ViolationCode.LEAVES_BEFORE_SHIFT, early_s=shift.start_s - route.start_s)
        if route.end_s > shift.end_s:
            self._note(ViolationCode.HOME_AFTER_SHIFT, late_s=route.end_s - shift.end_s)
        unloadings = sum(stop.kind is StopKind.UNLOAD for stop in route.stops)
        if unloadings > shift.unloads_max:
            self._note(ViolationCode.TOO_MANY_UNLOADINGS, excess=unloadings - shift.unloads_max)

    def _check_driver(self) -> None:
        """Hold the route against what its driver may do: driving, work, and a break in time."""
        shift, drive_s, pause_s = self.shift, self.route.return_s, 0
        on_duty_s = self.route.start_s if shift.out_since_s is None else shift.out_since_s
        out_since_s, longest_s = on_duty_s, 0
        for stop in self.route.stops:
            drive_s += stop.leg_s
            if stop.break_s:
                longest_s = max(longest_s, stop.arrival_s - out_since_s)
                out_since_s = stop.arrival_s + stop.break_s
                pause_s += stop.break_s
        longest_s = max(longest_s, self.route.end_s - out_since_s)
        if pause_s not in {0, shift.break_s} or any(s.break_s < 0 for s in self.route.stops):
            self._note(ViolationCode.WRONG_BREAK, said=pause_s, found=shift.break_s)
        for code, spent_s, most_s in (
            (ViolationCode.DRIVES_TOO_LONG, drive_s, shift.drive_s_max),
            (
                ViolationCode.WORKS_TOO_LONG,
                self.route.end_s - on_duty_s - pause_s,
                shift.work_s_max,
            ),
            (ViolationCode.BREAK_TOO_LATE, longest_s, shift.stretch_s_max),
        ):
            if most_s is not None and spent_s > most_s:
                self._note(code, excess_s=spent_s - most_s)

    def _check_way_and_time(self) -> None:
        """Follow the way and the clock, and cost what they come to."""
        here_id, time_s, way_m = self.shift.start_depot_id, self.route.start_s, 0
        for stop in self.route.stops:
            metres, seconds = self._leg(here_id, stop.location_id, stop)
            self._note_unlike(ViolationCode.WRONG_LEG, stop, stop.leg_m, metres)
            self._note_unlike(ViolationCode.WRONG_LEG, stop, stop.leg_s, seconds)
            self._note_unlike(ViolationCode.WRONG_TIME, stop, stop.arrival_s, time_s + seconds)
            early_s = stop.arrival_s + stop.break_s - stop.start_s
            if early_s > 0:
                self._note(ViolationCode.WRONG_TIME, stop, early_s=early_s)
            work_s = self._work_s(stop)
            self._note_unlike(
                ViolationCode.WRONG_TIME, stop, stop.departure_s, stop.start_s + work_s
            )
            here_id, time_s, way_m = stop.location_id, stop.departure_s, way_m + metres
        metres, seconds = self._leg(here_id, self.shift.end_depot_id, None)
        self._note_unlike(ViolationCode.WRONG_LEG, None, self.route.return_m, metres)
        self._note_unlike(ViolationCode.WRONG_LEG, None, self.route.return_s, seconds)
        self._note_unlike(ViolationCode.WRONG_TIME, None, self.route.end_s, time_s + seconds)
        self._check_cost(way_m=way_m + metres, time_s=self.route.end_s - self.route.start_s)

    def _leg(self, from_id: str, to_id: str, stop: Stop | None) -> tuple[int, int]:
        travel = self.problem.travel
        cell = travel.index(from_id), travel.index(to_id)
        metres, seconds = int(travel.metres[cell]), int(travel.seconds[cell])
        if metres < 0 or seconds < 0:
            self._note(ViolationCode.NO_ROAD, stop, from_id=from_id)
        return max(metres, 0), max(seconds, 0)

    def _work_s(self, stop: Stop) -> int:
        if stop.kind is StopKind.UNLOAD:
            return self.problem.depot_by_id[stop.location_id].unload_s
        return self.problem.place_by_id[stop.location_id].service_s

    def _check_cost(self, *, way_m: int, time_s: int) -> None:
        said, van = self.route.cost, self.van
        parts = (
            (said.shift, van.cost_per_shift),
            (said.distance, van.cost_per_km * way_m / 1000),
            (said.time, van.cost_per_hour * time_s / 3600),
        )
        for part, exact in parts:
            rounded = exact.quantize(CENT, rounding=ROUND_HALF_EVEN)
            self._note_unlike(ViolationCode.WRONG_COST, None, part, rounded)

    def _check_loads(self) -> None:
        """Follow what is on board, from unloading to unloading."""
        mass_g, volume_ml = 0, 0
        aboard: Counter[str] = Counter()
        streams: set[str] = set()
        for stop in self.route.stops:
            if stop.kind is StopKind.UNLOAD:
                mass_g, volume_ml = 0, 0
                aboard.clear()
                streams.clear()
            for load in stop.loads:
                mass_g += load.mass_g
                volume_ml += load.volume_ml
                aboard[load.stream_id] += load.volume_ml
                streams.add(load.stream_id)
            self._note_unlike(ViolationCode.WRONG_LOAD, stop, stop.onboard_mass_g, mass_g)
            self._note_unlike(ViolationCode.WRONG_LOAD, stop, stop.onboard_volume_ml, volume_ml)
            if mass_g > self.van.payload_g:
                excess_g = mass_g - self.van.payload_g
                self._note(ViolationCode.TOO_HEAVY, stop, excess_g=excess_g)
            if volume_ml > self.van.volume_ml:
                excess_ml = volume_ml - self.van.volume_ml
                self._note(ViolationCode.TOO_BULKY, stop, excess_ml=excess_ml)
            self._check_streams(stop, aboard, streams)

    def _check_streams(self, stop: Stop, aboard: Counter[str], streams: set[str]) -> None:
        for stream_id, room_ml in self.van.stream_volume_ml.items():
            excess_ml = aboard[stream_id] - room_ml
            if excess_ml > 0:
                self._note(
                    ViolationCode.STREAM_TOO_BULKY, stop, stream_id=stream_id, excess_ml=excess_ml
                )
        for group in self.problem.apart:
            together = sorted(group & streams)
            if len(together) > 1:
                self._note(ViolationCode.STREAMS_MIXED, stop, streams=", ".join(together))

    def _check_stop(self, stop: Stop) -> None:
        """Hold one stop against the rules of where it is."""
        if stop.kind is StopKind.UNLOAD:
            if stop.loads or stop.worth:
                self._note(ViolationCode.WRONG_LOAD, stop)
            return
        place, day = self.problem.place_by_id[stop.location_id], self.shift.day
        if day in place.forbidden_days or place.pinned_day not in {None, day}:
            self._note(ViolationCode.DAY_RULED_OUT, stop, day=day)
        if place.van_ids is not None and self.van.id not in place.van_ids:
            self._note(ViolationCode.VAN_NOT_ALLOWED, stop, van_id=self.van.id)
        open_days = {option.day: option for option in place.days}
        if day in open_days:
            self._check_visit(stop, open_days[day], end_s=stop.start_s + place.service_s)
        else:
            self._note(ViolationCode.CLOSED_THAT_DAY, stop, day=day)

    def _check_visit(self, stop: Stop, option: VisitDay, *, end_s: int) -> None:
        """Hold one visit against what the place's day has: its loads, worth and windows."""
        if stop.loads != option.loads:
            self._note(ViolationCode.WRONG_LOAD, stop)
        worth = option.worth
        as_preferred = any(w.start_s <= stop.start_s and end_s <= w.end_s for w in option.preferred)
        if option.preferred and not as_preferred:
            worth -= option.missed_cost
        self._note_unlike(ViolationCode.WRONG_WORTH, stop, stop.worth, worth)
        if not any(w.start_s <= stop.start_s and end_s <= w.end_s for w in option.windows):
            self._note(ViolationCode.OUTSIDE_WINDOWS, stop, start_s=stop.start_s, end_s=end_s)
