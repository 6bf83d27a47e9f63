"""The ledger as a whole: what is where, and whether that is what the lines say."""

from dataclasses import dataclass
from uuid import UUID

from django.db import connection
from django.db.models import Sum

from network.lots.models import Account
from network.lots.queries.seen import lots_seen_by
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
    """Return grams by kind of account and stream; with the containers they add up to zero."""
    rows = (
        Account.objects.filter(lot__in=lots_seen_by(actor).order_by().values("id"))
        .values("kind", "lot__stream_id", "lot__stream__name")
        .annotate(mass_g=Sum("balance_g"))
        .order_by("lot__stream__name", "lot__stream_id", "kind")
    )
    return [
        BalanceRow(
            kind=row["kind"],
            stream_id=row["lot__stream_id"],
            stream_name=row["lot__stream__name"],
            mass_g=row["mass_g"],
        )
        for row in rows
    ]


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
