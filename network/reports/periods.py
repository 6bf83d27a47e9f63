"""The days of a report as moments."""

from datetime import date, datetime, time, timedelta
from typing import TypeVar
from zoneinfo import ZoneInfo

from django.db.models import Model, QuerySet

from network.reports.queries import Selection

M = TypeVar("M", bound=Model)


def _bounds_of(period: Selection, zone: ZoneInfo) -> tuple[datetime | None, datetime | None]:
    """Return when a period begins, and when it is over; None is open."""
    starts_at = _midnight(period.first_day, zone) if period.first_day else None
    ends_at = _midnight(period.last_day + timedelta(days=1), zone) if period.last_day else None
    return starts_at, ends_at


def within(rows: QuerySet[M], field: str, *, period: Selection, zone: ZoneInfo) -> QuerySet[M]:
    """Return the rows whose moment lies in the days of a period."""
    starts_at, ends_at = _bounds_of(period, zone)
    if starts_at:
        rows = rows.filter(**{f"{field}__gte": starts_at})
    return rows.filter(**{f"{field}__lt": ends_at}) if ends_at else rows


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time.min, tzinfo=zone)
