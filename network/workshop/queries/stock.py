"""What lies in the workshop, lot by lot and state by state, and what each is made of."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from network.lots.models import Account, Lot
from network.lots.queries.seen import lot_seen_by, lots_seen_by
from network.people.core.actor import Actor
from network.workshop.models import NamedColour, State
from network.workshop.queries.materials import Facts, facts_of


@dataclass(frozen=True, kw_only=True)
class StockRow:
    """Grams of a lot in one state, with what is known of the lot."""

    lot: Lot
    state: str
    mass_g: int
    facts: Facts
    colour: NamedColour | None


def stock_seen_by(actor: Actor) -> QuerySet[Account]:
    """Return where workable grams lie, one row for each lot and state."""
    return Account.objects.filter(
        community_id=actor.community_id,
        kind__in=State.values,
        balance_g__gt=0,
        lot__in=lots_seen_by(actor).order_by().values("id"),
    ).select_related("lot__stream", "lot__agreement__rule_version")


def described(accounts: Sequence[Account]) -> list[StockRow]:
    """Return rows of stock with what their lots are made of."""
    facts = facts_of([account.lot for account in accounts])
    ids = {str(one.colour_id) for one in facts.values() if one.colour_id}
    colours = {colour.id: colour for colour in NamedColour.objects.filter(id__in=ids)}
    return [
        StockRow(
            lot=account.lot,
            state=account.kind,
            mass_g=account.balance_g,
            facts=(known := facts[account.lot_id]),
            colour=colours.get(known.colour_id) if known.colour_id else None,
        )
        for account in accounts
    ]


def lot_facts(actor: Actor, lot_id: UUID) -> tuple[Facts, NamedColour | None]:
    """Return what a lot is made of; raises NotFound."""
    lot = lot_seen_by(actor, lot_id)
    facts = facts_of([lot])[lot.id]
    if facts.colour_id is None:
        return facts, None
    return facts, NamedColour.objects.get(id=facts.colour_id)
