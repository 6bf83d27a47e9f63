"""Years of a workshop's spreadsheets: weights by date and place, in columns mapped once.

Rows of strings come in, as `network.places.spreadsheet_files` makes them from a file.
"""

import difflib
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from network.lots.core.written_masses import (
    COMMA,
    G_PER,
    POINT,
    UnreadableMassError,
    likely_decimal,
    parse_mass_g,
)
from network.places.core.spreadsheet import RowError
from network.places.core.spreadsheet_columns import folded
from network.places.core.written_dates import UnreadableDayError, parse_day

ROWS_MAX = 2_000
# Five tonnes: more than a van carries, so a larger figure is a slip of the unit.
MASS_G_MAX = 5_000_000

DAY_FIRST, MONTH_FIRST = "day_first", "month_first"
_HEADER_ROWS_MAX = 10
_NAMES: Mapping[str, tuple[str, ...]] = {
    "day": ("date", "day", "when", "collected on", "collection date", "datum", "tag"),
    "place": ("place", "site", "name", "school", "from", "where", "location", "ort", "stelle"),
    "mass": ("mass", "weight", "kg", "kilos", "amount", "net", "net weight", "gewicht", "masse"),
    "stream": ("stream", "material", "type", "item", "what", "plastic", "strom"),
}
_SLASHED = re.compile(r"(\d{1,2})([-/. ])(\d{1,2})\2(\d{4}|\d{2})")
_NEAR = 0.75


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Which column means what, and how its cells are written.

    Columns count from 0; `header` is the row of names, which rows above it come before. `places`
    and `streams` say what a name in the file means, by the name folded.
    """

    header: int
    day: int
    place: int
    mass: int
    stream: int | None
    unit: str
    decimal: str
    day_order: str
    places: Mapping[str, UUID]
    streams: Mapping[str, UUID]
    default_stream: UUID | None
    # The highest load of the scale they were weighed on; None where they were not.
    load_g_max: int | None = None

    def __post_init__(self) -> None:
        chosen = [self.day, self.place, self.mass, *([] if self.stream is None else [self.stream])]
        if len(set(chosen)) != len(chosen) or min(chosen) < 0 or self.header < 0:
            raise ValueError("each column means one thing")
        if self.unit not in G_PER or self.decimal not in (POINT, COMMA):
            raise ValueError("a unit and a decimal sign are known ones")
        if self.day_order not in (DAY_FIRST, MONTH_FIRST):
            raise ValueError("days are written day first or month first")


@dataclass(frozen=True, kw_only=True)
class HistoryRow:
    """One weight as it was read, in g."""

    row_number: int
    day: date
    place_id: UUID
    stream_id: UUID
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class Unknown:
    """A name in the file that means nothing yet, and which known one is near it."""

    text: str
    near: UUID | None


@dataclass(frozen=True, kw_only=True)
class HistoryPreview:
    """What a file would add: the sound rows, and all that stands in the way."""

    rows: tuple[HistoryRow, ...]
    errors: tuple[RowError, ...]
    warnings: tuple[RowError, ...]
    unknown_places: tuple[Unknown, ...]
    unknown_streams: tuple[Unknown, ...]


@dataclass(frozen=True, kw_only=True)
class Known:
    """What the community has: ids by folded name, rows imported before, and what is closed.

    A name that two places share is left out. Days up to `closed_to` are in a closed period; days
    after `today` are still to come.
    """

    places: Mapping[str, UUID]
    streams: Mapping[str, UUID]
    imported: frozenset[tuple[date, UUID, UUID, int]]
    closed_to: date | None
    today: date


def guessed_columns(cells: Sequence[Sequence[str]]) -> tuple[int, dict[str, int]]:
    """Return the row of names, and the columns whose names are known here."""
    best: tuple[int, dict[str, int]] = (0, {})
    for index, row in enumerate(cells[:_HEADER_ROWS_MAX]):
        found: dict[str, int] = {}
        for column, cell in enumerate(row):
            meaning = _meaning(cell)
            if meaning and meaning not in found:
                found[meaning] = column
        if len(found) > len(best[1]):
            best = (index, found)
    return best


def guessed_decimal(cells: Sequence[Sequence[str]], *, header: int, mass: int) -> str:
    """Return the sign before fractions that most weights have."""
    return likely_decimal([row[mass] for row in cells[header + 1 :] if mass < len(row)])


def read_history(cells: Sequence[Sequence[str]], columns: Columns, known: Known) -> HistoryPreview:
    """Return what the rows of a file mean, with an error for each cell that cannot stand."""
    sheet = _Sheet(columns, known)
    numbered = list(enumerate(cells, start=1))[columns.header + 1 :]
    rows = [(number, row) for number, row in numbered if any(cell.strip() for cell in row)]
    if len(rows) > ROWS_MAX:
        sheet.fail(columns.header + 1, "", f"There are more than {ROWS_MAX} rows.", "Split it.")
    else:
        for number, row in rows:
            sheet.read(number, row)
    if not rows:
        sheet.fail(columns.header + 1, "", "There is no row below the names.", "Add the weights.")
    return sheet.preview()


class _Sheet:
    """Reads row by row, and keeps what was read to find what is there twice."""

    def __init__(self, columns: Columns, known: Known) -> None:
        self._columns = columns
        self._known = known
        self._places = {**known.places, **columns.places}
        self._streams = {**known.streams, **columns.streams}
        self._errors: list[RowError] = []
        self._warnings: list[RowError] = []
        self._rows: list[HistoryRow] = []
        self._seen: Counter[tuple[date, UUID, UUID, int]] = Counter()
        self._unknown: dict[str, dict[str, Unknown]] = {"place": {}, "stream": {}}

    def preview(self) -> HistoryPreview:
        return HistoryPreview(
            rows=tuple(self._rows),
            errors=tuple(self._errors),
            warnings=tuple(self._warnings),
            unknown_places=tuple(self._unknown["place"].values()),
            unknown_streams=tuple(self._unknown["stream"].values()),
        )

    def fail(self, number: int, column: str, message: str, mend: str) -> None:
        self._errors.append(RowError(row_number=number, column=column, message=message, mend=mend))

    def read(self, number: int, row: Sequence[str]) -> None:
        """Read one row, and keep it unless a cell of it cannot stand."""
        errors_before = len(self._errors)
        day = self._day(number, _cell(row, self._columns.day))
        place_id = self._named(number, "place", _cell(row, self._columns.place))
        stream_id = self._stream(number, row)
        mass_g = self._mass_g(number, _cell(row, self._columns.mass))
        if len(self._errors) > errors_before or not (day and place_id and stream_id and mass_g):
            return
        found = HistoryRow(
            row_number=number, day=day, place_id=place_id, stream_id=stream_id, mass_g=mass_g
        )
        self._keep(found)

    def _keep(self, row: HistoryRow) -> None:
        what = (row.day, row.place_id, row.stream_id, row.mass_g)
        if what in self._known.imported:
            message = "The same day, place, stream and weight were imported before."
            mend = "Take the row out of the file, or undo the earlier import."
            self.fail(row.row_number, "", message, mend)
            return
        if self._seen[what]:
            message = "The same day, place, stream and weight stand further up."
            self._warn(row.row_number, "", message, "Check that these were two containers.")
        if self._known.closed_to and row.day <= self._known.closed_to:
            message = f"The ledger is closed up to {self._known.closed_to}."
            mend = "It will count at the beginning of the open period, and be shown as late."
            self._warn(row.row_number, "day", message, mend)
        self._seen[what] += 1
        self._rows.append(row)

    def _day(self, number: int, text: str) -> date | None:
        written = text
        if self._columns.day_order == MONTH_FIRST and (match := _SLASHED.fullmatch(text)):
            written = f"{match[3]}/{match[1]}/{match[4]}"
        try:
            day = parse_day(written)
        except UnreadableDayError:
            self.fail(number, "day", f'"{text[:40]}" is not a day.', self._day_mend(text))
            return None
        if day > self._known.today:
            self.fail(number, "day", f"{day} is still to come.", "Check the year.")
            return None
        return day

    def _day_mend(self, text: str) -> str:
        if _SLASHED.fullmatch(text):
            other = "month" if self._columns.day_order == DAY_FIRST else "day"
            return f"If the {other} stands first in this file, choose that above."
        return "Write it as year-month-day, such as 2019-03-31."

    def _mass_g(self, number: int, text: str) -> int | None:
        try:
            mass_g = parse_mass_g(text, unit=self._columns.unit, decimal=self._columns.decimal)
        except UnreadableMassError as wrong:
            mend = "Write a number, with kg, g, t or lb where it is not the usual unit."
            if any(sign in text for sign in (POINT, COMMA)):
                mend = "If the file has the other decimal sign, choose it above."
            self.fail(number, "mass", f'"{text[:40]}": {wrong}', mend)
            return None
        if not 0 < mass_g <= MASS_G_MAX:
            mend = "Check the unit; a row is one weight, from a gram to five tonnes."
            self.fail(number, "mass", f"{mass_g} g cannot be one weight.", mend)
            return None
        if self._columns.load_g_max is not None and mass_g > self._columns.load_g_max:
            mend = "Save them as estimated, or choose the scale that this was weighed on."
            self.fail(number, "mass", f"{mass_g} g are more than the scale weighs.", mend)
            return None
        return mass_g

    def _stream(self, number: int, row: Sequence[str]) -> UUID | None:
        column = self._columns.stream
        text = "" if column is None else _cell(row, column)
        if text:
            return self._named(number, "stream", text)
        if self._columns.default_stream is None:
            mend = "Choose the stream of rows without one, above."
            self.fail(number, "stream", "The stream is missing.", mend)
        return self._columns.default_stream

    def _named(self, number: int, column: str, text: str) -> UUID | None:
        known = self._places if column == "place" else self._streams
        if not text:
            self.fail(number, column, f"The {column} is missing.", "Fill it in.")
            return None
        found = known.get(folded(text))
        if found is None:
            near = difflib.get_close_matches(folded(text[:160]), known, n=1, cutoff=_NEAR)
            self._unknown[column].setdefault(
                folded(text), Unknown(text=text, near=known[near[0]] if near else None)
            )
            mend = f"Say below which {column} it is."
            self.fail(number, column, f'There is no {column} "{text[:60]}" here.', mend)
        return found

    def _warn(self, number: int, column: str, message: str, mend: str) -> None:
        self._warnings.append(
            RowError(row_number=number, column=column, message=message, mend=mend)
        )


def _cell(row: Sequence[str], column: int) -> str:
    return row[column].strip() if column < len(row) else ""


def _meaning(cell: str) -> str | None:
    bare = re.sub(r"\(.*?\)", "", cell)
    return next((name for name, words in _NAMES.items() if folded(bare) in words), None)
