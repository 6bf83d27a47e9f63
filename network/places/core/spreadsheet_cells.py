"""The cells of one row of a spreadsheet of places, each read to its type or to an error."""

import difflib
from collections.abc import Mapping
from datetime import date

from network.places.core.coordinates import (
    LATITUDE_MAX,
    LONGITUDE_MAX,
    Box,
    parse_degrees,
    split_pair,
)
from network.places.core.spreadsheet_columns import folded
from network.places.core.written_dates import UnreadableDayError, parse_day

LENGTHS_MAX: Mapping[str, int] = {
    "name": 160,
    "organisation": 160,
    "address": 240,
    "access_notes": 2000,
    "contact_phone": 40,
}
# No kind is longer; comparing longer texts takes long and finds nothing.
KIND_LENGTH_MAX = 40
REQUIRED_TEXTS = ("name", "address")
NOWHERE = (0.0, 0.0)

_KINDS: Mapping[str, tuple[str, ...]] = {
    "school": (
        "school",
        "schools",
        "sch",
        "primary",
        "primary school",
        "infant school",
        "junior school",
        "secondary",
        "secondary school",
        "high school",
        "academy",
        "college",
        "nursery",
        "preschool",
        "kindergarten",
        "education",
    ),
    "cafe": (
        "cafe",
        "cafes",
        "coffee",
        "coffee shop",
        "coffee bar",
        "coffeehouse",
        "tea room",
        "tearoom",
        "espresso bar",
    ),
    "salon": (
        "salon",
        "salons",
        "hair",
        "hair salon",
        "hairdresser",
        "hairdressers",
        "hairdresser s",
        "barber",
        "barbers",
        "barber s",
        "beauty salon",
        "beauty",
        "nail bar",
    ),
    "cleaner": (
        "cleaner",
        "cleaners",
        "cleaning",
        "cleaning firm",
        "cleaning company",
        "cleaning service",
        "cleaning services",
        "commercial cleaner",
        "janitorial",
    ),
    "workshop": ("workshop", "maker", "maker workshop"),
    "other": ("other", "misc", "miscellaneous", "shop", "office", "club", "library", "church"),
}
_KIND_OF = {synonym: kind for kind, synonyms in _KINDS.items() for synonym in synonyms}

Complaint = tuple[str, str, str]


class CellReader:
    """Reads the cells of one row; complaints are (column, message, mend)."""

    def __init__(self, cells: Mapping[str, str], *, box: Box, districts: Mapping[str, str]) -> None:
        self._cells = cells
        self._box = box
        self._districts = districts
        self.errors: list[Complaint] = []
        self.warnings: list[Complaint] = []

    def text(self, column: str) -> str:
        """Return a text, which may be missing unless the column is required."""
        value = self._cells.get(column, "")
        length_max = LENGTHS_MAX[column]
        if not value and column in REQUIRED_TEXTS:
            self.errors.append((column, f"The {column} is missing.", "Fill it in."))
        elif len(value) > length_max:
            mend = f"Shorten it to {length_max} characters."
            self.errors.append((column, "It is too long.", mend))
        return value

    def kind(self) -> str:
        """Return the kind of place; with none given it is `other`, with a warning."""
        value = self._cells.get("kind", "")[:KIND_LENGTH_MAX]
        found = _KIND_OF.get(folded(value))
        if found:
            return found
        if not value:
            mend = 'It is taken as "other"; write one of: ' + ", ".join(_KINDS) + "."
            self.warnings.append(("kind", "The kind of place is missing.", mend))
        else:
            near = difflib.get_close_matches(folded(value), _KIND_OF, n=1, cutoff=0.8)
            words = [_KIND_OF[near[0]]] if near else list(_KINDS)
            mend = "Write " + ("one of: " if len(words) > 1 else "") + ", ".join(words) + "."
            self.errors.append(("kind", f'"{value}" is not a known kind of place.', mend))
        return "other"

    def district(self) -> str:
        """Return the district as the community spells it; unknown ones are an error."""
        value = self._cells.get("district", "")
        if not value or not self._districts:
            return value
        found = self._districts.get(folded(value))
        if found is None:
            names = ", ".join(self._districts.values())
            mend = f"Write one of: {names}; or leave it empty."
            self.errors.append(("district", f'"{value[:40]}" is not a district here.', mend))
        return found or ""

    def day(self, column: str) -> date | None:
        """Return a day, which may be missing."""
        value = self._cells.get(column, "")
        if not value:
            return None
        try:
            return parse_day(value)
        except UnreadableDayError as wrong:
            mend = "Write it as year-month-day, such as 2026-03-31, or day first: 31/03/2026."
            self.errors.append((column, str(wrong), mend))
            return None

    def position(self) -> tuple[float, float]:
        """Return latitude and longitude; swapped ones are set right, with a warning."""
        written = self._written_position()
        if written is None:
            return NOWHERE
        latitude, longitude = (parse_degrees(text) for text in written)
        if latitude is None or longitude is None:
            column, text = (
                ("latitude", written[0]) if latitude is None else ("longitude", written[1])
            )
            self.errors.append((column, f'"{text[:40]}" is not an angle.', _DEGREES_MEND))
            return NOWHERE
        return self._placed(latitude, longitude)

    def _written_position(self) -> tuple[str, str] | None:
        """Return the two texts from two columns, or from one cell that holds both."""
        latitude = self._cells.get("latitude", "")
        longitude = self._cells.get("longitude", "")
        if latitude and longitude:
            return latitude, longitude
        both = self._cells.get("coordinates", "") or latitude or longitude
        pair = split_pair(both)
        if pair is None and both:
            self.errors.append(("position", f'"{both[:40]}" is not a position.', _DEGREES_MEND))
        elif pair is None:
            mend = "Give its latitude and longitude; a map shows them when you press on the spot."
            self.errors.append(("position", "The position is missing.", mend))
        return pair

    def _placed(self, latitude: float, longitude: float) -> tuple[float, float]:
        if self._box.contains(latitude, longitude):
            return latitude, longitude
        if self._box.contains(longitude, latitude):
            message = "Latitude and longitude were swapped."
            self.warnings.append(("position", message, "They are read the other way round."))
            return longitude, latitude
        if abs(latitude) > LATITUDE_MAX or abs(longitude) > LONGITUDE_MAX:
            message = "There is no such point on the Earth."
        else:
            message = f"{latitude:.5f}, {longitude:.5f} is outside of this community's area."
        self.errors.append(("position", message, _DEGREES_MEND))
        return NOWHERE


_DEGREES_MEND = "Write degrees such as 50.12345 and -3.54321, latitude first; check their signs."
