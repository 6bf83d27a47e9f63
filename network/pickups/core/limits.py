"""How long a driver may be out: the shift's end, the stretch to a break, the driving, the work.

The search knows the shift's end and the work only; a route that breaks one of the others is
mended once its break has its place (see `solve`).
"""

from network.pickups.core.plan import Route
from network.pickups.core.problem import Problem, Shift, is_within
from network.pickups.core.reasons import Reason, ReasonCode


def late_s(route: Route, shift: Shift) -> int:
    """By how much a route is home after its shift."""
    return max(0, route.end_s - shift.end_s)


def missed_s(problem: Problem, route: Route) -> int:
    """By how much the visit that is furthest from its windows ends after the last of them."""
    late = [0]
    for stop in route.visits:
        option = problem.place_by_id[stop.location_id].on(route.day)
        windows = option.windows if option else ()
        if not is_within(windows, start_s=stop.start_s, end_s=stop.departure_s):
            late.append(stop.departure_s - max((w.end_s for w in windows), default=0))
    return max(late)


def work_s(route: Route, shift: Shift) -> int:
    """How long its driver is out in all since the shift's last break before it, breaks apart."""
    return route.work_s + _out_before_s(route, shift)


def stretch_excess_s(route: Route, shift: Shift) -> int:
    """By how much its longest time without a break is too long."""
    stretch_s = route.stretch_s_after(_out_before_s(route, shift))
    return _excess_s(stretch_s, shift.stretch_s_max)


def _out_before_s(route: Route, shift: Shift) -> int:
    """How long a driver who was out already has been when the van leaves; else nothing."""
    return 0 if shift.out_since_s is None else route.start_s - shift.out_since_s


def broken_limit(route: Route, shift: Shift) -> Reason | None:
    """Return which bound on its driver's time a route breaks, with by how much; None: none."""
    return _first_broken(
        shift,
        drive_s=_excess_s(route.drive_s, shift.drive_s_max),
        work_s=_excess_s(work_s(route, shift), shift.work_s_max),
        stretch_s=stretch_excess_s(route, shift),
    )


def hopeless_limit(shift: Shift, *, drive_s: int, work_s: int) -> Reason | None:
    """Return which bound nothing with so much driving and work could keep, whatever its order."""
    work_s += shift.out_before_s
    longest_s = None if shift.stretch_s_max is None else 2 * shift.stretch_s_max
    return _first_broken(
        shift,
        drive_s=_excess_s(drive_s, shift.drive_s_max),
        work_s=_excess_s(work_s, shift.work_s_max),
        stretch_s=_excess_s(work_s, longest_s),
    )


def _excess_s(spent_s: int, limit_s: int | None) -> int:
    return 0 if limit_s is None else max(0, spent_s - limit_s)


def _first_broken(shift: Shift, *, drive_s: int, work_s: int, stretch_s: int) -> Reason | None:
    """The first of the bounds that is exceeded, each given by how much."""
    for code, excess_s in (
        (ReasonCode.DRIVES_TOO_LONG, drive_s),
        (ReasonCode.WORKS_TOO_LONG, work_s),
        (ReasonCode.NO_BREAK_FITS, stretch_s),
    ):
        if excess_s:
            return Reason(code=code, params={"van_id": shift.van_id, "excess_s": excess_s})
    return None
