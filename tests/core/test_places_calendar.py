"""When a place can be visited, across closures, terms, public holidays and changes of the clock."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.places.core.calendar import (
    DaySpan,
    PlaceCalendar,
    ShutCode,
    WeeklyWindow,
    is_open,
    is_running,
    next_open_day,
    open_windows,
    running_days_between,
    why_shut,
)
from network.places.core.clock import running_mask
from network.places.holidays import public_holidays

LONDON = ZoneInfo("Europe/London")
SUNDAY, MONDAY, TUESDAY = 6, 0, 1


def window(weekday: int, opens: str, closes: str) -> WeeklyWindow:
    return WeeklyWindow(
        weekday=weekday, opens=time.fromisoformat(opens), closes=time.fromisoformat(closes)
    )


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


WEEKDAY_MORNINGS = tuple(window(weekday, "08:30", "12:00") for weekday in range(5))
SCHOOL = PlaceCalendar(
    windows=WEEKDAY_MORNINGS,
    terms=(
        DaySpan(first_day=date(2026, 9, 1), last_day=date(2026, 12, 18), label="autumn term"),
        DaySpan(first_day=date(2027, 1, 4), last_day=date(2027, 3, 26), label="spring term"),
    ),
    closures=(
        DaySpan(first_day=date(2026, 10, 26), last_day=date(2026, 10, 30), label="half-term"),
    ),
    public_holidays={date(2026, 9, 7): "Island Day"},
)


def test_england_has_nine_public_holidays_in_2026_with_a_substitute_day() -> None:
    # gov.uk lists eight bank holidays; 26 December is a Saturday, so Monday 28 is its substitute,
    # and the library gives both days.
    days = public_holidays("GB", "ENG", date(2026, 1, 1), date(2026, 12, 31))
    assert len(days) == 9
    assert {date(2026, 12, 26), date(2026, 12, 28)} <= set(days)


def test_public_holidays_are_cut_to_the_days_asked_for() -> None:
    days = public_holidays("GB", "ENG", date(2026, 12, 26), date(2027, 1, 1))
    assert list(days) == [date(2026, 12, 26), date(2026, 12, 28), date(2027, 1, 1)]


@pytest.mark.parametrize(
    ("country", "subdivision", "field"), [("QQ", "", "country"), ("GB", "QQ", "subdivision")]
)
def test_a_country_without_known_holidays_is_refused_by_its_field(
    country: str, subdivision: str, field: str
) -> None:
    with pytest.raises(InvalidInput) as caught:
        public_holidays(country, subdivision, date(2026, 1, 1), date(2026, 12, 31))
    assert caught.value.fields[0].field == field


@pytest.mark.parametrize(
    ("day", "code", "text"),
    [
        (date(2026, 10, 27), ShutCode.CLOSURE, "It is shut until 30 October 2026: half-term."),
        (date(2026, 9, 7), ShutCode.PUBLIC_HOLIDAY, "It is shut for a public holiday: Island Day."),
        (date(2026, 12, 21), ShutCode.OUT_OF_TERM, "It is out of term until 4 January 2027."),
        (
            date(2027, 4, 1),
            ShutCode.OUT_OF_TERM,
            "It is out of term, and no later term has been entered.",
        ),
        (date(2026, 9, 5), ShutCode.NO_WINDOW, "Nobody can come on a Saturday."),
    ],
)
def test_a_day_that_is_shut_says_why_in_a_sentence(day: date, code: ShutCode, text: str) -> None:
    shut = why_shut(SCHOOL, day)
    assert shut is not None
    assert (shut.code, shut.text) == (code, text)


def test_the_first_and_last_day_of_a_closure_are_shut_and_their_neighbours_open() -> None:
    days = [date(2026, 10, 23), date(2026, 10, 26), date(2026, 10, 30), date(2026, 11, 2)]
    assert [is_open(SCHOOL, day) for day in days] == [True, False, False, True]


def test_the_next_open_day_passes_over_the_holidays() -> None:
    assert next_open_day(SCHOOL, date(2026, 12, 19)) == date(2027, 1, 4)
    assert next_open_day(SCHOOL, date(2026, 12, 18)) == date(2026, 12, 18)


def test_a_place_with_no_further_term_has_no_next_open_day() -> None:
    assert next_open_day(SCHOOL, date(2027, 3, 27)) is None


def test_a_two_week_closure_has_no_running_day() -> None:
    assert running_days_between(SCHOOL, date(2026, 12, 19), date(2027, 1, 4)) == 0


def test_a_school_that_lets_a_van_in_on_tuesdays_still_fills_on_five_days() -> None:
    tuesdays = PlaceCalendar(windows=(window(TUESDAY, "09:00", "10:00"),))
    week = [date(2026, 11, 2) + timedelta(days=day) for day in range(7)]
    assert [day for day in week if is_open(tuesdays, day)] == [date(2026, 11, 3)]
    assert running_days_between(tuesdays, date(2026, 11, 2), date(2026, 11, 9)) == 5


def test_a_cafe_with_a_sunday_window_fills_on_sundays() -> None:
    cafe = PlaceCalendar(windows=(window(SUNDAY, "09:00", "10:00"),))
    assert is_running(cafe, date(2026, 11, 8))
    assert not is_running(cafe, date(2026, 11, 7))


def test_windows_are_local_time_in_summer_and_winter() -> None:
    calendar = PlaceCalendar(windows=(window(MONDAY, "09:00", "11:00"),))
    # London left summer time on 25 October 2026.
    assert open_windows(calendar, date(2026, 10, 19), 8, LONDON) == [
        (utc("2026-10-19T08:00"), utc("2026-10-19T10:00")),
        (utc("2026-10-26T09:00"), utc("2026-10-26T11:00")),
    ]


@pytest.mark.parametrize(
    ("opens", "closes", "expected"),
    [
        # The clock jumped from 01:00 to 02:00 at 01:00 UTC on 29 March 2026.
        ("00:30", "02:30", ("2026-03-29T00:30", "2026-03-29T01:30")),
        ("01:30", "03:00", ("2026-03-29T01:00", "2026-03-29T02:00")),
        ("01:30", "02:10", ("2026-03-29T01:00", "2026-03-29T01:10")),
        ("00:30", "01:30", ("2026-03-29T00:30", "2026-03-29T01:00")),
        ("01:10", "01:50", None),
    ],
)
def test_a_time_that_the_clock_skips_counts_as_the_moment_of_the_jump(
    opens: str, closes: str, expected: tuple[str, str] | None
) -> None:
    calendar = PlaceCalendar(windows=(window(SUNDAY, opens, closes),))
    found = open_windows(calendar, date(2026, 3, 29), 1, LONDON)
    assert found == ([(utc(expected[0]), utc(expected[1]))] if expected else [])


@pytest.mark.parametrize(
    ("opens", "closes", "start", "end"),
    [
        # London showed 01:00 to 02:00 twice on 25 October 2026: from 00:00 and from 01:00 UTC.
        ("00:30", "01:30", "2026-10-24T23:30", "2026-10-25T00:30"),
        ("01:30", "03:00", "2026-10-25T00:30", "2026-10-25T03:00"),
        ("00:30", "03:00", "2026-10-24T23:30", "2026-10-25T03:00"),
    ],
)
def test_a_time_that_the_clock_shows_twice_is_its_first_showing(
    opens: str, closes: str, start: str, end: str
) -> None:
    # RFC 5545 §3.3.5: a local time that occurs twice refers to the first occurrence.
    calendar = PlaceCalendar(windows=(window(SUNDAY, opens, closes),))
    assert open_windows(calendar, date(2026, 10, 25), 1, LONDON) == [(utc(start), utc(end))]


def test_a_day_that_a_zone_skips_whole_has_no_window() -> None:
    # Samoa went from 29 to 31 December 2011 when it crossed the date line (IANA tz database).
    daily = PlaceCalendar(windows=tuple(window(day, "09:00", "10:00") for day in range(7)))
    found = open_windows(daily, date(2011, 12, 29), 3, ZoneInfo("Pacific/Apia"))
    assert found == [
        (utc("2011-12-29T19:00"), utc("2011-12-29T20:00")),
        (utc("2011-12-30T19:00"), utc("2011-12-30T20:00")),
    ]


def test_windows_that_overlap_or_touch_are_joined() -> None:
    calendar = PlaceCalendar(
        windows=(
            window(MONDAY, "11:00", "12:00"),
            window(MONDAY, "08:00", "10:00"),
            window(MONDAY, "09:00", "11:00"),
            window(MONDAY, "13:00", "14:00"),
        )
    )
    assert open_windows(calendar, date(2026, 11, 2), 1, LONDON) == [
        (utc("2026-11-02T08:00"), utc("2026-11-02T12:00")),
        (utc("2026-11-02T13:00"), utc("2026-11-02T14:00")),
    ]


days_of_2026 = st.dates(date(2026, 1, 1), date(2026, 12, 31))


@st.composite
def windows_of_a_week(draw: st.DrawFn) -> WeeklyWindow:
    first, second = sorted(draw(st.sets(st.integers(0, 1439), min_size=2, max_size=2)))
    return WeeklyWindow(
        weekday=draw(st.integers(0, 6)),
        opens=time(first // 60, first % 60),
        closes=time(second // 60, second % 60),
    )


@st.composite
def calendars(draw: st.DrawFn) -> PlaceCalendar:
    starts = draw(st.lists(days_of_2026, max_size=4))
    return PlaceCalendar(
        windows=tuple(draw(st.lists(windows_of_a_week(), max_size=6))),
        closures=tuple(
            DaySpan(first_day=day, last_day=day + timedelta(days=draw(st.integers(0, 20))))
            for day in starts
        ),
        public_holidays=dict.fromkeys(draw(st.lists(days_of_2026, max_size=4)), "holiday"),
    )


@given(
    calendars(),
    days_of_2026,
    st.integers(0, 40),
    st.sampled_from(["Europe/London", "America/Santiago", "Pacific/Apia", "Australia/Lord_Howe"]),
)
def test_windows_are_ascending_apart_and_never_on_a_shut_day(
    calendar: PlaceCalendar, first_day: date, days: int, zone: str
) -> None:
    tz = ZoneInfo(zone)
    found = open_windows(calendar, first_day, days, tz)
    moments = [moment for pair in found for moment in pair]
    assert moments == sorted(set(moments))
    for start, end in found:
        assert why_shut(calendar, start.astimezone(tz).date()) is None
        assert why_shut(calendar, (end - timedelta(seconds=1)).astimezone(tz).date()) is None


@given(calendars(), days_of_2026, st.integers(0, 400))
def test_days_looked_at_together_are_as_each_alone(
    calendar: PlaceCalendar, first_day: date, length: int
) -> None:
    together = running_mask(calendar, first_day, length)
    each = [is_running(calendar, first_day + timedelta(days=after)) for after in range(length)]
    assert together.tolist() == each


@given(calendars(), days_of_2026, st.integers(0, 60), st.integers(0, 60))
def test_days_counted_in_two_parts_add_up(
    calendar: PlaceCalendar, first_day: date, one: int, two: int
) -> None:
    middle = first_day + timedelta(days=one)
    last = middle + timedelta(days=two)
    parts = running_days_between(calendar, first_day, middle) + running_days_between(
        calendar, middle, last
    )
    assert running_days_between(calendar, first_day, last) == parts


@pytest.mark.parametrize(
    ("weekday", "opens", "closes"), [(7, "09:00", "10:00"), (0, "10:00", "10:00")]
)
def test_a_window_that_cannot_be_is_refused(weekday: int, opens: str, closes: str) -> None:
    with pytest.raises(ValueError, match=r"weekday|closes after"):
        window(weekday, opens, closes)


def test_a_span_does_not_end_before_it_begins() -> None:
    with pytest.raises(ValueError, match="not before"):
        DaySpan(first_day=date(2026, 2, 1), last_day=date(2026, 1, 1))
