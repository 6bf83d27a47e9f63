"""A year's diverted mass as open data: by quarter, district and stream, small places protected.

Each quarter is a table of its own, and no sum over quarters is given, so that nothing follows from
comparing two tables.
"""

import csv
import io
import json
import zipfile
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from network.errors import InvalidInput
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.reports.core.disclosure import LARGEST_SHARE_MAX, PLACES_MIN, published
from network.reports.core.method import DIVERTED
from network.reports.queries import YEARS, Named, Selection, diverted
from network.units import G_PER_KG

LICENCES = {
    "CC0-1.0": "https://creativecommons.org/publicdomain/zero/1.0/",
    "CC-BY-4.0": "https://creativecommons.org/licenses/by/4.0/",
}
NO_DISTRICT = "(no district)"
ALL = "(all)"
_FIELDS = (
    ("quarter", "string", "The quarter of a year, by the community's calendar.", True),
    ("district", "string", f"A district, or {ALL} for the sum over districts.", True),
    ("stream", "string", f"What was set aside, or {ALL} for the sum over streams.", True),
    ("diverted_kg", "number", "Mass diverted in kg; empty where it is withheld.", False),
    ("withheld", "boolean", "Whether the sum is withheld to protect small places.", True),
)


@dataclass(frozen=True, kw_only=True)
class OpenRow:
    """One sum of a quarter, in g; None where it is withheld."""

    quarter: str
    district: str
    stream: str
    diverted_g: int | None


def open_rows(actor: Actor, *, community: Community, year: int, today: date) -> Sequence[OpenRow]:
    """Return what may be published of the quarters of a year that are over; raises NotAllowed.

    Raises InvalidInput for a year of which no quarter is over.
    """
    actor.require(ORGANISER)
    quarters = list(_quarters(year, today)) if year in YEARS else []
    if not quarters:
        detail = "No quarter of that year is over."
        raise InvalidInput.of("year", detail, "Take an earlier year.")
    return [row for first, last in quarters for row in _rows(actor, community, first, last)]


def _quarters(year: int, today: date) -> Iterator[tuple[date, date]]:
    for first_month in (1, 4, 7, 10):
        first = date(year, first_month, 1)
        last = (first + timedelta(days=93)).replace(day=1) - timedelta(days=1)
        if last < today:
            yield first, last


def _rows(actor: Actor, community: Community, first: date, last: date) -> Iterator[OpenRow]:
    name = f"{first.year}-Q{(first.month + 2) // 3}"
    asked = Selection(by=("district", "stream", "place"), first_day=first, last_day=last)
    cells: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for row in diverted(actor, community=community, selection=asked).rows:
        district, stream, place = (row.group[part] for part in asked.by)
        cells[_name(district), _name(stream)][str(place)] += row.masses.diverted_g
    sums_g = published(cells)
    for district, stream in sorted(sums_g, key=lambda key: tuple(part or "" for part in key)):
        yield OpenRow(
            quarter=name,
            district=district or ALL,
            stream=stream or ALL,
            diverted_g=sums_g[district, stream],
        )


def _name(value: str | Named | None) -> str:
    return value.name if isinstance(value, Named) else NO_DISTRICT


def open_data_zip(
    rows: Sequence[OpenRow], *, community: Community, year: int, licence: str, made_on: date
) -> bytes:
    """Return the rows as a Data Package (Frictionless, version 1): its description, CSV and JSON.

    Source: specs.frictionlessdata.io, Data Package and Table Schema.
    """
    package = _description(community, year=year, licence=licence, made_on=made_on)
    plain = [_plain(row) for row in rows]
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("datapackage.json", json.dumps(package, indent=2, ensure_ascii=False))
        archive.writestr("diverted.csv", _csv(plain))
        archive.writestr("diverted.json", json.dumps(plain, indent=1, ensure_ascii=False))
    return file.getvalue()


def _plain(row: OpenRow) -> dict[str, Any]:
    mass_g = row.diverted_g
    return {
        "quarter": row.quarter,
        "district": row.district,
        "stream": row.stream,
        "diverted_kg": None if mass_g is None else mass_g / G_PER_KG,
        "withheld": mass_g is None,
    }


def _csv(rows: Sequence[dict[str, Any]]) -> str:
    text = io.StringIO(newline="")
    table = csv.writer(text)
    table.writerow([name for name, *_ in _FIELDS])
    for row in rows:
        mass_kg = row["diverted_kg"]
        shown = "" if mass_kg is None else f"{mass_kg:.3f}"
        words = (row["quarter"], row["district"], row["stream"])
        table.writerow([*words, shown, "true" if row["withheld"] else "false"])
    return text.getvalue()


def _description(community: Community, *, year: int, licence: str, made_on: date) -> dict[str, Any]:
    fields = [
        {"name": name, "type": kind, "description": about, "constraints": {"required": needed}}
        for name, kind, about, needed in _FIELDS
    ]
    schema = {
        "fields": fields,
        "primaryKey": ["quarter", "district", "stream"],
        "missingValues": [""],
    }
    return {
        "profile": "data-package",
        "name": f"{community.slug}-diverted-{year}",
        "title": f"Plastic diverted from disposal, {community.name}, {year}",
        "description": _about(),
        "created": f"{made_on:%Y-%m-%d}T00:00:00Z",
        "licenses": [{"name": licence, "path": LICENCES[licence]}],
        "sources": [{"title": source} for source in DIVERTED.sources],
        "resources": [
            {
                "name": f"diverted-{kind}",
                "path": f"diverted.{kind}",
                "profile": "tabular-data-resource",
                "format": kind,
                "mediatype": media_type,
                "encoding": "utf-8",
                "schema": schema,
            }
            for kind, media_type in (("csv", "text/csv"), ("json", "application/json"))
        ],
    }


def _about() -> str:
    return (
        f"{DIVERTED.statement} Method {DIVERTED.code}, version {DIVERTED.version}."
        f" A sum of fewer than {PLACES_MIN} places, or of which one place brought more than"
        f" {LARGEST_SHARE_MAX:.0%}, is withheld, and so are others by which it could be worked out."
        " Sums over quarters are not given; do not join these tables with others of the same"
        " community that are finer."
    )
