"""Diverted mass: a sum over the ledger's lines, by any of its dimensions."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Manager

from network.errors import InvalidInput
from network.lots.month_models import MASSES
from network.materials.models import Stream
from network.people.core.actor import MAKER, Actor
from network.people.models import Community, District
from network.places.models import Place
from network.reports.core.method import (
    DIVERTED,
    Method,
    SharedError,
    Uncertainty,
    uncertainty_of,
)
from network.reports.summing import (
    Asked,
    lines_of,
    parts_of,
    place_parts_of,
    standing_months,
)

DIMENSIONS = ("month", "stream", "kind", "district", "place")
_NOTHING = (0,) * len(MASSES)
YEARS = range(2000, 2101)
_FILTERS = {
    "stream_id": "stream_id",
    "kind": "place_kind",
    "district_id": "district_id",
    "place_id": "place_id",
}
_NAMED: Mapping[str, Manager[Any]] = {
    "stream": Stream.objects,
    "district": District.objects,
    "place": Place.objects,
}


@dataclass(frozen=True, kw_only=True)
class Selection:
    """What a report is about; None is 'all'. Days are the community's and both count."""

    by: tuple[str, ...] = ()
    first_day: date | None = None
    last_day: date | None = None
    stream_id: UUID | None = None
    kind: str | None = None
    district_id: UUID | None = None
    place_id: UUID | None = None

    def __post_init__(self) -> None:
        for field, day in (("from", self.first_day), ("to", self.last_day)):
            if day and day.year not in YEARS:
                mend = f"Send a day from {YEARS.start} to {YEARS.stop - 1}."
                raise InvalidInput.of(field, "There is nothing to report of that year.", mend)
        if self.first_day and self.last_day and self.first_day > self.last_day:
            raise InvalidInput.of("to", "The period ends before it begins.", "Send a later day.")


@dataclass(frozen=True, kw_only=True)
class Masses:
    """Sums in g. collected = on the way + turned away + residue + diverted = weighed + estimated.

    `late_g` is what of diverted was written down after its own period was closed. `pickups` counts
    the visits that brought anything: masses add up over rows, and visits do too, except by stream,
    where one visit can be in two rows.
    """

    collected_g: int
    on_the_way_g: int
    turned_away_g: int
    residue_g: int
    diverted_g: int
    late_g: int
    weighed_g: int
    estimated_g: int
    pickups: int


@dataclass(frozen=True, kw_only=True)
class Named:
    """A stream, district or place by its id and name."""

    id: UUID
    name: str


@dataclass(frozen=True, kw_only=True)
class Row:
    """The sums of one group; what it is told apart by is in the order asked for."""

    group: Mapping[str, str | Named | None]
    masses: Masses


@dataclass(frozen=True, kw_only=True)
class Report:
    """Diverted mass with its method and uncertainty."""

    community: Community
    method: Method
    selection: Selection
    rows: Sequence[Row]
    total: Masses
    uncertainty: Uncertainty


def diverted(actor: Actor, *, community: Community, selection: Selection) -> Report:
    """Return the diverted mass of the community, or of the makers that the actor works for."""
    whole = _asked(actor, community, selection, by=())
    return Report(
        community=community,
        method=DIVERTED,
        selection=selection,
        rows=_rows(_asked(actor, community, selection, by=selection.by)) if selection.by else [],
        total=_masses(whole.masses_g().get((), _NOTHING), whole.visits()[()]),
        uncertainty=uncertainty_of(
            SharedError(cause=cause, shared_mg=shared_mg, own_mg2=own_mg2)
            for cause, (shared_mg, own_mg2) in whole.errors().items()
        ),
    )


def places_by(
    actor: Actor, *, community: Community, selection: Selection, dimension: str
) -> dict[str | Named | None, frozenset[UUID]]:
    """Return the places that the lines of each group come from; for a dimension but the month."""
    asked = _asked(actor, community, selection, by=(dimension,), by_place=True)
    found = asked.places()
    labels = _labels(dimension, {value for (value,) in found})
    return {labels[value]: places for (value,), places in found.items()}


def _asked(
    actor: Actor,
    community: Community,
    selection: Selection,
    *,
    by: Sequence[str],
    by_place: bool = False,
) -> Asked:
    wanted: dict[str, object] = {
        name: value
        for field, name in _FILTERS.items()
        if (value := getattr(selection, field)) is not None
    }
    if not actor.is_organiser:
        wanted["maker_id__in"] = actor.held_for(MAKER)
    days = selection.first_day, selection.last_day
    if selection.place_id is not None:
        parts = lines_of(*days)
    elif by_place or "place" in by:
        parts = place_parts_of(*days, standing_months(actor.community_id))
    else:
        parts = parts_of(*days)
    return Asked(
        wanted={"community_id": actor.community_id, **wanted},
        parts=parts,
        zone=ZoneInfo(community.timezone),
        by=by,
    )


def _rows(asked: Asked) -> list[Row]:
    """Return the groups with their labels, in the order of these."""
    found, visits = asked.masses_g(), asked.visits()
    # There can be very many groups of few labels each: an id is looked up once for each.
    labels = [
        _labels_in_order(dimension, set(values))
        for dimension, values in zip(asked.by, zip(*found, strict=True), strict=False)
    ]
    told = (
        ([known[value] for known, value in zip(labels, group, strict=True)], sums, visits[group])
        for group, sums in found.items()
    )
    return [
        Row(
            group={name: label for name, (_, label) in zip(asked.by, group, strict=True)},
            masses=_masses(sums, count),
        )
        for group, sums, count in sorted(told, key=lambda one: [place for place, _ in one[0]])
    ]


def _labels_in_order(dimension: str, values: set[Any]) -> dict[Any, tuple[int, str | Named | None]]:
    """Return what each value of a dimension is shown as, and which in order that is."""
    labels = _labels(dimension, values)
    ordered = sorted(values, key=lambda value: _place_of(labels[value]))
    return {value: (place, labels[value]) for place, value in enumerate(ordered)}


def _labels(dimension: str, values: set[Any]) -> dict[Any, str | Named | None]:
    """Return what each value of a dimension is shown as."""
    if dimension == "month":
        return {month: f"{month:%Y-%m}" for month in values}
    if dimension == "kind":
        return {kind: str(kind) for kind in values}
    rows = _NAMED[dimension].filter(id__in=values - {None}).values_list("id", "name")
    named = {row_id: Named(id=row_id, name=name) for row_id, name in rows}
    return {value: named.get(value) for value in values}


def _place_of(label: str | Named | None) -> tuple[bool, str, str]:
    """Return by what a label is put in order; nothing comes last."""
    if isinstance(label, Named):
        return (False, label.name, str(label.id))
    return (label is None, label or "", "")


def _masses(sums: Sequence[int], visits: int) -> Masses:
    collected_g, weighed_g, home_g, turned_away_g, residue_g, late_g = sums
    return Masses(
        collected_g=collected_g,
        on_the_way_g=collected_g - home_g,
        turned_away_g=turned_away_g,
        residue_g=residue_g,
        diverted_g=home_g - turned_away_g - residue_g,
        late_g=late_g,
        weighed_g=weighed_g,
        estimated_g=collected_g - weighed_g,
        pickups=visits,
    )
