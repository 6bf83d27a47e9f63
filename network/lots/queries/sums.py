"""Whether the sums by month are what the lines add up to."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import connection

from network.lots.month_models import MASSES, ErrorTotal, FlowTotal, MassSum, VisitTotal
from network.people.models import CommunityRow

_KEY = ("month", "maker_id", "stream_id", "district_id", "place_kind")


@dataclass(frozen=True, kw_only=True)
class _Sums:
    """Sums that are kept, the view that states them anew, by what they are told apart, and what."""

    kept: str
    anew: str
    key: Sequence[str]
    sums: Sequence[str]


def _table(model: type[CommunityRow]) -> str:
    return model._meta.db_table  # noqa: SLF001  # documented: the Model _meta API


_ALL = (
    _Sums(
        kept=_table(FlowTotal),
        anew="lots_flowline",
        key=(*_KEY, "reason", "from_kind", "to_kind", "undone", "late", "on_scale"),
        sums=("mass_g", "lines"),
    ),
    _Sums(kept=_table(MassSum), anew="lots_massfolded", key=_KEY, sums=("lines", *MASSES)),
    _Sums(kept=_table(VisitTotal), anew="lots_visitmonth", key=_KEY, sums=("visits",)),
    _Sums(
        kept="lots_standingplacemass",
        anew="lots_placemassanew",
        key=(*_KEY, "place_id"),
        sums=("lines", *MASSES),
    ),
    _Sums(
        kept="lots_standingplacevisits",
        anew="lots_placevisitsanew",
        key=(*_KEY, "place_id"),
        sums=("visits",),
    ),
    _Sums(
        kept=_table(ErrorTotal),
        anew="lots_errorline",
        key=(*_KEY, "cause"),
        sums=("shared_mg", "own_mg2"),
    ),
)


@dataclass(frozen=True, kw_only=True)
class SumFault:
    """A sum that is not what its lines add up to: whose it is, and both figures."""

    stream_or_maker_id: UUID
    detail: str


def sum_faults(community_id: UUID) -> Iterator[SumFault]:
    """Add the lines up anew, and yield each sum that is not what is kept, by month."""
    for one in _ALL:
        with connection.cursor() as cursor:
            cursor.execute(_differing(one), [community_id, community_id])
            names = [column.name for column in cursor.description or ()]
            rows = cursor.fetchall()
        for row in rows:
            yield _fault(one, dict(zip(names, row, strict=True)))


def _differing(one: _Sums) -> str:
    key = ", ".join(one.key)
    kept = ", ".join(f"{name} AS kept_{name}, 0 AS now_{name}" for name in one.sums)
    now = ", ".join(f"0, {name}" for name in one.sums)
    both = ", ".join(
        f"sum(kept_{name})::numeric AS kept_{name}, sum(now_{name})::numeric AS now_{name}"
        for name in one.sums
    )
    differs = " OR ".join(f"sum(kept_{name}) <> sum(now_{name})" for name in one.sums)
    return f"""
        SELECT {key}, {both} FROM (
            SELECT {key}, {kept} FROM {one.kept} WHERE community_id = %s
            UNION ALL
            SELECT {key}, {now} FROM {one.anew} WHERE community_id = %s) both_sides
         GROUP BY {key} HAVING {differs} ORDER BY {key}"""  # noqa: S608  # names of our own


def _fault(one: _Sums, row: Mapping[str, Any]) -> SumFault:
    told = ", ".join(f"{name} {row[name]}" for name in one.key if row[name] is not None)
    figures = ", ".join(
        f"{name} kept {row[f'kept_{name}']}, its lines say {row[f'now_{name}']}"
        for name in one.sums
    )
    return SumFault(
        stream_or_maker_id=row["stream_id"] or row["maker_id"],
        detail=f"{figures} ({one.kept}, {told})",
    )
