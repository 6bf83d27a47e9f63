"""A spreadsheet of places as an organiser keeps it, read to typed rows and row-by-row errors.

Rows of strings come in; `network.places.spreadsheet_files` makes them from the bytes of a file.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any

from network.geo import Point
from network.places.core.coordinates import Box
from network.places.core.duplicates import SAME_SPOT_M, Seen, Sighting
from network.places.core.spreadsheet_cells import CellReader
from network.places.core.spreadsheet_columns import REQUIRED, Columns, find_columns, folded

ROWS_MAX = 5000


@dataclass(frozen=True, kw_only=True)
class RowError:
    """What is wrong in one cell, and how to mend it; rows count from 1 as a spreadsheet does."""

    row_number: int
    column: str
    message: str
    mend: str


@dataclass(frozen=True, kw_only=True)
class PlaceRow:
    """One place as it was read; longitude and latitude in degrees, WGS 84."""

    row_number: int
    name: str
    kind: str
    organisation: str
    address: str
    district: str
    longitude: float
    latitude: float
    access_notes: str
    contact_phone: str
    starts_on: date | None
    extra: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class KnownPlace:
    """A place the community already has."""

    name: str
    address: str
    longitude: float
    latitude: float


@dataclass(frozen=True, kw_only=True)
class ImportPreview:
    """What a spreadsheet would add: the sound rows, and all that stands in the way."""

    rows: tuple[PlaceRow, ...]
    errors: tuple[RowError, ...]
    warnings: tuple[RowError, ...]
    unknown_columns: tuple[str, ...]


def preview_places(
    cells: Sequence[Sequence[str]],
    *,
    box: Box,
    districts: Sequence[str] = (),
    known: Sequence[KnownPlace] = (),
) -> ImportPreview:
    """Return what the rows of a spreadsheet mean, with an error for each cell that cannot stand.

    The header is the first of the first rows that names columns known here; rows above it (a
    title, a date) and empty rows are passed over. Columns not known are kept in `extra`.
    """
    columns = find_columns(cells)
    if columns is None:
        return _refused(
            1, "No row of column names was found.", "Name the columns in the first row."
        )
    missing = [name for name in REQUIRED if not columns.has(name)]
    if missing:
        return _refused_for_columns(columns, missing)
    if len(cells) - columns.header_index - 1 > ROWS_MAX:
        return _refused(
            columns.header_index + 1,
            f"There are more than {ROWS_MAX} rows.",
            "Split the file and import its parts one after another.",
        )
    return _Sheet(columns, box, districts, known).read(cells)


def preview_to_data(preview: ImportPreview) -> dict[str, object]:
    """Return the preview as plain JSON data."""
    return {
        "rows": [_row_to_data(row) for row in preview.rows],
        "errors": [error_to_data(error) for error in preview.errors],
        "warnings": [error_to_data(warning) for warning in preview.warnings],
        "unknown_columns": list(preview.unknown_columns),
    }


def place_row_from_data(data: Mapping[str, Any]) -> PlaceRow:
    """Return the row that `preview_to_data` wrote."""
    starts_on = data["starts_on"]
    return PlaceRow(**{**data, "starts_on": date.fromisoformat(starts_on) if starts_on else None})


def _row_to_data(row: PlaceRow) -> dict[str, object]:
    starts_on = row.starts_on.isoformat() if row.starts_on else None
    return {**asdict(row), "extra": dict(row.extra), "starts_on": starts_on}


def error_to_data(error: RowError) -> dict[str, object]:
    """Return what is wrong in a cell as plain JSON data."""
    return {
        "row": error.row_number,
        "column": error.column,
        "detail": error.message,
        "mend": error.mend,
    }


def _refused(row_number: int, message: str, mend: str, column: str = "") -> ImportPreview:
    error = RowError(row_number=row_number, column=column, message=message, mend=mend)
    return ImportPreview(rows=(), errors=(error,), warnings=(), unknown_columns=())


def _refused_for_columns(columns: Columns, missing: Sequence[str]) -> ImportPreview:
    errors = tuple(
        RowError(
            row_number=columns.header_index + 1,
            column=name,
            message=f"There is no column for the {name}.",
            mend=f'Add a column named "{name}".',
        )
        for name in missing
    )
    return ImportPreview(
        rows=(), errors=errors, warnings=(), unknown_columns=tuple(columns.unknown.values())
    )


class _Sheet:
    """Reads one sheet row by row, and keeps what was read to find duplicates."""

    def __init__(
        self, columns: Columns, box: Box, districts: Sequence[str], known: Sequence[KnownPlace]
    ) -> None:
        self.columns = columns
        self.box = box
        self.districts = {folded(name): name for name in districts}
        self.errors: list[RowError] = []
        self.warnings: list[RowError] = []
        self.rows: list[PlaceRow] = []
        self.seen = Seen()
        for place in known:
            self.seen.remember(_sighting(place, "a place already here"))

    def read(self, cells: Sequence[Sequence[str]]) -> ImportPreview:
        """Read every row below the header."""
        header_number = self.columns.header_index + 1
        for name in self.columns.doubled:
            self._warn(header_number, name, "The column is there twice.", "The first one is used.")
        for number, row in enumerate(cells[header_number:], start=header_number + 1):
            if any(cell.strip() for cell in row):
                self._read_row(number, row)
        if not self.rows and not self.errors:
            self._fail(header_number, "", "There is no row below the names.", "Add the places.")
        return ImportPreview(
            rows=tuple(self.rows),
            errors=tuple(self.errors),
            warnings=tuple(self.warnings),
            unknown_columns=tuple(self.columns.unknown.values()),
        )

    def _read_row(self, number: int, cells: Sequence[str]) -> None:
        reader = CellReader(self.columns.named(cells), box=self.box, districts=self.districts)
        name, address = reader.text("name"), reader.text("address")
        position = reader.position()
        row = PlaceRow(
            row_number=number,
            name=name,
            kind=reader.kind(),
            organisation=reader.text("organisation") or name,
            address=address,
            district=reader.district(),
            latitude=position[0],
            longitude=position[1],
            access_notes=reader.text("access_notes"),
            contact_phone=reader.text("contact_phone"),
            starts_on=reader.day("starts_on"),
            extra=self.columns.others(cells),
        )
        for column, message, mend in reader.warnings:
            self._warn(number, column, message, mend)
        for column, message, mend in reader.errors:
            self._fail(number, column, message, mend)
        if not reader.errors:
            self._keep_unless_double(row)

    def _keep_unless_double(self, row: PlaceRow) -> None:
        sighting = _sighting(row, f"row {row.row_number}")
        same = self.seen.same_as(sighting)
        if same:
            mend = "Remove the row, or give it a name and address of its own."
            message = f"This is the same place as {same.where}."
            self._fail(row.row_number, "name", message, mend)
            return
        neighbour = self.seen.neighbour_of(sighting)
        if neighbour:
            message = f"It is less than {SAME_SPOT_M} m from {neighbour.where}."
            self._warn(row.row_number, "position", message, "Check that these are two places.")
        self.rows.append(row)
        self.seen.remember(sighting)

    def _fail(self, number: int, column: str, message: str, mend: str) -> None:
        self.errors.append(RowError(row_number=number, column=column, message=message, mend=mend))

    def _warn(self, number: int, column: str, message: str, mend: str) -> None:
        self.warnings.append(RowError(row_number=number, column=column, message=message, mend=mend))


def _sighting(place: PlaceRow | KnownPlace, where: str) -> Sighting:
    spot = Point(longitude=place.longitude, latitude=place.latitude)
    return Sighting(name=place.name, address=place.address, spot=spot, where=where)
