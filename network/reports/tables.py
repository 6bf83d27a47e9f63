"""What every table that is taken along has in common: safe text, kilograms, pairs on a sheet."""

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

from network.units import G_PER_KG

# Spreadsheet programs run a text cell that begins so.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_G = Decimal("0.001")


def csv_of(rows: Iterable[Sequence[object]]) -> str:
    """Return rows as CSV (RFC 4180); a text that a spreadsheet would run gets an apostrophe."""
    text = io.StringIO(newline="")
    table = csv.writer(text)
    for row in rows:
        table.writerow([_guarded(cell) if isinstance(cell, str) else cell for cell in row])
    return text.getvalue()


def kilograms(mass_g: int) -> Decimal:
    """Return a mass in kg with all three places."""
    return (Decimal(mass_g) / G_PER_KG).quantize(_G)


def write_pairs(sheet: Any, pairs: Iterable[tuple[str, str]], bold: Any) -> None:
    """Write names and texts below each other on a sheet."""
    for index, (name, text) in enumerate(pairs):
        sheet.write_string(index, 0, name, bold)
        sheet.write_string(index, 1, text)
    sheet.set_column(0, 0, 22)
    sheet.set_column(1, 1, 110)


def _guarded(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text
