"""Reads the bytes of a spreadsheet, CSV or XLSX, to rows of strings."""

import codecs
import csv
import io
import re
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, time

import openpyxl
from charset_normalizer import from_bytes

from network.errors import InvalidInput
from network.places.core.spreadsheet import ROWS_MAX

FILE_BYTES_MAX = 5_000_000
# What an XLSX may unpack to: ten times the largest file that is read, far below what hurts.
UNPACKED_BYTES_MAX = 50_000_000
ZIP_ENTRIES_MAX = 1000
COLUMNS_MAX = 100
CELL_LENGTH_MAX = 10_000
# A cell this long comes of a quote that nothing closes.
UNCLOSED_LENGTH_MIN = 100_000
# A few rows more than are imported, for titles above the names, and so that a longer sheet shows.
ROWS_READ_MAX = ROWS_MAX + 20
SAMPLE_LINES = 50

_ZIP = b"PK\x03\x04"
_OLD_EXCEL = b"\xd0\xcf\x11\xe0"
_DELIMITERS = (",", ";", "\t", "|")
# A first line such as `sep=;`, which Excel writes, reads and does not count as a row.
_DECLARED_DELIMITER = re.compile(r'"?sep=([,;\t|])"?', re.IGNORECASE)
# The encodings that spreadsheets of western offices are saved in, besides UTF-8 and UTF-16.
_OLD_ENCODINGS = ["cp1252", "iso8859_15", "mac_roman", "cp850", "cp1250", "cp437"]
_SAVE_AS = "Save it as XLSX, or as CSV in UTF-8, and send that."


def read_cells(content: bytes) -> list[list[str]]:
    """Return the rows of a spreadsheet file as strings; what it is shows in its bytes.

    Of an XLSX the first visible sheet with anything on it is read. Rows past ROWS_READ_MAX and
    columns past COLUMNS_MAX are not read. Raises InvalidInput, naming `file`, for what is too
    large, unreadable or of another kind.
    """
    if not content.strip():
        raise _refused("The file is empty.", "Send the file with the rows.")
    if len(content) > FILE_BYTES_MAX:
        raise _refused(
            f"The file is larger than {FILE_BYTES_MAX // 1_000_000} MB.",
            "Remove pictures and other sheets, or split it.",
        )
    if content.startswith(_OLD_EXCEL):
        raise _refused("This is the old XLS format, or is locked by a password.", _SAVE_AS)
    return _read_xlsx(content) if content.startswith(_ZIP) else _read_csv(content)


def _refused(detail: str, mend: str) -> InvalidInput:
    return InvalidInput.of("file", detail, mend)


def _read_xlsx(content: bytes) -> list[list[str]]:
    _check_zip(content)
    try:
        cells = _first_sheet(content)
    # On a damaged file openpyxl, zipfile, zlib and the XML reader each raise their own.
    except Exception as broken:
        raise _refused("The file cannot be read as XLSX.", _SAVE_AS) from broken
    if not cells:
        raise _refused("No sheet of the file has anything on it.", "Send the file with the rows.")
    return cells


def _first_sheet(content: bytes) -> list[list[str]]:
    """Return the cells of the first visible sheet that has any; none when no sheet has."""
    book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    try:
        for sheet in book.worksheets:
            if sheet.sheet_state != "visible":
                continue
            rows = sheet.iter_rows(max_row=ROWS_READ_MAX, max_col=COLUMNS_MAX, values_only=True)
            cells = [_trimmed([_text(value) for value in row]) for row in rows]
            if any(cells):
                return cells
    finally:
        book.close()
    return []


def _trimmed(row: list[str]) -> list[str]:
    """Return a row without the empty cells at its end."""
    width = max((index for index, cell in enumerate(row, start=1) if cell), default=0)
    return row[:width]


def _check_zip(content: bytes) -> None:
    """Refuse a file that unpacks to far more than it is; zipfile reads no more than is declared."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = archive.infolist()
    except (zipfile.BadZipFile, NotImplementedError) as broken:  # the second: of a version unknown
        raise _refused("The file is damaged.", _SAVE_AS) from broken
    if len(entries) > ZIP_ENTRIES_MAX or sum(e.file_size for e in entries) > UNPACKED_BYTES_MAX:
        raise _refused("The file unpacks to more than is read here.", _SAVE_AS)


def _text(value: object) -> str:
    """Return a cell as people would type it; a day without a time of day is the day alone."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime) and value.time() == time.min:
        return value.date().isoformat()
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)[:CELL_LENGTH_MAX]


def _read_csv(content: bytes) -> list[list[str]]:
    text = _decoded(content)
    if "\x00" in text or not text.strip():
        raise _refused("The file is not a table of text.", _SAVE_AS)
    lines = text.splitlines(keepends=True)
    declared = _DECLARED_DELIMITER.fullmatch(lines[0].strip("\r\n "))
    if declared:
        lines = lines[1:]
    try:
        delimiter = declared[1] if declared else _likeliest_delimiter(lines[:SAMPLE_LINES])
        rows = _csv_rows(io.StringIO("".join(lines), newline=""), delimiter)
        return list(_first_rows(rows))
    except csv.Error as broken:
        raise _refused("The file cannot be read as CSV.", _SAVE_AS) from broken


def _csv_rows(lines: Iterable[str], delimiter: str) -> Iterator[list[str]]:
    """Read rows; raises csv.Error. The module's own limit on cells is any library's to change."""
    for row in csv.reader(lines, delimiter=delimiter):
        if any(len(cell) >= UNCLOSED_LENGTH_MIN for cell in row):
            raise csv.Error("a quote is not closed")
        yield row


def _first_rows(rows: Iterable[Sequence[str]]) -> Iterator[list[str]]:
    for number, row in enumerate(rows):
        if number == ROWS_READ_MAX:
            return
        yield [cell[:CELL_LENGTH_MAX] for cell in row[:COLUMNS_MAX]]


def _decoded(content: bytes) -> str:
    for mark, encoding in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if content.startswith(mark):
            return _decoded_as(content, encoding)
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return _decoded_from_old(content)


def _decoded_from_old(content: bytes) -> str:
    """Return the text by the old encoding that makes the least mess, the commonest first of equals.

    A short file says little, and encodings of one family differ in a letter or two.
    """
    matches = list(from_bytes(content, cp_isolation=_OLD_ENCODINGS))
    if not matches:
        return _decoded_as(content, _OLD_ENCODINGS[0])
    least_mess = min(match.chaos for match in matches)
    tidy = [match for match in matches if match.chaos == least_mess]
    likely = {name for match in tidy for name in match.could_be_from_charset}
    return _decoded_as(content, next(name for name in _OLD_ENCODINGS if name in likely))


def _decoded_as(content: bytes, encoding: str) -> str:
    try:
        return content.decode(encoding)
    except UnicodeDecodeError as broken:
        raise _refused("The file's letters cannot be read.", _SAVE_AS) from broken


def _likeliest_delimiter(lines: Sequence[str]) -> str:
    """Return the delimiter by which most lines fall into the same number of columns."""

    def score(delimiter: str) -> tuple[int, int]:
        widths = Counter(len(row) for row in _csv_rows(lines, delimiter) if any(row))
        width, count = max(
            ((width, count) for width, count in widths.items() if width > 1),
            key=lambda pair: (pair[1], pair[0]),
            default=(0, 0),
        )
        return count, width

    return max(_DELIMITERS, key=score)
