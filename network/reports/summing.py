"""Where a report's sums are read: whole months from the sums kept, ragged ends line by line.

Both state the same of a line, so one set of expressions adds up either. Places are told apart by
the lines alone.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import (
    BigIntegerField,
    Case,
    Count,
    F,
    Func,
    Manager,
    Q,
    QuerySet,
    Sum,
    TextField,
    Value,
    When,
)
from django.db.models.functions import Cast

from network.lots.models import Account, Movement
from network.lots.month_models import ErrorLine, ErrorSum, FlowLine, FlowSum, VisitLine, VisitSum

COUNTED = (
    Movement.Reason.COLLECTED,
    Movement.Reason.BROUGHT_HOME,
    Movement.Reason.REWEIGHED,
    Movement.Reason.TURNED_AWAY,
    Movement.Reason.INSPECTED_OUT,
)
KEYS = {
    "month": "month",
    "stream": "stream_id",
    "kind": "place_kind",
    "district": "district_id",
    "place": "place_id",
}
_ALL = Q()
# One day at one place by one maker, in the month that it counts in.
_VISIT = Func("maker_id", "place_id", "day", "month", function="ROW", output_field=TextField())

Group = tuple[Any, ...]


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part of a period: whole months if `kept`, else days; None is open, `until` not in it."""

    kept: bool
    since: date | None
    until: date | None


def parts_of(first_day: date | None, last_day: date | None, *, by_place: bool) -> list[Part]:
    """Divide a period into whole months and what is left before and after them."""
    until = last_day + timedelta(days=1) if last_day else None
    months_since = _first_after(first_day) if first_day else None
    months_until = until.replace(day=1) if until else None
    if by_place or (months_since and months_until and months_since >= months_until):
        return [Part(kept=False, since=first_day, until=until)]
    parts = [Part(kept=True, since=months_since, until=months_until)]
    if first_day != months_since:
        parts.append(Part(kept=False, since=first_day, until=months_since))
    if until != months_until:
        parts.append(Part(kept=False, since=months_until, until=until))
    return parts


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

    def masses_g(self) -> dict[Group, dict[str, int]]:
        """Return the sums of each group that has any line."""
        sums = _sums()
        found: dict[Group, Counter[str]] = {}
        for _, rows in self._read(FlowSum.objects, FlowLine.objects):
            groups = rows.filter(reason__in=COUNTED).values(*self._keys).annotate(**sums)
            for group in groups:
                found.setdefault(self._group(group), Counter()).update(
                    {name: group[name] for name in sums}
                )
        return {group: dict(values) for group, values in found.items() if values["lines"]}

    def flows_g(self) -> Counter[tuple[UUID, str, str, str, bool]]:
        """Return grams by stream, kinds of account, reason, and whether they were undone."""
        keys = ("stream_id", "from_kind", "to_kind", "reason", "undone")
        found: Counter[tuple[UUID, str, str, str, bool]] = Counter()
        for _, rows in self._read(FlowSum.objects, FlowLine.objects):
            for *group, mass_g in rows.values_list(*keys).annotate(Sum("mass_g")):
                found[tuple(group)] += int(mass_g)
        return found

    def visits(self) -> Counter[Group]:
        """Return how many visits each group counts."""
        by_stream = "stream" in self.by or "stream_id" in self.wanted
        found: Counter[Group] = Counter()
        for part, rows in self._read(VisitSum.objects, VisitLine.objects):
            which = Q(stream__isnull=not by_stream) if part.kept else Q(standing=True)
            count = Sum("visits") if part.kept else Count(_VISIT, distinct=True)
            for group in rows.filter(which).values(*self._keys).annotate(count=count):
                found[self._group(group)] += group["count"]
        return found

    def errors(self) -> dict[str, tuple[int, int]]:
        """Return, by cause, what errs alike in mg, and the squares of what is each one's own."""
        shared_mg: Counter[str] = Counter()
        own_mg2: Counter[str] = Counter()
        for _, rows in self._read(ErrorSum.objects, ErrorLine.objects):
            for cause, shared, own in rows.values_list("cause").annotate(
                Sum("shared_mg"), Sum("own_mg2")
            ):
                shared_mg[cause] += int(shared)
                own_mg2[cause] += int(own)
        return {cause: (shared_mg[cause], own_mg2[cause]) for cause in sorted(shared_mg)}

    def places(self) -> dict[Group, frozenset[UUID]]:
        """Return the places that the lines of each group come from."""
        found: dict[Group, set[UUID]] = {}
        for _, rows in self._read(FlowSum.objects, FlowLine.objects):
            pairs = rows.filter(reason__in=COUNTED).values(*self._keys, "place_id").distinct()
            for pair in pairs:
                found.setdefault(self._group(pair), set()).add(pair["place_id"])
        return {group: frozenset(places) for group, places in found.items()}

    @property
    def _keys(self) -> tuple[str, ...]:
        # All are of one community, so that there is a group even where none is asked for.
        return ("community_id", *(KEYS[dimension] for dimension in self.by))

    def _group(self, row: Mapping[str, Any]) -> Group:
        return tuple(row[KEYS[dimension]] for dimension in self.by)

    def _read(
        self, kept: Manager[Any], by_line: Manager[Any]
    ) -> Iterator[tuple[Part, QuerySet[Any, Any]]]:
        for part in self.parts:
            table, column = (kept, "month") if part.kept else (by_line, "counts_at")
            rows = table.filter(**self.wanted)
            for day, side in ((part.since, "gte"), (part.until, "lt")):
                if day is not None:
                    end = day if part.kept else datetime.combine(day, time.min, tzinfo=self.zone)
                    rows = rows.filter(**{f"{column}__{side}": end})
            yield part, rows.order_by()


def diverted_g(sums: Mapping[str, int]) -> int:
    """Return what was unloaded, less what was turned away or taken out."""
    return sums.get("home_g", 0) - sums.get("turned_away_g", 0) - sums.get("residue_g", 0)


def _sums() -> dict[str, Any]:
    """Return the sums; by account kinds, so that a reversing line counts against what it undoes."""
    leaves = Q(from_kind=Account.Kind.CONTAINER)
    returns = Q(to_kind=Account.Kind.CONTAINER)
    weighed = Q(on_scale=True)
    late = {f"late_{name}": net for name, net in _accepted(Q(late=True)).items()}
    return {
        "lines": Sum("lines"),
        "collected_g": _net(leaves, returns),
        "weighed_g": _net(leaves & weighed, returns & weighed),
        **_accepted(_ALL),
        **late,
    }


def _accepted(which: Q) -> dict[str, Any]:
    """Return what was unloaded, turned away and taken out, of these lines."""
    outside = (Account.Kind.CONTAINER, Account.Kind.VEHICLE)
    store = Account.Kind.COLLECTED
    undone = Q(undone=True)
    out = which & Q(reason=Movement.Reason.TURNED_AWAY)
    residue = which & Q(reason=Movement.Reason.INSPECTED_OUT)
    return {
        "home_g": _net(
            which & Q(from_kind__in=outside, to_kind=store),
            which & Q(from_kind=store, to_kind__in=outside),
        ),
        "turned_away_g": _net(out & ~undone, out & undone),
        "residue_g": _net(residue & ~undone, residue & undone),
    }


def _net(plus: Q, minus: Q) -> Any:
    """Return a sum of masses over some lines less that over others."""
    signed = Case(When(plus, then=F("mass_g")), When(minus, then=-F("mass_g")), default=Value(0))
    return Cast(Sum(signed), BigIntegerField())
