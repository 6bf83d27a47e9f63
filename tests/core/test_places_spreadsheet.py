"""A spreadsheet of places, as an organiser keeps it, read to typed rows and row-by-row errors."""

import json
from collections.abc import Sequence
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.places.core.coordinates import Box, parse_degrees, split_pair
from network.places.core.spreadsheet import (
    ROWS_MAX,
    ImportPreview,
    KnownPlace,
    place_row_from_data,
    preview_places,
    preview_to_data,
)
from network.places.core.written_dates import UnreadableDayError, parse_day

# An invented island in open ocean.
ISLE = Box(south=-38.6, west=-20.8, north=-38.2, east=-20.2)
HEADER = ["Name", "Kind", "Address", "Lat", "Long"]
SCHOOL = ["Gull Lane School", "school", "1 Gull Lane", "-38.40", "-20.50"]


def previewed(
    *rows: Sequence[str],
    header: Sequence[str] = HEADER,
    districts: Sequence[str] = (),
    known: Sequence[KnownPlace] = (),
) -> ImportPreview:
    return preview_places([header, *rows], box=ISLE, districts=districts, known=known)


def errors_of(preview: ImportPreview) -> list[tuple[int, str]]:
    assert all(error.message and error.mend for error in preview.errors)
    return [(error.row_number, error.column) for error in preview.errors]


def test_a_plain_row_becomes_a_place() -> None:
    preview = previewed(SCHOOL)
    assert preview.errors == ()
    assert preview.warnings == ()
    (row,) = preview.rows
    assert (row.row_number, row.name, row.kind) == (2, "Gull Lane School", "school")
    assert (row.latitude, row.longitude) == (-38.40, -20.50)
    assert row.organisation == "Gull Lane School"


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("SCHOOL", "school"),
        ("Primary school", "school"),
        ("Café", "cafe"),
        ("coffee-shop", "cafe"),
        ("Hairdresser's", "salon"),
        (" Cleaning  Firm ", "cleaner"),
        ("Misc.", "other"),
    ],
)
def test_kinds_are_known_in_any_case_and_by_their_other_names(written: str, kind: str) -> None:
    (row,) = previewed(["A", written, "1 Gull Lane", "-38.40", "-20.50"]).rows
    assert row.kind == kind


def test_a_misspelt_kind_is_an_error_that_names_the_nearest() -> None:
    preview = previewed(["A", "shcool", "1 Gull Lane", "-38.40", "-20.50"])
    assert errors_of(preview) == [(2, "kind")]
    assert preview.errors[0].mend == "Write school."


def test_a_missing_kind_is_taken_as_other_with_a_warning() -> None:
    preview = previewed(["A", "", "1 Gull Lane", "-38.40", "-20.50"])
    assert preview.rows[0].kind == "other"
    assert [warning.column for warning in preview.warnings] == ["kind"]


def test_every_wrong_cell_of_a_row_is_told_and_sound_rows_stay() -> None:
    preview = previewed(["", "zoo", "", "north", "-20.5"], SCHOOL)
    assert errors_of(preview) == [(2, "name"), (2, "address"), (2, "latitude"), (2, "kind")]
    assert [row.row_number for row in preview.rows] == [3]


def test_a_short_row_has_missing_cells_and_an_empty_one_is_passed_over() -> None:
    preview = previewed(["A", "school"], [], ["", " ", ""], SCHOOL)
    assert errors_of(preview) == [(2, "address"), (2, "position")]
    assert [row.row_number for row in preview.rows] == [5]


@pytest.mark.parametrize(
    "header",
    [
        ["NAME OF PLACE", "Type", "Postal Address", "Latitude (deg)", "lng"],
        ["site_name", "category", "STREET", "GPS Lat", "GPS Long"],
        ["School", "kind of place", "Address line 1", "Y", "X"],
    ],
)
def test_column_names_are_matched_leniently(header: list[str]) -> None:
    assert previewed(SCHOOL, header=header).rows == previewed(SCHOOL).rows


def test_a_title_above_the_column_names_is_passed_over_and_rows_keep_their_numbers() -> None:
    cells = [["Tamsin Isle collections"], ["last changed in May"], HEADER, SCHOOL]
    (row,) = preview_places(cells, box=ISLE).rows
    assert row.row_number == 4


def test_columns_not_known_are_kept_and_reported() -> None:
    preview = previewed([*SCHOOL, "blue", ""], header=[*HEADER, "Door colour", "Ref"])
    assert preview.unknown_columns == ("Door colour", "Ref")
    assert preview.rows[0].extra == {"Door colour": "blue"}


def test_a_column_that_is_there_twice_is_used_once_with_a_warning() -> None:
    preview = previewed([*SCHOOL, "Other name"], header=[*HEADER, "Site"])
    assert preview.rows[0].name == "Gull Lane School"
    assert [warning.column for warning in preview.warnings] == ["Site"]


def test_missing_columns_are_named() -> None:
    preview = previewed(["A", "school"], header=["Name", "Kind"])
    assert errors_of(preview) == [(1, "address"), (1, "position")]


