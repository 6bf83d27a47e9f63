"""The ledger as a whole: what is where, and whether that is what the lines say."""

from collections import Counter
from dataclasses import dataclass
from uuid import UUID

from django.db import connection
from django.db.models import Sum

from network.lots.month_models import FlowTotal
from network.lots.queries.seen import of_own_maker
from network.materials.models import Stream
from network.people.core.actor import Actor


@dataclass(frozen=True, kw_only=True)
class BalanceRow:
    """Grams of one stream in one kind of account."""

    kind: str
    stream_id: UUID
    stream_name: str
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class Fault:
    """An account whose kept balance is not the sum of its lines, both in g."""

    account_id: UUID
    kept_g: int
    lines_g: int


def balances_seen_by(actor: Actor) -> list[BalanceRow]:
    """Return grams by kind of account and stream; with the containers they add up to zero.

    They are the sums of what was moved, which do not grow with the lots; that each account holds
    what its lines say is looked at by `millrace verify`.
    """
    moved = FlowTotal.objects.filter(
        of_own_maker(actor, "maker_id"), community_id=actor.community_id
    ).values_list("stream_id", "from_kind", "to_kind")
    sums_g: Counter[tuple[UUID, str]] = Counter()
    for stream_id, frm, to, mass_g in moved.annotate(Sum("mass_g")).order_by():
        sums_g[stream_id, frm] -= int(mass_g)
        sums_g[stream_id, to] += int(mass_g)
    names = dict(
        Stream.objects.filter(id__in={stream_id for stream_id, _ in sums_g}).values_list(
            "id", "name"
        )
    )
    rows = [
        BalanceRow(kind=kind, stream_id=stream_id, stream_name=names[stream_id], mass_g=mass_g)
        for (stream_id, kind), mass_g in sums_g.items()
    ]
    return sorted(rows, key=lambda row: (row.stream_name, row.stream_id, row.kind))


_FAULTS = """
SELECT a.id, a.balance_g, COALESCE(l.mass_g, 0)
  FROM lots_account a
  LEFT JOIN (
        SELECT account_id, SUM(mass_g) AS mass_g FROM (
            SELECT to_account_id AS account_id, mass_g::bigint AS mass_g FROM lots_movement
            UNION ALL
            SELECT from_account_id, -mass_g::bigint FROM lots_movement
        ) lines GROUP BY account_id
  ) l ON l.account_id = a.id
 WHERE a.balance_g <> COALESCE(l.mass_g, 0)
   AND (%(community_id)s::uuid IS NULL OR a.community_id = %(community_id)s)
 ORDER BY a.id
"""


def ledger_faults(community_id: UUID | None = None) -> list[Fault]:
    """Work every balance out anew from the lines, and return those that are not what is kept."""
    with connection.cursor() as cursor:
        cursor.execute(_FAULTS, {"community_id": community_id})
        rows = cursor.fetchall()
    return [Fault(account_id=row[0], kept_g=row[1], lines_g=int(row[2])) for row in rows]
