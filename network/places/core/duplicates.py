"""Places written down twice: by the same name and address, or at the same spot."""

from dataclasses import dataclass
from itertools import islice

from network.geo import Point, distance_m
from network.places.core.spreadsheet_columns import folded

# Two places nearer than this are one gate, or one place typed twice.
SAME_SPOT_M = 25
# About 33 m north to south: neighbours within SAME_SPOT_M lie in the same or the next cell.
_CELL_DEGREES = 0.0003
# A degree of longitude shrinks towards the poles; looking three cells wide serves up to 70 degrees
# of latitude, where people are.
_AROUND = [(dy, dx) for dy in (-1, 0, 1) for dx in range(-3, 4)]
# Where many share a spot, as when a column was filled down, comparing with a few is enough.
_COMPARED_MAX = 5


@dataclass(frozen=True, kw_only=True)
class Sighting:
    """A place as it was written down, and where: `row 7`."""

    name: str
    address: str
    spot: Point
    where: str


class Seen:
    """The places seen so far, found again by name and address or by where they are."""

    def __init__(self) -> None:
        self._by_address: dict[tuple[str, str], Sighting] = {}
        self._by_cell: dict[tuple[int, int], dict[str, Sighting]] = {}

    def remember(self, place: Sighting) -> None:
        """Keep a place; of those alike, the first stays."""
        self._by_address.setdefault(_address_key(place), place)
        self._by_cell.setdefault(_cell(place.spot), {}).setdefault(folded(place.name), place)

    def same_as(self, place: Sighting) -> Sighting | None:
        """Return a place of the same name that has the same address or the same spot."""
        by_address = self._by_address.get(_address_key(place))
        if by_address:
            return by_address
        name = folded(place.name)
        named = (cell[name] for cell in self._cells_around(place.spot) if name in cell)
        return next((other for other in named if _is_near(place, other)), None)

    def neighbour_of(self, place: Sighting) -> Sighting | None:
        """Return a place, of whatever name, at the same spot."""
        around = (
            other
            for cell in self._cells_around(place.spot)
            for other in islice(cell.values(), _COMPARED_MAX)
        )
        return next((other for other in around if _is_near(place, other)), None)

    def _cells_around(self, spot: Point) -> list[dict[str, Sighting]]:
        y, x = _cell(spot)
        cells = (self._by_cell.get((y + dy, x + dx)) for dy, dx in _AROUND)
        return [cell for cell in cells if cell]


def _address_key(place: Sighting) -> tuple[str, str]:
    return folded(place.name), folded(place.address)


def _is_near(one: Sighting, other: Sighting) -> bool:
    return distance_m(one.spot, other.spot) < SAME_SPOT_M


def _cell(spot: Point) -> tuple[int, int]:
    return round(spot.latitude / _CELL_DEGREES), round(spot.longitude / _CELL_DEGREES)