@pytest.mark.parametrize("cells", [[], [[]], [["one", "two"], ["3", "4"]]])
def test_without_column_names_nothing_is_read(cells: list[list[str]]) -> None:
    preview = preview_places(cells, box=ISLE)
    assert len(preview.errors) == 1
    assert preview.rows == ()


def test_column_names_alone_are_refused() -> None:
    assert len(previewed().errors) == 1


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [
        ("-38,40", "-20,50"),
        ("38.40 S", "20.50W"),
        ("38°24'0\"S", "20°30'0\"W"),
        ("S 38 24.0", "W 20 30.0"),
        ("−38.40", "−20.50"),
        ("-38.40, -20.50", ""),
        ("-38,40; -20,50", ""),
    ],
)
def test_positions_are_read_as_people_write_them(latitude: str, longitude: str) -> None:
    (row,) = previewed([*SCHOOL[:3], latitude, longitude]).rows
    assert row.latitude == pytest.approx(-38.40)
    assert row.longitude == pytest.approx(-20.50)


def test_swapped_coordinates_are_set_right_with_a_warning() -> None:
    preview = previewed([*SCHOOL[:3], "-20.50", "-38.40"])
    assert (preview.rows[0].latitude, preview.rows[0].longitude) == (-38.40, -20.50)
    assert [warning.column for warning in preview.warnings] == ["position"]


@pytest.mark.parametrize(
    ("latitude", "longitude", "column"),
    [
        ("38.40", "-20.50", "position"),
        ("0", "0", "position"),
        ("-3840", "-2050", "position"),
        ("here", "-20.50", "latitude"),
        ("-38.40", "there", "longitude"),
        ("-38.40", "", "position"),
        ("-38.40.1", "-20.50", "latitude"),
        ("9" * 500, "-20.50", "latitude"),
    ],
)
def test_a_position_that_cannot_be_is_an_error(latitude: str, longitude: str, column: str) -> None:
    assert errors_of(previewed([*SCHOOL[:3], latitude, longitude])) == [(2, column)]


def test_one_cell_may_hold_the_position() -> None:
    header = ["Name", "Address", "Coordinates"]
    (row,) = previewed(["A", "1 Gull Lane", "(-38.40, -20.50)"], header=header).rows
    assert (row.latitude, row.longitude) == (-38.40, -20.50)


def test_the_same_name_and_address_is_one_place_in_any_spelling() -> None:
    again = ["GULL LANE SCHOOL", "school", "1, Gull Lane", "-38.41", "-20.51"]
    preview = previewed(SCHOOL, again)
    assert errors_of(preview) == [(3, "name")]
    assert "row 2" in preview.errors[0].message


def test_the_same_name_at_the_same_spot_is_one_place() -> None:
    again = ["Gull Lane School", "school", "Gull Lane (back gate)", "-38.4001", "-20.50"]
    assert errors_of(previewed(SCHOOL, again)) == [(3, "name")]


def test_another_name_at_the_same_spot_is_a_warning() -> None:
    neighbour = ["Gull Lane Café", "cafe", "1a Gull Lane", "-38.4001", "-20.50"]
    preview = previewed(SCHOOL, neighbour)
    assert len(preview.rows) == 2
    assert [warning.row_number for warning in preview.warnings] == [3]


def test_a_position_that_was_filled_down_is_a_warning_on_each_further_row() -> None:
    rows = [[f"Place {n}", "cafe", f"{n} Gull Lane", "-38.40", "-20.50"] for n in range(40)]
    preview = previewed(*rows)
    assert len(preview.rows) == 40
    assert [warning.row_number for warning in preview.warnings] == list(range(3, 42))


@pytest.mark.parametrize(("metres_apart", "is_same"), [(20, True), (30, False)])
def test_the_same_name_is_one_place_within_25_metres(metres_apart: int, is_same: bool) -> None:
    # A degree of latitude on a sphere of 6,371.0088 km is 111,195 m.
    latitude = -38.40 + metres_apart / 111_195
    again = ["Gull Lane School", "school", "Gull Lane (back gate)", f"{latitude:.7f}", "-20.50"]
    assert bool(previewed(SCHOOL, again).errors) == is_same


def test_a_place_the_community_has_already_is_an_error() -> None:
    here = KnownPlace(
        name="Gull Lane School", address="1 Gull Lane", latitude=-38.4, longitude=-20.5
    )
    preview = previewed(SCHOOL, known=[here])
    assert errors_of(preview) == [(2, "name")]
    assert "already here" in preview.errors[0].message


def test_districts_are_spelt_as_the_community_spells_them() -> None:
    header = [*HEADER, "Village"]
    preview = previewed(
        [*SCHOOL, "nether  QUILL"],
        ["B", "cafe", "2 Gull Lane", "-38.41", "-20.51", "Elsewhere"],
        header=header,
        districts=["Nether Quill", "Hollin Strand"],
    )
    assert preview.rows[0].district == "Nether Quill"
    assert errors_of(preview) == [(3, "district")]


