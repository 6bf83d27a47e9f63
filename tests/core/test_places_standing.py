"""How containers stand full if nobody comes, and how much of that coming would avoid."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from network.places.core.calendar import PlaceCalendar
from network.places.core.forecast import Beliefs, believe, outlook_at
from network.places.core.habits import KindHabits
from network.places.core.history import FillHistory, Sighting
from network.places.core.standing import (
    Standing,
    avoidable,
    expected_avoidable,
    full_days,
    if_nobody_comes,
    told,
)

MONDAY = date(2026, 11, 2)
DAYS = 5


def fills_in(days: float, *, burst: float = 0.01) -> KindHabits:
    return KindHabits(log_rate=-float(np.log(days)), spread=0.1, burst=burst, containers=12)


def beliefs_of(*habits: KindHabits, volume_ml: int = 60_000) -> Beliefs:
    """One container of each kind, emptied on Monday."""
    known = {f"kind {number}": own for number, own in enumerate(habits)}
    emptied = Sighting(day=MONDAY, percent=0, emptied=True)
    histories = [
        FillHistory(
            place_kind=kind,
            volume_ml=volume_ml,
            placed_on=MONDAY,
            calendar=PlaceCalendar(windows=()),
            sightings=(emptied,),
        )
        for kind in known
    ]
    return believe(histories, known, last_day=MONDAY + timedelta(days=40))


def on(*days: int, rows: int = 1) -> NDArray[np.bool_]:
    return np.repeat([[day in days for day in range(DAYS)]], rows, axis=0)


def standing_of(beliefs: Beliefs, level: float) -> Standing:
    return if_nobody_comes(told(beliefs, level, column=0), first=0, days=DAYS)


def avoided_of(beliefs: Beliefs, level: float, could_come: NDArray[np.bool_]) -> Standing:
    return expected_avoidable(told(beliefs, level, column=0), could_come, first=0)


@given(st.floats(0, 1), st.floats(1, 40))
@settings(deadline=None, max_examples=30)
def test_what_is_brought_is_lost_or_stands_in_the_container(level: float, days: float) -> None:
    beliefs = told(beliefs_of(fills_in(days)), level, column=0)
    lost = if_nobody_comes(beliefs, first=0, days=DAYS).lost.sum()
    before, after = outlook_at(beliefs, np.array([0])), outlook_at(beliefs, np.array([DAYS]))
    brought = float((after.weight * after.mean - before.weight * before.mean).sum())
    more = float(after.expected_up_to()[0] - before.expected_up_to()[0])
    assert lost + more == pytest.approx(brought, abs=1e-9)


def test_the_chance_and_what_is_lost_are_those_of_gamma_fills() -> None:
    """Against scipy's gamma distribution: nine tenths full, a tenth a day, five days."""
    standing = standing_of(beliefs_of(fills_in(10)), 0.9)
    for day in range(DAYS):
        mean, variance = (day + 1) / 10, 0.01 * (day + 1) / 10
        brought = stats.gamma(mean**2 / variance, scale=variance / mean)
        # Rates from place to place differ by a tenth, which widens it a little.
        assert standing.full[0, day] == pytest.approx(brought.sf(0.1), abs=0.06)
        beyond = brought.expect(lambda came: came - 0.1, lb=0.1)
        assert standing.lost[0, : day + 1].sum() == pytest.approx(beyond, abs=0.02)


def test_nothing_is_avoided_where_nobody_can_come_nor_before_somebody_could() -> None:
    beliefs = beliefs_of(fills_in(3))
    nothing = avoided_of(beliefs, 1.0, on())
    assert not nothing.full.any()
    assert not nothing.lost.any()
    late = avoided_of(beliefs, 1.0, on(3))
    assert not late.full[:, :3].any()
    assert late.full[0, 3] > 0.9


def test_what_fills_slowly_is_avoided_whole() -> None:
    beliefs = beliefs_of(fills_in(100))
    nobody, avoided = standing_of(beliefs, 1.0), avoided_of(beliefs, 1.0, on(0))
    np.testing.assert_allclose(avoided.full, nobody.full, atol=1e-3)
    np.testing.assert_allclose(avoided.lost, nobody.lost, atol=1e-3)


def test_what_fills_in_a_day_or_two_soon_stands_full_again_and_what_was_taken_is_saved() -> None:
    """Full on Monday, three quarters a day: from Tuesday evening on it is as if nobody had come."""
    beliefs = beliefs_of(fills_in(4 / 3, burst=0.001))
    avoided = avoided_of(beliefs, 1.0, on(0))
    assert avoided.full[0, 0] > 0.95
    assert avoided.full[0, 2:].max() < 0.01
    assert avoided.lost.sum() == pytest.approx(1, abs=0.02)


def test_coming_on_more_days_never_avoids_less() -> None:
    beliefs = beliefs_of(fills_in(2), fills_in(5), fills_in(20))
    once, daily = (avoided_of(beliefs, 0.8, on(*days, rows=3)) for days in ((0,), range(DAYS)))
    assert (daily.full >= once.full - 1e-9).all()
    assert (daily.lost >= once.lost - 1e-9).all()


@given(
    st.lists(st.floats(0, 2), min_size=DAYS, max_size=DAYS),
    st.sets(st.integers(0, DAYS - 1)),
    st.floats(0, 1),
)
def test_with_the_coming_known_it_is_counted_day_by_day(
    brought: list[float], days: set[int], level: float
) -> None:
    """Against a container that is lived through, emptied each day on which somebody comes."""

    def lived(start: float, first: int, empties: set[int]) -> Standing:
        stands, full, lost = start, [], []
        for day in range(first, DAYS):
            stands = (0.0 if day in empties else stands) + brought[day]
            full.append(float(stands >= 1))
            lost.append(max(0.0, stands - 1))
            stands = min(stands, 1.0)
        return Standing(full=np.array([full]), lost=np.array([lost]))

    nobody = lived(level, 0, set())
    found = avoidable(nobody, lambda day: lived(0.0, day, {day}), on(*days))
    visited = lived(level, 0, days)
    np.testing.assert_allclose(found.full, np.maximum(nobody.full - visited.full, 0), atol=1e-9)
    np.testing.assert_allclose(found.lost, np.maximum(nobody.lost - visited.lost, 0), atol=1e-9)


def test_a_day_off_has_no_full_day_and_millilitres_follow_the_volume() -> None:
    beliefs = beliefs_of(fills_in(3), volume_ml=60_000)
    beliefs.record.running[:, 2] = False
    [own] = full_days(told(beliefs, 1.0, column=0), on(0, 1, 2, 3, 4), first=0)
    assert (own[2].chance, own[2].avoidable_chance) == (0, 0)
    assert own[0].chance > 0.9
    # A third of 60 litres, as nothing of it would be lost by an empty one.
    assert own[0].avoidable_ml == pytest.approx(20_000, rel=0.1)
