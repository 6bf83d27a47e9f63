"""How long the driver of a route has driven and been out today, and since when without a break."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from network.pickups.core.problem import Shift
from network.pickups.core.reasons import ReasonCode
from network.pickups.models import Pickup, Route


@dataclass(frozen=True, kw_only=True)
class Duty:
    """What a driver has behind them.

    `driven_s` is all that lies between leaving one stop and arriving at the next. They have been
    out without a break since `since`, and before that for `out_s`, the breaks not counted.
    """

    driven_s: int
    out_s: int
    since: datetime


def break_of(pickup: Pickup) -> int:
    """Return the seconds of the break that is planned on arrival at a visit, 0 without one."""
    breaks = [why for why in pickup.why if why["code"] == ReasonCode.BREAK_FIRST]
    return sum(int(why["params"]["break_s"]) for why in breaks)


def done_at(pickup: Pickup, arrived_at: datetime) -> datetime:
    """Return when a visit is done or, by what is planned for it, will be."""
    planned_s = break_of(pickup) + pickup.place.service_s
    return pickup.finished_at or arrived_at + timedelta(seconds=planned_s)


def duty_of(route: Route) -> Duty | None:
    """Return what the driver of a route has behind them; None where they have not set out.

    A break that was planned at a stop is taken to have been had there. One of their own accord
    is not known of, and counts as driving.
    """
    if route.started_at is None:
        return None
    driven_s, out_s = 0, 0
    since = left_at = route.started_at
    visits = route.pickups.filter(arrived_at__isnull=False).select_related("place")
    for pickup in visits.order_by("arrived_at", "position"):
        arrived_at = pickup.arrived_at or left_at
        driven_s += _seconds(left_at, arrived_at)
        break_s = break_of(pickup)
        if break_s:
            out_s += _seconds(since, arrived_at)
            since = arrived_at + timedelta(seconds=break_s)
        left_at = done_at(pickup, arrived_at)
    return Duty(driven_s=driven_s, out_s=out_s, since=since)


def _seconds(earlier: datetime, later: datetime) -> int:
    return max(0, int((later - earlier).total_seconds()))


def with_duty(shift: Shift, duty: Duty, *, since_s: int, leg_s: int) -> Shift:
    """Return a shift of a driver who has that behind them, with what is left of their limits.

    `since_s` is `duty.since` on the axis. `leg_s` is how far it is to where they go first: where
    the stretch to their break would end before that, they have it at once.
    """
    if shift.drive_s_max is not None:
        shift = replace(shift, drive_s_max=max(1, shift.drive_s_max - duty.driven_s))
    if shift.work_s_max is not None:
        shift = replace(shift, work_s_max=max(1, shift.work_s_max - duty.out_s))
    since_s = min(since_s, shift.start_s)
    if shift.stretch_s_max is None or shift.start_s + leg_s <= since_s + shift.stretch_s_max:
        return replace(shift, out_since_s=since_s)
    return _paused(shift, since_s=since_s)


def _paused(shift: Shift, *, since_s: int) -> Shift:
    """The shift once its driver has had a break where they stand; until its end if it is late."""
    start_s = min(shift.start_s + shift.break_s, shift.end_s - 1)
    work_s_max = shift.work_s_max
    if work_s_max is not None:
        work_s_max = max(1, work_s_max - (shift.start_s - since_s))
    return replace(
        shift,
        start_s=start_s,
        out_since_s=start_s,
        paused_s=start_s - shift.start_s,
        work_s_max=work_s_max,
    )
