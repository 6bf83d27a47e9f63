"""Nobody is written to at night, by the community's clock."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.notices.core.quiet import due_at

LONDON = ZoneInfo("Europe/London")
NINE, SEVEN = time(21), time(7)


def due(now: datetime, quiet_from: time = NINE, quiet_until: time = SEVEN) -> datetime:
    return due_at(now, zone=LONDON, quiet_from=quiet_from, quiet_until=quiet_until)


@pytest.mark.parametrize(
    ("now", "then"),
    [
        (datetime(2026, 1, 5, 12, tzinfo=UTC), datetime(2026, 1, 5, 12, tzinfo=UTC)),
        (datetime(2026, 1, 5, 20, 59, tzinfo=UTC), datetime(2026, 1, 5, 20, 59, tzinfo=UTC)),
        (datetime(2026, 1, 5, 21, tzinfo=UTC), datetime(2026, 1, 6, 7, tzinfo=UTC)),
        (datetime(2026, 1, 6, 6, 59, tzinfo=UTC), datetime(2026, 1, 6, 7, tzinfo=UTC)),
        # In summer the clock of London is an hour ahead of UTC.
        (datetime(2026, 7, 1, 20, 30, tzinfo=UTC), datetime(2026, 7, 2, 6, tzinfo=UTC)),
        # The night in which it goes forward ends an hour of UTC earlier.
        (datetime(2026, 3, 28, 23, tzinfo=UTC), datetime(2026, 3, 29, 6, tzinfo=UTC)),
    ],
)
def test_what_happens_at_night_is_told_in_the_morning(now: datetime, then: datetime) -> None:
    assert due(now) == then


def test_quiet_hours_may_lie_within_a_day() -> None:
    lesson = datetime(2026, 1, 5, 10, tzinfo=UTC)
    assert due(lesson, time(9), time(15)) == datetime(2026, 1, 5, 15, tzinfo=UTC)


def test_hours_that_end_where_they_begin_are_none() -> None:
    now = datetime(2026, 1, 5, 3, tzinfo=UTC)
    assert due(now, NINE, NINE) == now


clocks = st.times().map(lambda clock: clock.replace(microsecond=0))
NEW_YEAR = datetime(2026, 1, 1, tzinfo=UTC)
moments = st.timedeltas(min_value=timedelta(0), max_value=timedelta(days=365)).map(
    lambda since: NEW_YEAR + since
)


@given(now=moments, quiet_from=clocks, quiet_until=clocks)
def test_nothing_is_due_before_it_happened_or_more_than_a_day_after(
    now: datetime, quiet_from: time, quiet_until: time
) -> None:
    later = due(now, quiet_from, quiet_until) - now
    assert 0 <= later.total_seconds() <= 25 * 3600  # a day on which the clock goes back has 25 h