def test_odd_dates_are_read_and_unreadable_ones_are_errors() -> None:
    header = [*HEADER, "Start date"]
    preview = previewed(
        [*SCHOOL, "31.3.26"],
        ["B", "cafe", "2 Gull Lane", "-38.41", "-20.51", "after Easter"],
        header=header,
    )
    assert preview.rows[0].starts_on == date(2026, 3, 31)
    assert errors_of(preview) == [(3, "starts_on")]


def test_too_many_rows_are_refused_at_once() -> None:
    preview = previewed(*[SCHOOL] * (ROWS_MAX + 1))
    assert len(preview.errors) == 1
    assert "Split" in preview.errors[0].mend


def test_a_preview_goes_through_plain_data_unchanged() -> None:
    header = [*HEADER, "Start date", "Door colour"]
    preview = previewed([*SCHOOL, "2026-03-31", "blue"], ["", "", "", "", ""], header=header)
    data = json.loads(json.dumps(preview_to_data(preview)))
    assert tuple(place_row_from_data(row) for row in data["rows"]) == preview.rows


@given(st.lists(st.lists(st.text(alphabet='aN1-.,°" \n;é', max_size=12), max_size=8), max_size=8))
def test_any_cells_give_a_preview_whose_rows_are_in_the_box(cells: list[list[str]]) -> None:
    preview = preview_places([HEADER, *cells], box=ISLE)
    filled = sum(any(cell.strip() for cell in row) for row in cells)
    wrong = {error.row_number for error in preview.errors if error.row_number > 1}
    assert len(preview.rows) + len(wrong) == filled
    assert all(ISLE.contains(row.latitude, row.longitude) for row in preview.rows)


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ("2026-03-01", date(2026, 3, 1)),
        ("2026/3/1", date(2026, 3, 1)),
        ("2026-03-01 00:00:00", date(2026, 3, 1)),
        ("1/3/2026", date(2026, 3, 1)),
        ("01.03.26", date(2026, 3, 1)),
        ("1 March 2026", date(2026, 3, 1)),
        ("Sun 1st Mar 2026", date(2026, 3, 1)),
        ("1-Mar-26", date(2026, 3, 1)),
        ("March 1, 2026", date(2026, 3, 1)),
        # ECMA-376 part 1, §18.17.4: serial 1 is 1 January 1900, with a 29 February 1900 counted.
        ("46082", date(2026, 3, 1)),
        ("46082.5", date(2026, 3, 1)),
    ],
)
def test_days_are_read_day_first_in_words_and_as_serials(written: str, day: date) -> None:
    assert parse_day(written) == day


@pytest.mark.parametrize(
    "written",
    ["soon", "30/02/2026", "04/25/2026", "1 Marzipan 2026", "12345", "1/3", "1/3/1999", "2026"],
)
def test_what_is_not_a_day_is_refused(written: str) -> None:
    with pytest.raises(UnreadableDayError):
        parse_day(written)


@given(st.dates(date(2000, 1, 1), date(2100, 12, 31)))
def test_a_day_is_read_the_same_in_each_way_of_writing(day: date) -> None:
    serial = (day - date(1899, 12, 30)).days
    for written in (
        day.isoformat(),
        f"{day.day}/{day.month}/{day.year}",
        f"{day.day} {day:%B} {day.year}",
        str(serial),
    ):
        assert parse_day(written) == day


@given(st.decimals(-180, 180, places=5))
def test_an_angle_is_read_with_a_point_or_a_comma(angle: object) -> None:
    expected = float(str(angle))
    assert parse_degrees(str(angle)) == pytest.approx(expected)
    assert parse_degrees(str(angle).replace(".", ",")) == pytest.approx(expected)


@pytest.mark.parametrize("text", ["", "x", "5-3", "50.1 7.4 3", "50 70", "1 2 3 4", "N 5 E", "3 O"])
def test_what_is_not_an_angle_is_refused(text: str) -> None:
    assert parse_degrees(text) is None


@pytest.mark.parametrize(
    ("text", "pair"),
    [
        ("50.1,-3.2", ("50.1", "-3.2")),
        ("50,1; -3,2", ("50,1", "-3,2")),
        ("50,1, -3,2", ("50,1", "-3,2")),
        ("50 7 23 N 3 30 0 W", ("50 7 23 N", "3 30 0 W")),
        ("N50 07.5 W003 30.5", ("N50 07.5", "W003 30.5")),
        ("50.1", None),
        ("gate by the oak", None),
    ],
)
def test_a_cell_with_two_angles_is_split(text: str, pair: tuple[str, str] | None) -> None:
    assert split_pair(text) == pair


def test_a_box_may_cross_the_date_line() -> None:
    box = Box(south=-20, west=170, north=-10, east=-170)
    assert box.contains(-15, 175)
    assert box.contains(-15, -175)
    assert not box.contains(-15, 0)
