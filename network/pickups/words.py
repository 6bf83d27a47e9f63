"""Words for a plan's days, times, reasons and broken rules, as a maker reads them."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from network.pickups.core.check import Violation, ViolationCode
from network.units import G_PER_KG, ML_PER_L

S_PER_MINUTE = 60

# What only a fault in our own sums could break.
_SUMS = "The plan's own sums do not add up: ask for a new proposal."

VIOLATION_TEXT: Mapping[ViolationCode, str] = {
    ViolationCode.NO_STOP: "The route has no stop.",
    ViolationCode.VISITED_TWICE: "{place} is visited more than once.",
    ViolationCode.CLOSED_THAT_DAY: "{place} is shut on that day.",
    ViolationCode.DAY_RULED_OUT: "{place} is not to be visited on that day.",
    ViolationCode.VAN_NOT_ALLOWED: "That van may not come to {place}.",
    ViolationCode.OUTSIDE_WINDOWS: "{place} would be visited when nobody can come.",
    ViolationCode.LEAVES_BEFORE_SHIFT: "The van would leave {excess} before its shift.",
    ViolationCode.HOME_AFTER_SHIFT: "The van would be home {excess} after its shift.",
    ViolationCode.BREAK_TOO_LATE: "The driver would be {excess} too long without a break.",
    ViolationCode.DRIVES_TOO_LONG: "The driver would drive {excess} longer than allowed.",
    ViolationCode.WORKS_TOO_LONG: "The driver would be out {excess} longer than allowed.",
    ViolationCode.TOO_HEAVY: "After {place} the van carries {excess} more than it may.",
    ViolationCode.TOO_BULKY: "After {place} the van holds {excess} more than it has room for.",
    ViolationCode.STREAM_TOO_BULKY: "After {place} a compartment is overfull by {excess}.",
    ViolationCode.STREAMS_MIXED: "At {place} streams are loaded together that must not mix.",
    ViolationCode.TOO_MANY_UNLOADINGS: "The van unloads too often in one shift.",
    ViolationCode.NO_ROAD: "No way to {place} is known.",
}


def day_text(day: date) -> str:
    """Return a day as it is said: `Tuesday 3 November 2026`."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def clock_text(moment: datetime, zone: str) -> str:
    """Return a moment by the community's clock: `09:05`."""
    return f"{moment.astimezone(ZoneInfo(zone)):%H:%M}"


def violation_text(violation: Violation, *, place: str) -> str:
    """Return a broken rule as a sentence, with by how much it is broken."""
    text = VIOLATION_TEXT.get(violation.code, _SUMS)
    return text.format(place=place or "the last stop", excess=_excess_text(violation.params))


def _excess_text(params: Mapping[str, int | str | Decimal]) -> str:
    for name, value in params.items():
        if not isinstance(value, int):
            continue
        if name.endswith("_s"):
            return f"{-(-value // S_PER_MINUTE)} min"
        if name.endswith("_g"):
            return f"{Decimal(value) / G_PER_KG:.1f} kg"
        if name.endswith("_ml"):
            return f"{Decimal(value) / ML_PER_L:.1f} l"
    return ""
