"""Who and what there is on Tamsin Isle, an invented island in open ocean.

All names are invented. The public holidays are borrowed from England, so that there are some.
"""

import json
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from pathlib import Path
from typing import Any

from network.places.services import SpanInput, WindowInput

SLUG = "tamsin-isle"
NAME = "Tamsin Isle"
TIMEZONE = "Europe/London"
COUNTRY, SUBDIVISION, CURRENCY = "GB", "ENG", "GBP"
LONGITUDE, LATITUDE = -31.40, 44.62
DISTRICTS = ("Port Sorrel", "Nether Quill", "Hollin Strand")
ROADS_SOURCE = "invented for Tamsin Isle"
COUNCIL = "Tamsin Isle Council"
YARD, BENCH = "Wendle Yard", "Hobbin & Tove"
SCALE = {"name": "Hanging scale", "max_g": 60_000, "interval_g": 20, "repeatability_g": 10}

_FILES = Path(__file__).parent / "isle"


@dataclass(frozen=True, kw_only=True)
class StreamWish:
    """A stream of one maker, with its rules as data and how heavy a litre of it is here."""

    maker: str
    name: str
    summary: str
    rules: dict[str, Any]
    grams_a_litre: int  # invented, near the middle of the reference data's range


def _rules(items: list[str], *, forming: str, states: dict[str, str], notes: str) -> dict[str, Any]:
    return {
        "schema_version": 1,
        "resins": ["PE-HD"],
        "items": items,
        "colours": "any",
        "forming": [forming],
        "states": states,
        "never": ["oil_or_chemical", "medical", "glass", "dangerous_resin"],
        "unmarked": "extra_work",
        "contamination_clean_max": "0.02",
        "contamination_extra_work_max": "0.10",
        "smallest_g": 1_000,
        "containers": "any",
        "notes": notes,
    }


STREAMS = (
    StreamWish(
        maker=YARD,
        name="Bottle caps",
        summary="Caps of drink bottles, any colour, rinsed and dry.",
        rules=_rules(
            ["bottle-cap", "sports-bottle-cap"],
            forming="injection",
            states={"rinsed": "must", "dry": "wanted"},
            notes="Only the caps. The bottles go into your usual recycling.",
        ),
        grams_a_litre=150,
    ),
    StreamWish(
        maker=YARD,
        name="Milk-bottle caps",
        summary="Caps of milk bottles, rinsed the same day.",
        rules=_rules(
            ["milk-bottle-cap"],
            forming="injection",
            states={"rinsed": "must", "dry": "wanted"},
            notes="Milk that dries on smells within a day. Rinse caps when you rinse the jugs.",
        ),
        grams_a_litre=140,
    ),
    StreamWish(
        maker=BENCH,
        name="Shampoo bottles",
        summary="Empty shampoo bottles, rinsed, pumps off.",
        rules=_rules(
            ["shampoo-bottle"],
            forming="blow",
            states={"rinsed": "must", "lid_off": "must", "label_off": "wanted"},
            notes="Pumps have a metal spring inside: keep them out.",
        ),
        grams_a_litre=24,
    ),
    StreamWish(
        maker=BENCH,
        name="Jerrycans",
        summary="Five-litre jerrycans of cleaning agents, rinsed three times.",
        rules=_rules(
            ["jerrycan"],
            forming="blow",
            states={"rinsed": "must", "lid_off": "wanted"},
            notes="Follow the label on rinsing. Keep out any can that held acid or bleach.",
        ),
        grams_a_litre=30,
    ),
)

_WEEK = range(5)
_HOURS: dict[str, list[tuple[range, str, str]]] = {
    "school": [(_WEEK, "08:30", "15:30")],
    "cafe": [(range(6), "07:30", "10:30"), (range(6), "14:00", "17:00")],
    "salon": [(range(1, 6), "09:00", "17:00")],
    "cleaner": [(_WEEK, "07:00", "16:00")],
    "other": [(_WEEK, "09:00", "17:00")],
    "workshop": [(range(6), "07:00", "19:00")],
}
_NOTES = {
    "school": "Go to reception first. The caretaker brings the bags to the side gate.",
    "cafe": "By the back door. Not between half past eleven and two.",
    "salon": "Ring the bell. The bin stands in the yard.",
    "cleaner": "Loading bay, bring gloves.",
    "other": "Ask at the front desk.",
    "workshop": "",
}

VANS = {
    YARD: {
        "name": "Blue van",
        "payload_g": 700_000,
        "volume_ml": 5_000_000,
        "cost_per_shift": Decimal("18.00"),
        "cost_per_km": Decimal("0.4500"),
        "cost_per_hour": Decimal("14.00"),
    },
    BENCH: {
        "name": "Old Tom",
        "payload_g": 550_000,
        "volume_ml": 3_000_000,
        "cost_per_shift": Decimal("12.00"),
        "cost_per_km": Decimal("0.5200"),
        "cost_per_hour": Decimal("13.00"),
    },
}


def read(name: str) -> Any:
    """Return what a file of the isle holds."""
    return json.loads((_FILES / name).read_text(encoding="utf-8"))


def windows_of(kind: str) -> list[WindowInput]:
    """Return the weekly times at which one can come to a place of a kind."""
    return [
        WindowInput(
            weekday=weekday, opens=time.fromisoformat(opens), closes=time.fromisoformat(closes)
        )
        for weekdays, opens, closes in _HOURS[kind]
        for weekday in weekdays
    ]


def access_notes_of(kind: str) -> str:
    """Return what a driver should know at a place of a kind."""
    return _NOTES[kind]


def school_closures(first_year: int, last_year: int) -> list[SpanInput]:
    """Return the isle's school holidays of these years."""
    spans = []
    for year in range(first_year, last_year + 1):
        spans += [
            _closure(date(year, 2, 16), date(year, 2, 20), "February week"),
            _closure(date(year, 4, 6), date(year, 4, 17), "Spring holiday"),
            _closure(date(year, 7, 22), date(year, 9, 2), "Summer holiday"),
            _closure(date(year, 10, 26), date(year, 10, 30), "October week"),
            _closure(date(year, 12, 21), date(year + 1, 1, 4), "Winter holiday"),
        ]
    return spans


def _closure(first_day: date, last_day: date, label: str) -> SpanInput:
    return SpanInput(kind="closure", first_day=first_day, last_day=last_day, label=label)
