"""When a place can be visited: weekly windows, less closures, public holidays and days out of term.

All days and clock times are those of the community's time zone; what is returned is in UTC.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

ONE_DAY = timedelta(days=1)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SATURDAY = 5
# Past a year ahead a calendar says nothing: terms are entered a year at a time.
LOOK_AHEAD_DAYS = 366


@dataclass(frozen=True, kw_only=True)
class WeeklyWindow:
    """A time in each week, by the local clock, in which one can come; weekday 0 is Monday."""

    weekday: int
    opens: time
    closes: time

    def __post_init__(self) -> None:
        if self.weekday not in range(len(WEEKDAYS)):
            raise ValueError("a weekday is 0 (Monday) to 6 (Sunday)")
        if self.opens.tzinfo or self.closes.tzinfo:
            raise ValueError("a window is by the local clock, without a time zone")
        if self.opens >= self.closes:
            raise ValueError("a window closes after it opens, on the same day")


@dataclass(frozen=True, kw_only=True)
class DaySpan:
    """Days from the first to the last, both included, with what people call them."""

    first_day: date
    last_day: date
    label: str = ""

    def __post_init__(self) -> None:
        if self.first_day > self.last_day:
            raise ValueError("the last day of a span is not before its first")

    def __contains__(self, day: date) -> bool:
        return self.first_day <= day <= self.last_day


@dataclass(frozen=True, kw_only=True)
class PlaceCalendar:
    """When one can come: the windows of each week and what takes days out of it.

    With no terms a place runs all year; with terms it is shut outside of them. Public holidays
    are days with their names; leave them out for a place that does not keep them.
    """

    windows: tuple[WeeklyWindow, ...]
    terms: tuple[DaySpan, ...] = ()
    closures: tuple[DaySpan, ...] = ()
    public_holidays: Mapping[date, str] = field(default_factory=dict)


class ShutCode(StrEnum):
    """Why a place cannot be visited on a day."""

    CLOSURE = "closure"
    PUBLIC_HOLIDAY = "public_holiday"
    OUT_OF_TERM = "out_of_term"
    NO_WINDOW = "no_window"


@dataclass(frozen=True, kw_only=True)
class Shut:
    """Why a place cannot be visited on a day, in a plain sentence."""

    code: ShutCode
    label: str
    text: str


def why_shut(calendar: PlaceCalendar, day: date) -> Shut | None:
    """Return why nobody can come on a day, or None when someone can."""
    not_running = _why_not_running(calendar, day)
    if not_running:
        return not_running
    if any(window.weekday == day.weekday() for window in calendar.windows):
        return None
    weekday = WEEKDAYS[day.weekday()]
    return Shut(code=ShutCode.NO_WINDOW, label=weekday, text=f"Nobody can come on a {weekday}.")


def is_open(calendar: PlaceCalendar, day: date) -> bool:
    """Return whether someone can come on a day."""
    return why_shut(calendar, day) is None


def is_running(calendar: PlaceCalendar, day: date) -> bool:
    """Return whether a place works on a day, so that its containers fill.

    That is wider than being open to a van: a school that lets one in on Tuesdays fills from
    Monday to Friday. Weekend days count only where there is a window on them.
    """
    if _why_not_running(calendar, day):
        return False
    return day.weekday() < SATURDAY or is_open(calendar, day)


def running_days_between(calendar: PlaceCalendar, first_day: date, until_day: date) -> int:
    """Count the days a place works, from the first day up to but without `until_day`."""
    return sum(is_running(calendar, day) for day in _days(first_day, until_day))


def next_open_day(calendar: PlaceCalendar, first_day: date) -> date | None:
    """Return the first day, from the given one on, that someone can come; None within a year."""
    last_day = first_day + LOOK_AHEAD_DAYS * ONE_DAY
    return next((day for day in _days(first_day, last_day) if is_open(calendar, day)), None)


def open_windows(
    calendar: PlaceCalendar, first_day: date, days: int, tz: ZoneInfo
) -> list[tuple[datetime, datetime]]:
    """Return the times someone can come, as (start, end) in UTC, ascending and apart.

    Windows that overlap or touch are joined. Where the clock goes forward, a time that it skips
    counts as the moment of the jump; where it goes back, a time that it shows twice counts as the
    first showing (as RFC 5545 §3.3.5 reads it). A window that is skipped whole is left out.
    """
    found = [
        (_instant(day, window.opens, tz), _instant(day, window.closes, tz))
        for day in _days(first_day, first_day + days * ONE_DAY)
        if is_open(calendar, day)
        for window in calendar.windows
        if window.weekday == day.weekday()
    ]
    return _joined(sorted(pair for pair in found if pair[0] < pair[1]))


def day_in_words(day: date) -> str:
    """Return a day as people write it: `3 March 2026`."""
    return f"{day.day} {day:%B %Y}"


def _days(first_day: date, until_day: date) -> Iterator[date]:
    for offset in range((until_day - first_day).days):
        yield first_day + offset * ONE_DAY


def _why_not_running(calendar: PlaceCalendar, day: date) -> Shut | None:
    for span in calendar.closures:
        if day in span:
            label = span.label or "closure"
            text = f"It is shut until {day_in_words(span.last_day)}: {label}."
            return Shut(code=ShutCode.CLOSURE, label=label, text=text)
    holiday = calendar.public_holidays.get(day)
    if holiday is not None:
        text = f"It is shut for a public holiday: {holiday}."
        return Shut(code=ShutCode.PUBLIC_HOLIDAY, label=holiday, text=text)
    if calendar.terms and not any(day in term for term in calendar.terms):
        return _out_of_term(calendar, day)
    return None


def _out_of_term(calendar: PlaceCalendar, day: date) -> Shut:
    later = min(
        (term for term in calendar.terms if term.first_day > day), key=_starts, default=None
    )
    if later is None:
        text = "It is out of term, and no later term has been entered."
    else:
        text = f"It is out of term until {day_in_words(later.first_day)}."
    return Shut(code=ShutCode.OUT_OF_TERM, label=later.label if later else "", text=text)


def _starts(span: DaySpan) -> date:
    return span.first_day


def _instant(day: date, clock: time, tz: ZoneInfo) -> datetime:
    local = datetime.combine(day, clock, tzinfo=tz)
    instant = local.astimezone(UTC)
    if instant.astimezone(tz).replace(tzinfo=None) == local.replace(tzinfo=None):
        return instant
    return _jump(local.replace(fold=1).astimezone(UTC), instant, tz)


def _jump(before: datetime, after: datetime, tz: ZoneInfo) -> datetime:
    """Return the moment between two others at which the zone's clock jumps, to the second."""
    offset_before = before.astimezone(tz).utcoffset()
    low, high = 0, round((after - before).total_seconds())
    while high - low > 1:
        middle = (low + high) // 2
        moment = before + timedelta(seconds=middle)
        if moment.astimezone(tz).utcoffset() == offset_before:
            low = middle
        else:
            high = middle
    return before + timedelta(seconds=high)


def _joined(windows: list[tuple[datetime, datetime]]) -> list[tuple[datetime, datetime]]:
    joined: list[tuple[datetime, datetime]] = []
    for start, end in windows:
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return joined
