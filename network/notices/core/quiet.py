"""When a person may be written to: not in the quiet hours, by the community's clock."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

ONE_DAY = timedelta(days=1)


def due_at(now: datetime, *, zone: ZoneInfo, quiet_from: time, quiet_until: time) -> datetime:
    """Return `now`, or in the quiet hours the moment they end; aware, in UTC terms.

    Hours that end where they begin are none. They may go past midnight, or lie within a day.
    """
    local = now.astimezone(zone)
    if not _is_quiet(local.time(), quiet_from, quiet_until):
        return now
    # Past the beginning, hours that go over midnight end on the next day.
    ends_tomorrow = quiet_from > quiet_until and local.time() >= quiet_from
    day = local.date() + (ONE_DAY if ends_tomorrow else timedelta(0))
    end = datetime.combine(day, quiet_until, tzinfo=zone)
    # Where the clock skips the end, it stands for the moment of the jump, which is not before now.
    return max(now, end.astimezone(now.tzinfo))


def _is_quiet(clock: time, quiet_from: time, quiet_until: time) -> bool:
    if quiet_from <= quiet_until:
        return quiet_from <= clock < quiet_until
    return clock >= quiet_from or clock < quiet_until
