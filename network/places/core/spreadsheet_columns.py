"""Which column of a spreadsheet means what, matched leniently by its name."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

REQUIRED = ("name", "address", "position")
# A title, a date and a note may stand above the column names.
HEADER_ROWS_MAX = 10
COLUMNS_KNOWN_MIN = 2

_SYNONYMS: Mapping[str, tuple[str, ...]] = {
    "name": (
        "name",
        "place",
        "place name",
        "name of place",
        "site",
        "site name",
        "school",
        "school name",
        "venue",
        "business",
        "business name",
        "collection point",
    ),
    "kind": ("kind", "kind of place", "type", "type of place", "place type", "category", "sector"),
    "organisation": (
        "organisation",
        "organization",
        "organisation name",
        "organization name",
        "org",
        "company",
        "owner",
        "firm",
    ),
    "address": (
        "address",
        "full address",
        "postal address",
        "street address",
        "street",
        "addr",
        "address 1",
        "address line 1",
        "location",
        "where",
    ),
    "district": ("district", "area", "village", "town", "ward", "neighbourhood", "neighborhood"),
    "latitude": ("latitude", "lat", "y", "lat deg", "gps lat", "northing degrees"),
    "longitude": ("longitude", "lon", "long", "lng", "x", "lon deg", "gps lon", "gps long"),
    "coordinates": (
        "coordinates",
        "coordinate",
        "coords",
        "co ordinates",
        "lat long",
        "lat lon",
        "lat lng",
        "latlong",
        "latlon",
        "latitude longitude",
        "gps",
        "gps coordinates",
        "position",
        "map",
        "map pin",
    ),
    "contact_phone": (
        "phone",
        "contact phone",
        "telephone",
        "tel",
        "tel no",
        "phone number",
        "mobile",
        "phone no",
    ),
    "access_notes": (
        "access",
        "access notes",
        "notes",
        "note",
        "comments",
        "comment",
        "how to get in",
        "remarks",
    ),
    "starts_on": (
        "starts on",
        "start",
        "start date",
        "starting",
        "from",
        "since",
        "first day",
        "date joined",
        "joined",
        "date",
    ),
}
_MEANING = {synonym: column for column, synonyms in _SYNONYMS.items() for synonym in synonyms}


def folded(text: str) -> str:
    """Return text without case, accents, punctuation or doubled spaces, to compare by."""
    plain = unicodedata.normalize("NFKD", text)
    letters = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return " ".join(re.findall(r"[^\W_]+", letters.casefold()))


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Where the known columns are, and the names of the others, by index."""

    header_index: int
    known: Mapping[str, int]
    unknown: Mapping[int, str]
    doubled: tuple[str, ...]

    def has(self, name: str) -> bool:
        """Return whether a column is there; a position is one column or two."""
        if name == "position":
            return "coordinates" in self.known or {"latitude", "longitude"} <= set(self.known)
        return name in self.known

    def named(self, cells: Sequence[str]) -> dict[str, str]:
        """Return the cells of a row by the known name of their column, without outer spaces."""
        return {
            name: " ".join(cells[index].split()) if index < len(cells) else ""
            for name, index in self.known.items()
        }

    def others(self, cells: Sequence[str]) -> dict[str, str]:
        """Return the cells of the other columns, those that are not empty."""
        return {
            name: cells[index].strip()
            for index, name in self.unknown.items()
            if index < len(cells) and cells[index].strip()
        }


def find_columns(cells: Sequence[Sequence[str]]) -> Columns | None:
    """Return the columns after the first row that names at least two of those known here."""
    for index, row in enumerate(cells[:HEADER_ROWS_MAX]):
        columns = _columns_of(index, row)
        if len(columns.known) >= COLUMNS_KNOWN_MIN:
            return columns
    return None


def _columns_of(header_index: int, row: Sequence[str]) -> Columns:
    known: dict[str, int] = {}
    unknown: dict[int, str] = {}
    doubled = []
    for index, cell in enumerate(row):
        meaning = _meaning(cell)
        if meaning and meaning not in known:
            known[meaning] = index
        elif cell.strip():
            unknown[index] = cell.strip()
            if meaning:
                doubled.append(cell.strip())
    return Columns(header_index=header_index, known=known, unknown=unknown, doubled=tuple(doubled))


def _meaning(cell: str) -> str | None:
    """Return the column that a name means; what stands in brackets is also tried without."""
    return _MEANING.get(folded(cell)) or _MEANING.get(folded(re.sub(r"\(.*?\)", "", cell)))
