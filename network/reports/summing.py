"""Where a report's sums are read: whole months from the sums kept, ragged ends line by line.

Both state the same of a line, so one set of expressions adds up either. By place sums are kept of
months that are over; one that something was written in since is read line by line.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import Enum, auto
from operator import add
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Aggregate, Count, Field, Func, Manager, Q, QuerySet, Sum, TextField

from network.lots.month_models import (
    MASSES,
    ErrorLine,
    ErrorTotal,
    FlowLine,
    FlowTotal,
    MassLine,
    MassMonth,
    PlaceMass,
    PlaceVisits,
    StandingPlaceMonth,
    VisitLine,
    VisitTotal,
)

KEYS = {
    "month": "month",
    "stream": "stream_id",
    "kind": "place_kind",
    "district": "district_id",
    "place": "place_id",
}


class Kept(Enum):
    """What a part of a period is read from: lines, sums by month, or those by place as well."""

    LINES = auto()
    MONTHS = auto()
    PLACE_MONTHS = auto()


# One day at one place by one maker, in the month that it counts in.
_VISIT = Func("maker_id", "place_id", "day", "month", function="ROW", output_field=TextField())

_MASSES: Mapping[Kept, Manager[Any]] = {
    Kept.LINES: MassLine.objects,
    Kept.MONTHS: MassMonth.objects,
    Kept.PLACE_MONTHS: PlaceMass.objects,
}
_VISITS: Mapping[Kept, Manager[Any]] = {
    Kept.LINES: VisitLine.objects,
    Kept.MONTHS: VisitTotal.objects,
    Kept.PLACE_MONTHS: PlaceVisits.objects,
}
_FLOWS: Mapping[Kept, Manager[Any]] = {Kept.LINES: FlowLine.objects, Kept.MONTHS: FlowTotal.objects}
_ERRORS: Mapping[Kept, Manager[Any]] = {
    Kept.LINES: ErrorLine.objects,
    Kept.MONTHS: ErrorTotal.objects,
}

Group = tuple[Any, ...]


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part of a period: whole months unless of lines; None is open, `until` not in it."""

    kept: Kept
    since: date | None
    until: date | None


def parts_of(first_day: date | None, last_day: date | None) -> list[Part]:
    """Divide a period into whole months and what is left before and after them."""
    until = last_day + timedelta(days=1) if last_day else None
    months_since = _first_after(first_day) if first_day else None
    months_until = until.replace(day=1) if until else None
    if months_since and months_until and months_since >= months_until:
        return [Part(kept=Kept.LINES, since=first_day, until=until)]
    parts = [Part(kept=Kept.MONTHS, since=months_since, until=months_until)]
    if first_day != months_since:
        parts.append(Part(kept=Kept.LINES, since=first_day, until=months_since))
    if until != months_until:
        parts.append(Part(kept=Kept.LINES, since=months_until, until=until))
    return parts


def lines_of(first_day: date | None, last_day: date | None) -> list[Part]:
    """Leave a period whole, to be read line by line."""
    until = last_day + timedelta(days=1) if last_day else None
    return [Part(kept=Kept.LINES, since=first_day, until=until)]


def place_parts_of(
    first_day: date | None, last_day: date | None, months: Collection[date]
) -> list[Part]:
    """Divide a period into runs of `months`, of which sums by place are kept, and the rest."""
    parts: list[Part] = []
    for part in parts_of(first_day, last_day):
        own = sorted(month for month in months if part.kept is Kept.MONTHS and _holds(part, month))
        since = part.since
        for first, after in _runs(own):
            if since is None or since < first:
                parts.append(Part(kept=Kept.LINES, since=since, until=first))
            parts.append(Part(kept=Kept.PLACE_MONTHS, since=first, until=after))
            since = after
        if since is None or part.until is None or since < part.until:
            parts.append(Part(kept=Kept.LINES, since=since, until=part.until))
    return parts


def standing_months(community_id: UUID) -> list[date]:
    """Return the months of which sums by place are kept and hold."""
    rows = StandingPlaceMonth.objects.filter(community_id=community_id)
    return list(rows.values_list("month", flat=True))


def _holds(part: Part, month: date) -> bool:
    return (part.since is None or part.since <= month) and (
        part.until is None or month < part.until
    )


def _runs(months: Sequence[date]) -> list[tuple[date, date]]:
    """Put months that follow each other together: the first, and the one after the last."""
    runs: list[tuple[date, date]] = []
    for month in months:
        after = _first_after(month + timedelta(days=1))
        if runs and runs[-1][1] == month:
            runs[-1] = (runs[-1][0], after)
        else:
            runs.append((month, after))
    return runs


