"""The bytes of a spreadsheet, in the encodings and with the faults that real ones have."""

import io
import zipfile
from collections.abc import Iterable
from datetime import datetime

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.places.spreadsheet_files import (
    FILE_BYTES_MAX,
    ROWS_READ_MAX,
    UNPACKED_BYTES_MAX,
    read_cells,
)

TABLE = [
    ["Name", "Address"],
    ["Café Éclair", "3 Rue de la Grève"],
    ["Señor Peña", "1, Gull Lane"],
    ["Bäckerei Müller", "Straße 5"],
]


def csv_text(delimiter: str, newline: str = "\r\n") -> str:
    quoted = ([f'"{cell}"' if delimiter in cell else cell for cell in row] for row in TABLE)
    return newline.join(delimiter.join(row) for row in quoted) + newline


def xlsx(rows: Iterable[Iterable[object]], *, hidden_first: bool = False) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    if hidden_first:
        sheet.append(["draft"])
        sheet.sheet_state = "hidden"
        sheet = book.create_sheet("Places")
    for row in rows:
        sheet.append(list(row))
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def refusal_of(content: bytes) -> str:
    with pytest.raises(InvalidInput) as caught:
        read_cells(content)
    (fault,) = caught.value.fields
    assert fault.field == "file"
    assert fault.mend
    return fault.detail


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252", "iso8859_15"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_csv_is_read_in_any_usual_encoding_and_delimiter(encoding: str, delimiter: str) -> None:
    assert read_cells(csv_text(delimiter).encode(encoding)) == TABLE


@pytest.mark.parametrize("encoding", ["mac_roman", "cp850"])
def test_csv_from_an_old_mac_or_dos_is_told_apart(encoding: str) -> None:
    assert read_cells(csv_text(";").encode(encoding)) == TABLE


def test_csv_of_a_central_european_office_is_told_apart() -> None:
    text = "Nazwa;Adres\r\nKawiarnia Łąka;ul. Żółta 5\r\nSzkoła;ul. Ślężna 3\r\n"
    assert read_cells(text.encode("cp1250"))[1] == ["Kawiarnia Łąka", "ul. Żółta 5"]


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_csv_is_read_with_any_line_ending(newline: str) -> None:
    assert read_cells(csv_text(";", newline).encode()) == TABLE


def test_decimal_commas_do_not_pass_for_delimiters() -> None:
    text = "Name;Lat;Long\nA;-38,40;-20,50\nB;-38,41;-20,51\n"
    assert read_cells(text.encode())[1] == ["A", "-38,40", "-20,50"]


def test_a_first_line_that_declares_the_delimiter_is_obeyed_and_not_a_row() -> None:
    assert read_cells(("sep=;\r\n" + csv_text(";")).encode()) == TABLE


def test_a_line_break_within_quotes_stays_within_its_cell() -> None:
    assert read_cells(b'Name,Address\nA,"1 Gull Lane\nPort Sorrel"\n')[1][1].endswith("Sorrel")


def test_xlsx_cells_come_as_people_would_type_them() -> None:
    rows: list[list[object]] = [
        ["Name", "Lat", "Since", "Gate", "Note"],
        ["A", -38.4, datetime(2026, 3, 1), True, None],  # noqa: DTZ001 - a spreadsheet has no zone
        ["B", 7.0, datetime(2026, 3, 1, 9, 30), False, "x"],  # noqa: DTZ001
    ]
    assert read_cells(xlsx(rows)) == [
        ["Name", "Lat", "Since", "Gate", "Note"],
        ["A", "-38.4", "2026-03-01", "yes"],
        ["B", "7", "2026-03-01T09:30:00", "no", "x"],
    ]


def test_a_hidden_sheet_is_passed_over() -> None:
    assert read_cells(xlsx(TABLE, hidden_first=True)) == TABLE


def test_no_more_rows_are_read_than_are_wanted() -> None:
    assert len(read_cells(b"a,b\n" * (ROWS_READ_MAX + 500))) == ROWS_READ_MAX


def test_a_file_that_unpacks_to_too_much_is_refused_before_it_is_unpacked() -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * (UNPACKED_BYTES_MAX + 1))
    assert len(buffer.getvalue()) < FILE_BYTES_MAX
    assert "unpacks" in refusal_of(buffer.getvalue())


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"  \r\n", "empty"),
        (b"\xef\xbb\xbf", "not a table"),
        (b"a" * (FILE_BYTES_MAX + 1), "larger"),
        (b"\xd0\xcf\x11\xe0" + b"0" * 100, "old XLS"),
        (b"PK\x03\x04 and then nothing", "damaged"),
        (b"a,b\x00c\n", "not a table"),
        (b"\xff\xfea", "letters"),
        (b'"' + b"x" * 200_000, "cannot be read as CSV"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_mend(content: bytes, words: str) -> None:
    assert words in refusal_of(content)


def test_a_zip_that_is_no_xlsx_is_refused() -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
    assert "as XLSX" in refusal_of(buffer.getvalue())


def test_an_empty_workbook_is_refused() -> None:
    assert "No sheet" in refusal_of(xlsx([]))


WHOLE = xlsx(TABLE)


@given(st.integers(0, len(WHOLE) - 1), st.binary(min_size=1, max_size=40))
def test_a_damaged_workbook_is_read_or_refused_but_never_crashes(at: int, noise: bytes) -> None:
    damaged = WHOLE[:at] + noise + WHOLE[at + len(noise) :]
    refused = ""
    try:
        read_cells(damaged)
    except InvalidInput as refusal:
        refused = refusal.fields[0].field
    assert refused in ("", "file")


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_but_never_crash(content: bytes) -> None:
    refused = ""
    try:
        read_cells(content)
    except InvalidInput as refusal:
        refused = refusal.fields[0].field
    assert refused in ("", "file")
