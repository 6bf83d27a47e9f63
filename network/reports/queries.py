"""Diverted mass: a sum over the ledger's lines, by any of its dimensions."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import (
    BigIntegerField,
    Count,
    F,
    Q,
    QuerySet,
    Sum,
    TextField,
)
from django.db.models.fields.json import KT
from django.db.models.functions import Cast, Coalesce, Concat, TruncDate, TruncMonth

from network.errors import InvalidInput
from network.lots.models import Account, Movement, Weighing
from network.lots.queries.seen import standing_weighings
from network.people.core.actor import MAKER, Actor
from network.people.models import Community
from network.reports.core.method import (
    DIVERTED,
    Method,
    SharedError,
    Uncertainty,
    uncertainty_of,
)

DIMENSIONS = ("month", "stream", "kind", "district", "place")
YEARS = range(2000, 2101)
_LOT = "from_account__lot"
_PLACE = f"{_LOT}__place"
_COUNTED = (
    Movement.Reason.COLLECTED,
    Movement.Reason.BROUGHT_HOME,
    Movement.Reason.REWEIGHED,
    Movement.Reason.TURNED_AWAY,
    Movement.Reason.INSPECTED_OUT,
)
_ALL = Q()
_FILTERS = {
    "stream_id": f"{_LOT}__stream_id",
    "kind": f"{_PLACE}__kind",
    "district_id": f"{_PLACE}__district_id",
    "place_id": f"{_LOT}__place_id",
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
    the visits that brought anything: masses add up over rows, and visits do too, except where one
    visit is in two rows: by stream, or because a part of it was written down late.
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
    zone = ZoneInfo(community.timezone)
    lines = _lines(actor, selection, zone)
    sums = _sums(community)
    return Report(
        community=community,
        method=DIVERTED,
        selection=selection,
        rows=_rows(lines, selection.by, zone, sums),
        total=_masses(lines.aggregate(**sums)),
        uncertainty=uncertainty_of(_shared_errors(community, lines)),
    )


def places_by(
    actor: Actor, *, community: Community, selection: Selection, dimension: str
) -> dict[str | Named | None, frozenset[UUID]]:
    """Return the places that the lines of each group come from; for a dimension but the month."""
    zone = ZoneInfo(community.timezone)
    keys = _keys(zone)
    wanted = {name: keys[name] for name in _key_names(dimension)}
    pairs = (
        _lines(actor, selection, zone).order_by().values(**wanted, at_place=F(_PLACE)).distinct()
    )
    found: dict[str | Named | None, set[UUID]] = {}
    for pair in pairs:
        found.setdefault(_label(pair, dimension), set()).add(pair["at_place"])
    return {label: frozenset(places) for label, places in found.items()}


def _lines(actor: Actor, selection: Selection, zone: ZoneInfo) -> QuerySet[Movement]:
    """Return the lines that count, each with `why`, its reason or that of what it reverses."""
    wanted = {
        path: value
        for name, path in _FILTERS.items()
        if (value := getattr(selection, name)) is not None
    }
    if not actor.is_organiser:
        wanted[f"{_LOT}__maker_id__in"] = actor.held_for(MAKER)
    if selection.first_day:
        wanted["counts_at__gte"] = _midnight(selection.first_day, zone)
    if selection.last_day:
        wanted["counts_at__lt"] = _midnight(selection.last_day + timedelta(days=1), zone)
    return Movement.objects.annotate(why=Coalesce("reverses__reason", "reason")).filter(
        community_id=actor.community_id, why__in=_COUNTED, **wanted
    )


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time.min, tzinfo=zone)


def _sums(community: Community) -> dict[str, Any]:
    """Return the sums; by account kinds, so that a reversing line counts against what it undoes."""
    zone = ZoneInfo(community.timezone)
    leaves = Q(from_account__kind=Account.Kind.CONTAINER)
    returns = Q(to_account__kind=Account.Kind.CONTAINER)
    on_a_scale = standing_weighings(community).filter(method=Weighing.Method.WEIGHED)
    weighed = Q(**{f"{_LOT}_id__in": on_a_scale.values("lot_id")})
    visit = Concat(
        Cast(f"{_LOT}__place_id", TextField()), Cast(TruncDate("at", tzinfo=zone), TextField())
    )
    return {
        "collected_g": _net(leaves, returns),
        "weighed_g": _net(leaves & weighed, returns & weighed),
        **_accepted(),
        "late_g": _diverted(_accepted(Q(counts_at__gt=F("at")))),
        "pickups": Count(
            visit,
            distinct=True,
            filter=Q(reason=Movement.Reason.COLLECTED, reversed_by__isnull=True),
        ),
    }


def _accepted(which: Q = _ALL) -> dict[str, Any]:
    """Return what was unloaded, turned away and taken out, of these lines."""
    outside = (Account.Kind.CONTAINER, Account.Kind.VEHICLE)
    store = Account.Kind.COLLECTED
    undone = Q(reverses__isnull=False)
    out = which & Q(why=Movement.Reason.TURNED_AWAY)
    residue = which & Q(why=Movement.Reason.INSPECTED_OUT)
    return {
        "home_g": _net(
            which & Q(from_account__kind__in=outside, to_account__kind=store),
            which & Q(from_account__kind=store, to_account__kind__in=outside),
        ),
        "turned_away_g": _net(out & ~undone, out & undone),
        "residue_g": _net(residue & ~undone, residue & undone),
    }


def _diverted(accepted: Mapping[str, Any]) -> Any:
    return accepted["home_g"] - accepted["turned_away_g"] - accepted["residue_g"]


def _net(plus: Q, minus: Q) -> Any:
    return Coalesce(Sum("mass_g", filter=plus), 0) - Coalesce(Sum("mass_g", filter=minus), 0)


def _rows(
    lines: QuerySet[Movement], by: Sequence[str], zone: ZoneInfo, sums: Mapping[str, Any]
) -> list[Row]:
    if not by:
        return []
    keys = _keys(zone)
    wanted = {name: keys[name] for dimension in by for name in _key_names(dimension)}
    order = [name for dimension in by for name in reversed(_key_names(dimension))]
    groups = lines.order_by().values(**wanted).annotate(**sums).order_by(*order)
    return [
        Row(group={dimension: _label(group, dimension) for dimension in by}, masses=_masses(group))
        for group in groups
    ]


def _keys(zone: ZoneInfo) -> dict[str, Any]:
    return {
        "month": TruncMonth("counts_at", tzinfo=zone),
        "kind": F(f"{_PLACE}__kind"),
        "stream_key": F(f"{_LOT}__stream_id"),
        "stream_name": F(f"{_LOT}__stream__name"),
        "district_key": F(f"{_PLACE}__district_id"),
        "district_name": F(f"{_PLACE}__district__name"),
        "place_key": F(f"{_LOT}__place_id"),
        "place_name": F(f"{_PLACE}__name"),
    }


def _key_names(dimension: str) -> list[str]:
    if dimension in {"month", "kind"}:
        return [dimension]
    return [f"{dimension}_key", f"{dimension}_name"]


def _label(group: Mapping[str, Any], dimension: str) -> str | Named | None:
    if dimension == "month":
        return f"{group['month']:%Y-%m}"
    if dimension == "kind":
        return str(group["kind"])
    if group[f"{dimension}_key"] is None:
        return None
    return Named(id=group[f"{dimension}_key"], name=group[f"{dimension}_name"])


def _masses(sums: Mapping[str, Any]) -> Masses:
    return Masses(
        collected_g=sums["collected_g"],
        on_the_way_g=sums["collected_g"] - sums["home_g"],
        turned_away_g=sums["turned_away_g"],
        residue_g=sums["residue_g"],
        diverted_g=_diverted(sums),
        late_g=sums["late_g"],
        weighed_g=sums["weighed_g"],
        estimated_g=sums["collected_g"] - sums["weighed_g"],
        pickups=sums["pickups"],
    )


def _shared_errors(community: Community, lines: QuerySet[Movement]) -> list[SharedError]:
    """Return the errors of the weighings that what was unloaded in these lines rests on."""
    home = lines.filter(reason=Movement.Reason.BROUGHT_HOME, reversed_by__isnull=True)
    last = (
        standing_weighings(community)
        .filter(lot_id__in=home.values("from_account__lot_id"))
        .order_by("lot_id", "-at", "-id")
        .distinct("lot_id")
    )
    weighings = Weighing.objects.filter(id__in=last.values("id"))
    own_mg = Cast(KT("budget__own_mg"), BigIntegerField())
    rows = (
        weighings.values(cause=KT("budget__shared_by"))
        .annotate(
            shared_mg=Sum(Cast(KT("budget__shared_mg"), BigIntegerField())),
            own_mg2=Sum(own_mg * own_mg),
        )
        .order_by("cause")
    )
    return [
        SharedError(
            cause=row["cause"], shared_mg=int(row["shared_mg"]), own_mg2=int(row["own_mg2"])
        )
        for row in rows
    ]
