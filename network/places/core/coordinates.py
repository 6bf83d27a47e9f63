"""Coordinates as people write them: decimal points and commas, degrees and minutes, swapped."""

import re
from dataclasses import dataclass

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_ALLOWED = re.compile(r"[\s\d.,+\-°º'’′\"”″:NSEWnsew]+")
_SIXTY = 60.0
_PARTS_MAX = 3
# No written angle is longer; a longer run of digits is something else.
_LENGTH_MAX = 40
LATITUDE_MAX = 90
LONGITUDE_MAX = 180


@dataclass(frozen=True, kw_only=True)
class Box:
    """The part of the map a community is in, in degrees; west > east crosses the date line."""

    south: float
    west: float
    north: float
    east: float

    def __post_init__(self) -> None:
        if not -LATITUDE_MAX <= self.south <= self.north <= LATITUDE_MAX:
            raise ValueError("a box has its south below its north, within 90 degrees")
        if not (abs(self.west) <= LONGITUDE_MAX and abs(self.east) <= LONGITUDE_MAX):
            raise ValueError("longitudes lie within 180 degrees")

    def contains(self, latitude: float, longitude: float) -> bool:
        """Return whether a point lies in the box or on its edge."""
        if not self.south <= latitude <= self.north:
            return False
        if self.west <= self.east:
            return self.west <= longitude <= self.east
        return longitude >= self.west or longitude <= self.east


def parse_degrees(text: str) -> float | None:
    """Return degrees from one written angle, or None when it is not one.

    Reads `50.123`, `50,123`, `-3.5`, `50°07'23"N`, `N 50 7.4` and `3 30 0 W`; south and west are
    negative. `O` is not read: it is east in some languages and west in others.
    """
    cleaned = text.strip().replace("−", "-")
    if len(cleaned) > _LENGTH_MAX or not _ALLOWED.fullmatch(cleaned):
        return None
    letters = re.findall(r"[A-Za-z]", cleaned)
    signs = re.findall(r"[+\-]", cleaned)
    numbers = [float(part.replace(",", ".")) for part in _NUMBER.findall(cleaned)]
    if len(letters) > 1 or len(signs) > 1 or (signs and letters):
        return None
    if signs and not cleaned.startswith(signs[0]):
        return None
    size = _from_parts(numbers)
    if size is None:
        return None
    is_negative = "-" in signs or any(letter.upper() in "SW" for letter in letters)
    return -size if is_negative else size


def _from_parts(parts: list[float]) -> float | None:
    """Return degrees from degrees, minutes and seconds; only the last may have a fraction."""
    if not 1 <= len(parts) <= _PARTS_MAX:
        return None
    if any(part != int(part) for part in parts[:-1]) or any(part >= _SIXTY for part in parts[1:]):
        return None
    return sum(part / _SIXTY**place for place, part in enumerate(parts))


# Where the two halves of a pair part, the surest sign first: a semicolon, slash or bar; a comma
# with a space; after N or S; before E or W; a comma; a space.
_BETWEEN = (
    re.compile(r"\s*[;/|]\s*"),
    re.compile(r",\s+"),
    re.compile(r"(?<=[NSns])[,\s]*(?=\d)"),
    re.compile(r"[,\s]+(?=[EWew])"),
    re.compile(r","),
    re.compile(r"\s+"),
)


def split_pair(text: str) -> tuple[str, str] | None:
    """Return the two halves of a cell that holds two angles, or None when it does not."""
    cleaned = text.strip().strip("()[]")
    for between in _BETWEEN:
        match between.split(cleaned):
            case [first, second] if _are_degrees(first, second):
                return first, second
    return None


def _are_degrees(first: str, second: str) -> bool:
    return parse_degrees(first) is not None and parse_degrees(second) is not None
