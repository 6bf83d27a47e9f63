"""The rows of the benchmark's table."""

from dataclasses import dataclass
from decimal import Decimal

import pytest


@dataclass(frozen=True, kw_only=True)
class Row:
    """One instance's outcome; `own_share` is the part of the time that was not PyVRP's search."""

    name: str
    best_known: Decimal
    length: Decimal
    gap: Decimal
    total_s: float
    own_share: float

    def text(self) -> str:
        """The row in columns."""
        return (
            f"{self.name:42} {self.best_known:11} {self.length:11.1f} {self.gap * 100:7.2f}"
            f" {self.total_s:6.1f} {self.own_share * 100:6.1f}"
        )


ROWS = pytest.StashKey[list[Row]]()
