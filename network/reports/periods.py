"""The days of a report as moments."""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from network.reports.queries import Selection


def bounds_of(period: Selection, zone: ZoneInfo) -> tuple[datetime | None, datetime | None]:
    """Return when a period begins, and when it is over; None is open."""
    starts_at = _midnight(period.first_day, zone) if period.first_day else None
    ends_at = _midnight(period.last_day + timedelta(days=1), zone) if period.last_day else None
    return starts_at, ends_at


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time.min, tzinfo=zone)
