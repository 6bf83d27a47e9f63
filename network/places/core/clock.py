"""The clock by which containers fill: the days a place works, counted for many days at once."""

from datetime import date

import numpy as np
from numpy.typing import NDArray

from network.places.core.calendar import SATURDAY, DaySpan, PlaceCalendar

DAYS_PER_WEEK = 7


def running_mask(calendar: PlaceCalendar, first_day: date, days: int) -> NDArray[np.bool_]:
    """Return for each of some days from the first on whether the place works.

    It says the same as `calendar.is_running`, for a year at the price of a few calls.
    """
    weekdays = (first_day.weekday() + np.arange(days)) % DAYS_PER_WEEK
    at_weekends = {window.weekday for window in calendar.windows if window.weekday >= SATURDAY}
    works = np.array([day < SATURDAY or day in at_weekends for day in range(DAYS_PER_WEEK)])
    running: NDArray[np.bool_] = works[weekdays]
    if calendar.terms:
        in_term = np.zeros(days, dtype=np.bool_)
        for term in calendar.terms:
            in_term[_part(term, first_day, days)] = True
        running &= in_term
    for closure in calendar.closures:
        running[_part(closure, first_day, days)] = False
    for holiday in calendar.public_holidays:
        running[_part(DaySpan(first_day=holiday, last_day=holiday), first_day, days)] = False
    return running


def _part(span: DaySpan, first_day: date, days: int) -> slice:
    """Where a span lies among the days; an empty slice where it does not."""
    start = (span.first_day - first_day).days
    stop = (span.last_day - first_day).days + 1
    return slice(min(max(start, 0), days), min(max(stop, 0), days))
