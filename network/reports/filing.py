"""The report of diverted mass on paper: what an organiser hands to a council to be filed."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from network.lots.models import Seal
from network.lots.queries.seals import seals_seen_by
from network.people.core.actor import Actor
from network.people.models import Community
from network.places.models import Place
from network.reports.balances import balance
from network.reports.core.filing import (
    PLACES_MIN,
    Group,
    longest,
    months_between,
    protect,
    stated_kg,
    ticks_g,
)
from network.reports.paper import pdf
from network.reports.queries import Masses, Report, Selection, diverted, places_by
from network.units import G_PER_KG, kg_text

ROWS_MAX = 12
SEALS_MAX = 3
# A longer time is drawn by years.
MONTHS_MAX = 24
_NO_DISTRICT = "(no district)"
_PERCENT = 100
_BARS = {
    "collected": "Collected",
    "on_the_way": "On the way",
    "store": "Store",
    "prepared": "Washed, sorted, shredded",
    "making": "Batches and offcuts",
    "products": "Products",
    "earlier": "Worked before the ledger began",
    "passed_on": "Passed on",
    "returned": "Given back",
    "residue": "Residue",
    "loss": "Lost",
}


@dataclass(frozen=True, kw_only=True)
class _Asked:
    """Who asks for which period of which community."""

    actor: Actor
    community: Community
    period: Selection

    def by(self, dimension: str) -> Report:
        selection = replace(self.period, by=(dimension,))
        return diverted(self.actor, community=self.community, selection=selection)


def diverted_pdf(
    actor: Actor, *, community: Community, period: Selection, made_at: datetime
) -> bytes:
    """Return the report of a period as four A4 pages; only the days of `period` count."""
    asked = _Asked(
        actor=actor,
        community=community,
        period=Selection(first_day=period.first_day, last_day=period.last_day),
    )
    report = asked.by("month")
    made = made_at.astimezone(ZoneInfo(community.timezone))
    return pdf(
        {
            "community": community.name,
            "period": _period_text(asked.period),
            "made_at": f"{made:%-d %B %Y, %H:%M} ({community.timezone})",
            "closed": _closed_text(asked),
            **_figures(report),
            "balance": _balance(asked),
            "months": _months(report, made),
            "streams": _groups(asked, "stream"),
            "kinds": _groups(asked, "kind"),
            "districts": _groups(asked, "district"),
            "places_min": PLACES_MIN,
            "seals": _seals(asked),
        }
    )


def _balance(asked: _Asked) -> dict[str, object]:
    """Return the flow as a picture, and what it adds up to."""
    found = balance(asked.actor, community=asked.community, selection=asked.period)
    names = ("collected", "opening", "gone", "closing", "difference")
    return {
        **{name: _kilograms(getattr(found.balance, f"{name}_g")) for name in names},
        "points": [[one.method.name, _kilograms(one.mass_g)] for one in found.points],
        "layers": found.picture.layers,
        "bars": [
            {**vars(bar), "words": f"{_BARS[bar.name]}: {_kilograms(bar.mass_g)}"}
            for bar in found.picture.bars
        ],
        "bands": [vars(band) for band in found.picture.bands],
    }


def _figures(report: Report) -> dict[str, object]:
    total, method, uncertainty = report.total, report.method, report.uncertainty
    stated, expanded = stated_kg(total.diverted_g, uncertainty.expanded_g)
    return {
        "stated": stated,
        "expanded": expanded,
        "k": uncertainty.k,
        "exact": kg_text(total.diverted_g),
        "standard": kg_text(uncertainty.standard_g),
        "uncertainty_note": uncertainty.note,
        "method": {
            "name": f"{method.name} ({method.code}, version {method.version})",
            "point": method.calculation_point,
            "statement": method.statement,
            "sources": list(method.sources),
        },
        "total": _masses(total),
        "shares": {
            name: _share(getattr(total, f"{name}_g"), total.collected_g)
            for name in ("weighed", "estimated", "turned_away", "residue")
        },
        "pickups": total.pickups,
    }


def _masses(masses: Masses) -> dict[str, str]:
    names = ("collected", "on_the_way", "turned_away", "residue", "diverted", "late")
    parts = (*names, "weighed", "estimated")
    return {name: _kilograms(getattr(masses, f"{name}_g")) for name in parts}


def _share(part_g: int, whole_g: int) -> str:
    """Return a share in percent; none where nothing, or less, was collected."""
    return f"{_PERCENT * part_g / whole_g:.1f} %" if whole_g > 0 else "–"


def _kilograms(mass_g: int) -> str:
    return kg_text(mass_g).removesuffix(" kg")


def _period_text(period: Selection) -> str:
    if period.first_day is None and period.last_day is None:
        return "all that is in the ledger"
    first = f"{period.first_day:%-d %B %Y}" if period.first_day else "the beginning"
    last = f"{period.last_day:%-d %B %Y}" if period.last_day else "now"
    return f"{first} to {last}"


def _closed_text(asked: _Asked) -> str:
    last = seals_seen_by(asked.actor).order_by("number").last()
    if last is None:
        return "Not closed: what is written down later still changes these figures."
    if asked.period.last_day and asked.period.last_day <= last.last_day:
        return "Closed and sealed: what is written down later counts in a later period."
    return (
        f"Closed up to {last.last_day:%-d %B %Y} only: what is written down later still changes"
        " the figures after that day."
    )


def _months(report: Report, made: datetime) -> dict[str, Any]:
    """Return the rows of the chart and its table, months without any included."""
    found = {str(row.group["month"]): row.masses for row in report.rows}
    if not found:
        return {"rows": [], "unit": "month", "ticks": []}
    known = [datetime.strptime(month, "%Y-%m").replace(tzinfo=made.tzinfo) for month in found]
    first = report.selection.first_day or known[0].date()
    last = report.selection.last_day or known[-1].date()
    last = max(known[-1].date(), min(last, made.date()))
    names = months_between(min(first, known[0].date()), last)
    rows = {name: _bar(found.get(name)) for name in names}
    unit = "month"
    if len(names) > MONTHS_MAX:
        rows, unit = _by_year(rows), "year"
    ticks = ticks_g(row["diverted_g"] for row in rows.values())
    return {
        "unit": unit,
        "rows": [_bar_row(name, row) for name, row in rows.items()],
        "ticks": [{"g": tick, "kg": f"{tick / G_PER_KG:,.10g}"} for tick in ticks],
    }


def _bar(masses: Masses | None) -> dict[str, int]:
    names = ("collected_g", "turned_away_g", "residue_g", "diverted_g", "late_g")
    return {name: getattr(masses, name) if masses else 0 for name in names}


def _by_year(months: Mapping[str, Mapping[str, int]]) -> dict[str, dict[str, int]]:
    years: dict[str, dict[str, int]] = {}
    for month, sums in months.items():
        year = years.setdefault(month[:4], dict.fromkeys(sums, 0))
        for name, mass_g in sums.items():
            year[name] += mass_g
    return years


def _bar_row(name: str, sums: Mapping[str, int]) -> dict[str, object]:
    texts = {key.removesuffix("_g"): _kilograms(mass_g) for key, mass_g in sums.items()}
    return {"name": name, "diverted_g": sums["diverted_g"], **texts}


def _groups(asked: _Asked, dimension: str) -> list[dict[str, object]]:
    """Return the sums of each group, of which none tells what one or two places brought."""
    places = places_by(
        asked.actor, community=asked.community, selection=asked.period, dimension=dimension
    )
    groups = [
        Group(
            name=_name(row.group[dimension], dimension),
            collected_g=row.masses.collected_g,
            diverted_g=row.masses.diverted_g,
            places=places[row.group[dimension]],
        )
        for row in asked.by(dimension).rows
    ]
    return [
        {
            "name": group.name,
            "places": len(group.places),
            "collected": _kilograms(group.collected_g),
            "diverted": _kilograms(group.diverted_g),
        }
        for group in longest(protect(groups), rows_max=ROWS_MAX)
    ]


def _name(label: Any, dimension: str) -> str:
    if label is None:
        return _NO_DISTRICT
    return str(Place.Kind(label).label) if dimension == "kind" else str(label.name)


def _seals(asked: _Asked) -> list[dict[str, object]]:
    """Return the newest seals of the period; each hash covers those before."""
    seals = seals_seen_by(asked.actor)
    if asked.period.first_day:
        seals = seals.filter(last_day__gte=asked.period.first_day)
    if asked.period.last_day:
        seals = seals.exclude(first_day__gt=asked.period.last_day)
    newest = list(seals.order_by("-number")[:SEALS_MAX])
    return [_seal(seal) for seal in reversed(newest)]


def _seal(seal: Seal) -> dict[str, object]:
    first = f"{seal.first_day:%Y-%m-%d}" if seal.first_day else "the beginning"
    return {
        "number": seal.number,
        "days": f"{first} to {seal.last_day:%Y-%m-%d}",
        "lines": f"{seal.lines:,}",
        "late": f"{seal.late_lines:,}",
        "hash": seal.hash,
    }
