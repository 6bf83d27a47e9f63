"""When places can be visited, in the community's days and in UTC."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from functools import cache
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Manager, prefetch_related_objects

from network.errors import InvalidInput
from network.people.models import Community
from network.places.core.calendar import (
    ONE_DAY,
    DaySpan,
    PlaceCalendar,
    WeeklyWindow,
    open_windows,
)
from network.places.holidays import public_holidays
from network.places.models import AccessWindow, CalendarSpan, Place


def local_day(community: Community, moment: datetime) -> date:
    """Return the day that a moment falls on by the community's clock."""
    return moment.astimezone(ZoneInfo(community.timezone)).date()


def calendars_for(
    places: Sequence[Place], first_day: date, last_day: date
) -> dict[UUID, PlaceCalendar]:
    """Return each place's calendar, with the public holidays from the first to the last day."""
    prefetch_related_objects(places, "community")
    windows, spans = _rows_of(AccessWindow.objects, places), _rows_of(CalendarSpan.objects, places)
    holidays = {
        community: _holidays(community, first_day, last_day)
        for community in {place.community for place in places}
    }
    return {
        place.id: PlaceCalendar(
            windows=tuple(
                WeeklyWindow(weekday=window.weekday, opens=window.opens, closes=window.closes)
                for window in windows.get(place.id, ())
            ),
            terms=tuple(_spans(spans.get(place.id, ()), CalendarSpan.Kind.TERM)),
            closures=tuple(_spans(spans.get(place.id, ()), CalendarSpan.Kind.CLOSURE)),
            public_holidays=holidays[place.community] if place.observes_public_holidays else {},
        )
        for place in places
    }


def _rows_of(table: Manager[Any], places: Sequence[Place]) -> dict[UUID, list[Any]]:
    """Return rows by place; read here, since a relation is slow to fill for thousands of them."""
    found: dict[UUID, list[Any]] = defaultdict(list)
    for row in table.filter(place__in=[place.id for place in places]):
        found[row.place_id].append(row)
    return found


def open_windows_for(
    places: Sequence[Place], first_day: date, last_day: date
) -> dict[UUID, list[tuple[datetime, datetime]]]:
    """Return when one can come to each place, the last day included.

    Times are (start, end) in UTC, ascending and apart; a place that is shut throughout, or has no
    windows, has an empty list.
    """
    days = (last_day - first_day) // ONE_DAY + 1
    calendars = calendars_for(places, first_day, last_day)
    return {
        place.id: open_windows(
            calendars[place.id], first_day, days, ZoneInfo(place.community.timezone)
        )
        for place in places
    }


def _spans(spans: Iterable[CalendarSpan], kind: str) -> Iterable[DaySpan]:
    return (
        DaySpan(first_day=span.first_day, last_day=span.last_day, label=span.label)
        for span in spans
        if span.kind == kind
    )


def _holidays(community: Community, first_day: date, last_day: date) -> dict[date, str]:
    return {
        day: name
        for year in range(first_day.year, last_day.year + 1)
        for day, name in _holidays_of_year(community.country, community.subdivision, year).items()
        if first_day <= day <= last_day
    }


@cache
def _holidays_of_year(country: str, subdivision: str, year: int) -> Mapping[date, str]:
    """A country that the library does not know has none here: its places enter closures."""
    try:
        return public_holidays(country, subdivision, date(year, 1, 1), date(year, 12, 31))
    except InvalidInput:
        return {}
