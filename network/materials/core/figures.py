"""A figure of the trade: never a bare number, always with its range and where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A value with its range, in `unit`; `verified` says that a source other than memory was read.

    Without a published range `low` and `high` are None: no range is not a range of nothing.
    Raises ValueError for half a range, a value outside of it, or no source.
    """

    value: Decimal
    low: Decimal | None = None
    high: Decimal | None = None
    unit: str
    source: str
    verified: bool
    note: str = ""

    def __post_init__(self) -> None:
        if (self.low is None) != (self.high is None):
            raise ValueError("a range has both ends or none")
        if self.low is not None and self.value < self.low:
            raise ValueError(f"{self.value} is below {self.low}, the low end of its range")
        if self.high is not None and self.value > self.high:
            raise ValueError(f"{self.value} is above {self.high}, the high end of its range")
        if not self.unit or not self.source:
            raise ValueError("a figure needs its unit and its source")


def _decimal_or_none(text: object) -> Decimal | None:
    return None if text is None else Decimal(str(text))


def figure_from_data(data: Mapping[str, object]) -> Figure:
    """Return a figure from its plain data, whose numbers are decimal strings."""
    verified = data["verified"]
    if not isinstance(verified, bool):
        raise TypeError("verified is true or false")
    return Figure(
        value=Decimal(str(data["value"])),
        low=_decimal_or_none(data["low"]),
        high=_decimal_or_none(data["high"]),
        unit=str(data["unit"]),
        source=str(data["source"]),
        verified=verified,
        note=str(data.get("note", "")),
    )
