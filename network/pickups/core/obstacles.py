"""What rules a visit out even if a van did nothing else: the place, the van and the clock alone."""

from decimal import Decimal

from network.pickups.core.limits import hopeless_limit
from network.pickups.core.problem import Place, Problem, Shift, Van, VisitDay, first_fitting
from network.pickups.core.reasons import Reason, ReasonCode


def obstacles(problem: Problem, place: Place) -> tuple[Reason, ...]:
    """Return why no van could visit a place on any day, or nothing where one could.

    Of several reasons of one code, the one with the smallest excess is given: the van that
    comes nearest.
    """
    if not problem.shifts:
        return (Reason(code=ReasonCode.NO_SHIFT),)
    if not place.days:
        return (Reason(code=ReasonCode.CLOSED_ALL_DAYS),)
    options = place.allowed_days()
    if not options:
        open_days = len(place.days)
        return (Reason(code=ReasonCode.DAYS_RULED_OUT, params={"open_days": open_days}),)
    tries = [
        obstacle(problem, place, option, shift)
        for option in options
        for shift in problem.shifts
        if shift.day == option.day
    ]
    if not tries:
        return (Reason(code=ReasonCode.NO_SHIFT_THAT_DAY),)
    return _mildest([reason for reason in tries if reason]) if all(tries) else ()


def _mildest(reasons: list[Reason]) -> tuple[Reason, ...]:
    by_code: dict[ReasonCode, Reason] = {}
    for reason in reasons:
        kept = by_code.get(reason.code)
        if kept is None or _excess(reason) < _excess(kept):
            by_code[reason.code] = reason
    return tuple(by_code.values())


def _excess(reason: Reason) -> Decimal:
    names = ("excess_g", "excess_ml", "excess_s", "home_clock_s")
    return Decimal(sum(int(reason.params[name]) for name in names if name in reason.params))


def obstacle(problem: Problem, place: Place, option: VisitDay, shift: Shift) -> Reason | None:
    """Return what keeps a shift that day from visiting just this place, or None."""
    van = problem.van_of(shift)
    if not place.may_be_visited_by(van.id):
        return Reason(code=ReasonCode.VAN_NOT_ALLOWED)
    return (
        _streams_apart(problem, option)
        or _too_much(van, option)
        or _no_road(problem, place, shift)
        or _no_time(problem, place, option, shift)
        or _beyond_limits(problem, place, shift)
    )


def _streams_apart(problem: Problem, option: VisitDay) -> Reason | None:
    here = {load.stream_id for load in option.loads}
    for group in problem.apart:
        shared = sorted(group & here)
        if len(shared) > 1:
            params = {"one_stream": shared[0], "other_stream": shared[1]}
            return Reason(code=ReasonCode.STREAMS_APART, params=params)
    return None


def _too_much(van: Van, option: VisitDay) -> Reason | None:
    excess_g = option.mass_g - van.payload_g
    if excess_g > 0:
        params: dict[str, int | str] = {"van_id": van.id, "excess_g": excess_g}
        return Reason(code=ReasonCode.TOO_HEAVY, params=params)
    excess_ml = option.volume_ml - van.volume_ml
    if excess_ml > 0:
        params = {"van_id": van.id, "excess_ml": excess_ml}
        return Reason(code=ReasonCode.TOO_BULKY, params=params)
    for load in option.loads:
        room_ml = van.stream_volume_ml.get(load.stream_id, load.volume_ml)
        if load.volume_ml > room_ml:
            params = {
                "van_id": van.id,
                "stream_id": load.stream_id,
                "excess_ml": load.volume_ml - room_ml,
            }
            return Reason(code=ReasonCode.STREAM_TOO_BULKY, params=params)
    return None


def _no_road(problem: Problem, place: Place, shift: Shift) -> Reason | None:
    legs = ((shift.start_depot_id, place.id), (place.id, shift.end_depot_id))
    for from_id, to_id in legs:
        if not problem.travel.has_road(from_id, to_id):
            other_id = to_id if from_id == place.id else from_id
            return Reason(code=ReasonCode.NO_ROAD, params={"other_id": other_id})
    return None


def _no_time(problem: Problem, place: Place, option: VisitDay, shift: Shift) -> Reason | None:
    travel = problem.travel
    arrival_s = shift.start_s + travel.seconds_between(shift.start_depot_id, place.id)
    window = first_fitting(option.windows, arrival_s=arrival_s, service_s=place.service_s)
    if window is None or window.start_s + place.service_s > shift.end_s:
        params: dict[str, int | str] = {
            "service_s": place.service_s,
            "start_clock_s": shift.start_s,
            "end_clock_s": shift.end_s,
        }
        return Reason(code=ReasonCode.NO_WINDOW_IN_SHIFT, params=params)
    departure_s = max(arrival_s, window.start_s) + place.service_s
    home_s = departure_s + travel.seconds_between(place.id, shift.end_depot_id)
    if home_s > shift.end_s:
        params = {"van_id": shift.van_id, "home_clock_s": home_s, "end_clock_s": shift.end_s}
        return Reason(code=ReasonCode.TOO_FAR, params=params)
    return None


def _beyond_limits(problem: Problem, place: Place, shift: Shift) -> Reason | None:
    travel = problem.travel
    there_s = travel.seconds_between(shift.start_depot_id, place.id)
    drive_s = there_s + travel.seconds_between(place.id, shift.end_depot_id)
    return hopeless_limit(shift, drive_s=drive_s, work_s=drive_s + place.service_s)
