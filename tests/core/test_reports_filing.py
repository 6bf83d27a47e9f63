"""What a report on paper hides, rounds and draws."""

from datetime import date
from itertools import pairwise
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.reports.core.filing import (
    PLACES_MIN,
    TOGETHER,
    Group,
    longest,
    months_between,
    protect,
    stated_kg,
    ticks_g,
)

places = st.frozensets(st.integers(1, 30).map(lambda number: UUID(int=number)), min_size=1)
groups = st.lists(
    st.builds(
        Group,
        name=st.sampled_from(["Ebb", "Marrow", "Port Sorrel"]),
        collected_g=st.integers(-10_000, 90_000),
        diverted_g=st.integers(-10_000, 90_000),
        places=places,
    ),
    max_size=12,
)


def group(name: str, numbers: list[int], diverted_g: int = 1_000) -> Group:
    here = frozenset(UUID(int=number) for number in numbers)
    return Group(name=name, collected_g=diverted_g, diverted_g=diverted_g, places=here)


def test_a_district_of_one_school_is_not_a_row_and_cannot_be_worked_out_from_the_total() -> None:
    """Ebb has one place: alone it would be the total less the others, so Marrow joins it."""
    found = protect(
        [group("Ebb", [1], 500), group("Marrow", [2, 3, 4], 700), group("Port", [5, 6, 7, 8], 900)]
    )
    assert [(row.name, len(row.places), row.diverted_g) for row in found] == [
        ("Port", 4, 900),
        (TOGETHER, 4, 1_200),
    ]


def test_three_small_districts_hide_each_other_and_no_larger_one() -> None:
    small = [group("Ebb", [1]), group("Marrow", [2]), group("Quill", [3])]
    found = protect([*small, group("Port", [4, 5, 6])])
    assert [(row.name, len(row.places)) for row in found] == [("Port", 3), (TOGETHER, 3)]


def test_two_streams_of_the_same_two_places_are_still_two_places() -> None:
    found = protect([group("Caps", [1, 2]), group("Tubs", [1, 2]), group("Crates", [1, 2, 3])])
    assert [(row.name, len(row.places)) for row in found] == [(TOGETHER, 3)]


@given(groups)
def test_no_row_rests_on_few_places_and_nothing_is_left_out(rows: list[Group]) -> None:
    found = protect(rows)
    for name in ("collected_g", "diverted_g"):
        assert sum(getattr(row, name) for row in found) == sum(getattr(row, name) for row in rows)
    assert len(found) <= 1 or all(len(row.places) >= PLACES_MIN for row in found)


@given(groups, st.integers(1, 14))
def test_a_long_table_is_cut_and_still_adds_up(rows: list[Group], rows_max: int) -> None:
    found = longest(rows, rows_max=rows_max)
    assert len(found) == min(len(rows), rows_max)
    assert sum(row.diverted_g for row in found) == sum(row.diverted_g for row in rows)


@pytest.mark.parametrize(
    ("mass_g", "expanded_g", "stated"),
    [
        (475_918, 24_304, ("476", "25")),
        (25_431, 1_242, ("25.4", "1.3")),
        (1_649_713, 74_640, ("1,650", "75")),
        (8_001, 58, ("8.001", "0.058")),
        (8_001, 0, ("8.001", "0.000")),
        (1_234_567_890, 1_234_567, ("1,234,600", "1,300")),
        (-5_527, 110, ("-5.53", "0.11")),
    ],
)
def test_an_uncertainty_has_two_digits_and_the_figure_no_more_places(
    mass_g: int, expanded_g: int, stated: tuple[str, str]
) -> None:
    """GUM (JCGM 100:2008), 7.2.6; uncertainties are rounded up."""
    assert stated_kg(mass_g, expanded_g) == stated


def test_every_month_is_there_also_over_new_year() -> None:
    found = months_between(date(2025, 11, 30), date(2026, 2, 1))
    assert found == ["2025-11", "2025-12", "2026-01", "2026-02"]


@given(st.lists(st.integers(-(10**9), 10**10), max_size=30))
def test_an_axis_has_few_even_marks_and_holds_every_bar(masses_g: list[int]) -> None:
    marks = ticks_g(masses_g)
    assert 0 in marks
    assert marks[0] <= min([0, *masses_g])
    assert marks[-1] >= max([0, *masses_g])
    assert len(marks) <= 6
    assert len({after - before for before, after in pairwise(marks)}) <= 1
