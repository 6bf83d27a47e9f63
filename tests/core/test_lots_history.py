"""Spreadsheets of earlier weights: how masses and days are written, and what each row means."""

from datetime import date
from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from network.lots.core.history import (
    Columns,
    HistoryPreview,
    Known,
    guessed_columns,
    guessed_decimal,
    read_history,
)
from network.lots.core.written_masses import UnreadableMassError, parse_mass_g

SCHOOL, CAFE, CAPS, TUBS = (UUID(int=n) for n in (1, 2, 3, 4))
KNOWN = Known(
    places={"quill school": SCHOOL, "cafe zum eck": CAFE},
    streams={"caps": CAPS, "tubs": TUBS},
    imported=frozenset(),
    closed_to=None,
    today=date(2026, 1, 9),
)
CELLS = [
    ["Our collections since we began", "", "", ""],
    ["Datum", "Ort", "Gewicht (kg)", "Strom"],
    ["31.03.2019", "Quill School", "12,5", "Caps"],
    ["1/4/2019", "Café zum Eck", "1.234,5", ""],
    ["", "", "", ""],
    ["2019-04-02", "quill  school", "27 lb", "tubs"],
]


def columns(**changes: object) -> Columns:
    usual: dict[str, object] = {
        "header": 1,
        "day": 0,
        "place": 1,
        "mass": 2,
        "stream": 3,
        "unit": "kg",
        "decimal": ",",
        "day_order": "day_first",
        "places": {},
        "streams": {},
        "default_stream": CAPS,
    }
    return Columns(**{**usual, **changes})  # type: ignore[arg-type]  # each is of its field's type


def faults(preview: HistoryPreview) -> list[tuple[int, str]]:
    return [(error.row_number, error.column) for error in preview.errors]


def test_messy_columns_are_found_below_a_title_and_read() -> None:
    assert guessed_columns(CELLS) == (1, {"day": 0, "place": 1, "mass": 2, "stream": 3})
    assert guessed_decimal(CELLS, header=1, mass=2) == ","
    found = read_history(CELLS, columns(), KNOWN)
    assert found.errors == ()
    assert [(row.row_number, row.day, row.place_id, row.stream_id) for row in found.rows] == [
        (3, date(2019, 3, 31), SCHOOL, CAPS),
        (4, date(2019, 4, 1), CAFE, CAPS),
        (6, date(2019, 4, 2), SCHOOL, TUBS),
    ]
    assert [row.mass_g for row in found.rows] == [12_500, 1_234_500, 12_247]


@given(st.integers(1, 5_000_000), st.sampled_from([".", ","]))
def test_a_mass_in_kilograms_comes_back_to_the_gram(mass_g: int, decimal: str) -> None:
    written = f"{Decimal(mass_g) / 1000:.3f}".replace(".", decimal)
    assert parse_mass_g(written, unit="kg", decimal=decimal) == mass_g
    grouped = f"{mass_g:,} g".replace(",", "." if decimal == "," else ",")
    assert parse_mass_g(grouped, unit="kg", decimal=decimal) == mass_g


@pytest.mark.parametrize(
    ("unit", "kilograms"),
    [
        ("g", constants.gram),
        ("kg", 1.0),
        ("lb", constants.pound),
        ("t", constants.metric_ton),
    ],
)
def test_units_are_as_another_library_has_them(unit: str, kilograms: float) -> None:
    """Against `scipy.constants`, which has the CODATA and NIST SP 811 factors."""
    found_g = parse_mass_g("1234", unit=unit, decimal=".")
    assert abs(found_g - 1234 * kilograms * 1000) <= 0.5


@pytest.mark.parametrize("text", ["", "a lot", "12 stone", "1,2,3", "-4", "1e3", "12.", "½"])
def test_what_is_no_mass_is_not_made_into_one(text: str) -> None:
    with pytest.raises(UnreadableMassError):
        parse_mass_g(text, unit="kg", decimal=".")


def test_each_cell_that_cannot_stand_is_named_with_its_mend() -> None:
    cells = [
        ["date", "place", "kg", "stream"],
        ["13/25/2019", "Quill School", "1", "caps"],
        ["2027-01-01", "Quill School", "1", "caps"],
        ["2019-01-01", "Quill Scool", "1", "caps"],
        ["2019-01-01", "Quill School", "12.5", "caps"],
        ["2019-01-01", "Quill School", "9000", "caps"],
        ["2019-01-01", "", "1", "bottles"],
    ]
    found = read_history(cells, columns(header=0), KNOWN)
    assert faults(found) == [
        (2, "day"),
        (3, "day"),
        (4, "place"),
        (5, "mass"),
        (6, "mass"),
        (7, "place"),
        (7, "stream"),
    ]
    assert all(error.mend for error in found.errors)
    assert [(one.text, one.near) for one in found.unknown_places] == [("Quill Scool", SCHOOL)]
    assert found.rows == ()


def test_a_name_that_was_mapped_once_means_that_place() -> None:
    cells = [["date", "place", "kg"], ["2019-01-01", "The Academy", "1"]]
    chosen = columns(header=0, stream=None, places={"the academy": SCHOOL})
    (row,) = read_history(cells, chosen, KNOWN).rows
    assert (row.place_id, row.stream_id) == (SCHOOL, CAPS)


def test_days_can_be_written_month_first() -> None:
    cells = [["date", "place", "kg"], ["3/31/19", "Quill School", "1"]]
    chosen = columns(header=0, stream=None, day_order="month_first")
    (row,) = read_history(cells, chosen, KNOWN).rows
    assert row.day == date(2019, 3, 31)
    assert faults(read_history(cells, columns(header=0, stream=None), KNOWN)) == [(2, "day")]


def test_what_was_imported_before_is_refused_and_a_double_is_asked_about() -> None:
    line = ["2019-01-01", "Quill School", "1", "caps"]
    cells = [["date", "place", "kg", "stream"], line, line]
    found = read_history(cells, columns(header=0), KNOWN)
    assert len(found.rows) == 2
    assert [warning.row_number for warning in found.warnings] == [3]
    before = frozenset({(date(2019, 1, 1), SCHOOL, CAPS, 1_000)})
    again = Known(**{**vars(KNOWN), "imported": before})
    assert faults(read_history(cells, columns(header=0), again)) == [(2, ""), (3, "")]


def test_a_row_of_a_closed_period_is_kept_with_a_warning_that_it_counts_late() -> None:
    cells = [["date", "place", "kg", "stream"], ["2019-01-01", "Quill School", "1", "caps"]]
    closed = Known(**{**vars(KNOWN), "closed_to": date(2019, 1, 31)})
    found = read_history(cells, columns(header=0), closed)
    assert len(found.rows) == 1
    assert "late" in found.warnings[0].mend


def test_a_weight_above_the_scale_was_not_weighed_on_it() -> None:
    cells = [["date", "place", "kg", "stream"], ["2019-01-01", "Quill School", "61", "caps"]]
    assert faults(read_history(cells, columns(header=0, load_g_max=60_000), KNOWN)) == [(2, "mass")]


def test_one_column_means_one_thing() -> None:
    with pytest.raises(ValueError, match="one thing"):
        columns(mass=1)


def test_a_sheet_of_names_alone_has_nothing_to_add() -> None:
    assert faults(read_history([["date", "place", "kg"]], columns(header=0), KNOWN)) == [(1, "")]
