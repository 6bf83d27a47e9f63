"""What every write of this room asks first."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone

from network.errors import DifferentBody, InvalidInput, NotFound
from network.lots.core.codes import lot_code
from network.lots.core.ledger import Position
from network.lots.ledger import lock_lots, lots_held, positions
from network.lots.models import Account, Lot
from network.people.core.actor import MAKER, Actor

# The clock of a phone without signal may be this far ahead.
CLOCK_AHEAD = timedelta(minutes=10)


def own_lots(actor: Actor, lot_ids: Iterable[UUID]) -> list[Lot]:
    """Return lots of a maker the actor works for, locked; raises NotFound for any other."""
    return [own(actor, lot) for lot in lock_lots(actor, lot_ids)]


def own_lot(actor: Actor, lot_id: UUID) -> Lot:
    """Return one lot of a maker the actor works for, locked; raises NotFound."""
    return own_lots(actor, [lot_id])[0]


def own_lot_alone(actor: Actor, lot_id: UUID) -> Lot:
    """Do as `own_lot`, and read nothing of what the lot refers to."""
    return own(actor, lots_held(actor, [lot_id]).first())


def own(actor: Actor, lot: Lot | None) -> Lot:
    """Return a lot of a maker the actor works for; raises NotFound for any other, and for none."""
    if lot is None or lot.maker_id not in actor.held_for(MAKER):
        raise NotFound("There is no such lot here.")
    return lot


def in_store(lot: Lot, kind: str = Account.Kind.COLLECTED) -> Position:
    """Return the position of a lot's grams in an account of its maker."""
    return Position(kind=kind, holder_id=lot.maker_id, lot_id=lot.id)


def store_balance_g(lot: Lot) -> int:
    """Return how much of a lot lies in the store as collected, in g."""
    return positions([lot.id]).get(in_store(lot), 0)


def refuse_reuse(used: QuerySet[Any]) -> None:
    """Raise DifferentBody when there is a row with the id of what is to be made."""
    if used.exists():
        raise DifferentBody


def check_time(at: datetime, *, not_before: datetime | None = None) -> None:
    """Raise InvalidInput for a time to come, or one before the thing was there."""
    if at > timezone.now() + CLOCK_AHEAD:
        raise InvalidInput.of("at", "This time is still to come.", "Send when it was done.")
    if not_before and at < not_before:
        raise InvalidInput.of(
            "at",
            f"This is before the lot was there ({not_before.isoformat()}).",
            "Send a later time.",
        )


def new_lot(actor: Actor, *, id: UUID, like: Lot, at: datetime) -> Lot:  # noqa: A002  # the id of what is made
    """Return a new lot of the same stream and origin as another."""
    return Lot.objects.create(
        id=id,
        community_id=actor.community_id,
        code=lot_code(id),
        maker_id=like.maker_id,
        stream_id=like.stream_id,
        agreement_id=like.agreement_id,
        place_id=like.place_id,
        made_at=at,
    )


def common_origin(lots: Sequence[Lot]) -> Lot:
    """Return a lot, not saved, with the origin that these have in common."""
    first = lots[0]
    agreements = {lot.agreement_id for lot in lots}
    places = {lot.place_id for lot in lots}
    return Lot(
        maker_id=first.maker_id,
        stream_id=first.stream_id,
        agreement_id=first.agreement_id if len(agreements) == 1 else None,
        place_id=first.place_id if len(places) == 1 else None,
    )
