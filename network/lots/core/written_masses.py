"""Masses as people write them: `12,5`, `1.234,5 kg`, `27 lb`, `0.3 t`."""

import re
from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal

# One avoirdupois pound is 0.45359237 kg exactly (international yard and pound agreement, 1959).
G_PER: Mapping[str, Decimal] = {
    "g": Decimal(1),
    "kg": Decimal(1000),
    "t": Decimal(1_000_000),
    "lb": Decimal("453.59237"),
}
_NAMES: Mapping[str, tuple[str, ...]] = {
    "g": ("g", "gr", "gram", "grams", "gramme", "grammes", "gramm"),
    "kg": ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramm"),
    "t": ("t", "to", "tonne", "tonnes", "tonnen", "ton"),
    "lb": ("lb", "lbs", "pound", "pounds", "pfund"),
}
_UNIT_OF = {name: unit for unit, names in _NAMES.items() for name in names}
_WRITTEN = re.compile(r"([0-9][0-9.,' \u00a0\u202f]*)\s*([a-zA-Z]*)\.?")
_GROUPED = re.compile(r"\d{1,3}(?:[.,' \u00a0\u202f]\d{3})+")
POINT, COMMA = ".", ","


class UnreadableMassError(ValueError):
    """What was written is not a mass."""


def parse_mass_g(text: str, *, unit: str, decimal: str) -> int:
    """Return the mass that a text means, in whole grams, half to the even one.

    `unit` is that of a number without one, `decimal` the sign before a fraction; the other one
    groups thousands. Raises UnreadableMassError.
    """
    match = _WRITTEN.fullmatch(text.strip())
    if match is None:
        raise UnreadableMassError("This is not a mass.")
    word = match[2].lower()
    if word and word not in _UNIT_OF:
        raise UnreadableMassError(f"{match[2]} is not a unit that is known here.")
    number = _number(match[1].strip(), decimal)
    mass_g = number * G_PER[_UNIT_OF[word] if word else unit]
    return int(mass_g.quantize(Decimal(1), rounding=ROUND_HALF_EVEN))


def _number(written: str, decimal: str) -> Decimal:
    whole, sign, fraction = written.partition(decimal)
    if not whole.isdigit() and not _GROUPED.fullmatch(whole):
        raise UnreadableMassError("This is not a number.")
    if sign and not fraction.isdigit():
        raise UnreadableMassError("This is not a number.")
    digits = re.sub(r"\D", "", whole)
    return Decimal(f"{digits}.{fraction}" if fraction else digits)


def likely_decimal(texts: list[str]) -> str:
    """Return the sign that stands before fractions in most of these; a point where none does.

    A sign with three digits behind it groups as often as it divides, and says nothing.
    """
    votes = {POINT: 0, COMMA: 0}
    for text in texts:
        found = re.search(r"([.,])(\d+)\D*$", text.strip())
        if found and len(found[2]) != len("000"):
            votes[found[1]] += 1
    return COMMA if votes[COMMA] > votes[POINT] else POINT