def _first_after(day: date) -> date:
    """Return the first of a month that is this day or comes next after it."""
    return day if day.day == 1 else (day.replace(day=1) + timedelta(days=32)).replace(day=1)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """Which lines are asked for, in which parts of a period, and what they are told apart by."""

    wanted: Mapping[str, object]
    parts: Sequence[Part]
    zone: ZoneInfo
    by: Sequence[str]

    def masses_g(self) -> dict[Group, tuple[int, ...]]:
        """Return the sums of each group that has any line, in the order of `MASSES`."""
        found: dict[Group, tuple[int, ...]] = {}
        wanted = {name: _WholeSum(name) for name in MASSES}
        for _, rows in self._read(_MASSES):
            part = dict(self._grouped(rows, wanted, of_any="lines"))
            # Most periods are one part, and with very many groups each lookup of an id counts.
            found = _together(found, part) if found else part
        return found

    def flows_g(self) -> Counter[tuple[UUID, str, str, str, bool]]:
        """Return grams by stream, kinds of account, reason, and whether they were undone."""
        keys = ("stream_id", "from_kind", "to_kind", "reason", "undone")
        found: Counter[tuple[UUID, str, str, str, bool]] = Counter()
        for _, rows in self._read(_FLOWS):
            for *group, mass_g in rows.values_list(*keys).annotate(Sum("mass_g")):
                found[tuple(group)] += int(mass_g)
        return found

    def visits(self) -> Counter[Group]:
        """Return how many visits each group counts."""
        by_stream = "stream" in self.by or "stream_id" in self.wanted
        found: Counter[Group] = Counter()
        for part, rows in self._read(_VISITS):
            by_line = part.kept is Kept.LINES
            which = Q(standing=True) if by_line else Q(stream__isnull=not by_stream)
            count = Count(_VISIT, distinct=True) if by_line else _WholeSum("visits")
            grouped = self._grouped(rows.filter(which), {"count": count})
            found.update({group: visits for group, (visits,) in grouped})
        return found

    def errors(self) -> dict[str, tuple[int, int]]:
        """Return, by cause, what errs alike in mg, and the squares of what is each one's own."""
        shared_mg: Counter[str] = Counter()
        own_mg2: Counter[str] = Counter()
        for _, rows in self._read(_ERRORS):
            for cause, shared, own in rows.values_list("cause").annotate(
                Sum("shared_mg"), Sum("own_mg2")
            ):
                shared_mg[cause] += int(shared)
                own_mg2[cause] += int(own)
        return {cause: (shared_mg[cause], own_mg2[cause]) for cause in sorted(shared_mg)}

    def places(self) -> dict[Group, frozenset[UUID]]:
        """Return the places that the lines of each group come from."""
        found: dict[Group, set[UUID]] = {}
        keys = [*(KEYS[dimension] for dimension in self.by), "place_id"]
        for _, rows in self._read(_MASSES):
            for *group, place_id in rows.values_list(*keys).distinct():
                found.setdefault(tuple(group), set()).add(place_id)
        return {group: frozenset(places) for group, places in found.items()}

    def _grouped(
        self, rows: QuerySet[Any, Any], sums: Mapping[str, Any], *, of_any: str | None = None
    ) -> Iterator[tuple[Group, tuple[int, ...]]]:
        """Yield the sums of each group; without a dimension there is one, unless it has no row."""
        # All are of one community, so that there is a group even where none is asked for.
        keys = [KEYS[dimension] for dimension in self.by] or ["community_id"]
        told = len(self.by)
        grouped = rows.values_list(*keys).annotate(**sums)
        if of_any:
            grouped = grouped.alias(there=_WholeSum(of_any)).filter(there__gt=0)
        for row in grouped:
            yield row[:told], row[len(keys) :]

    def _read(
        self, tables: Mapping[Kept, Manager[Any]]
    ) -> Iterator[tuple[Part, QuerySet[Any, Any]]]:
        for part in self.parts:
            by_line = part.kept is Kept.LINES
            column = "counts_at" if by_line else "month"
            rows = tables[part.kept].filter(**self.wanted)
            for day, side in ((part.since, "gte"), (part.until, "lt")):
                if day is not None:
                    end = datetime.combine(day, time.min, tzinfo=self.zone) if by_line else day
                    rows = rows.filter(**{f"{column}__{side}": end})
            yield part, rows.order_by()


def _together(
    one: Mapping[Group, tuple[int, ...]], other: Mapping[Group, tuple[int, ...]]
) -> dict[Group, tuple[int, ...]]:
    """Add up what is in both, and keep what is in either."""
    both = one.keys() & other.keys()
    return {**one, **other, **{group: tuple(map(add, one[group], other[group])) for group in both}}


class _WholeSum(Aggregate):
    """A sum of whole numbers as a whole number, which nothing goes through once it is read."""

    function = "lots_whole_sum"
    output_field = Field()
