"""The mass ledger: the one place where lines are written.

The order of locks, once for each transaction: lots by id, then their accounts by id. Then look,
then write. The database keeps the balances (see the triggers) and refuses what slipped through.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from network.copying import insert_all
from network.errors import Conflict, NotEnough, NotFound, WrongState
from network.ids import new_id
from network.lots.core.ledger import (
    Position,
    Posting,
    Shortage,
    first_shortage,
    mirror,
    positions_of,
)
from network.lots.models import Account, Lot, Movement
from network.people.core.actor import Actor
from network.units import kg_text

BALANCE_SIGN = "account_balance_sign"
REVERSED_ONCE = "lots_movement_reverses_id_key"


def lock_lots(actor: Actor, lot_ids: Iterable[UUID]) -> list[Lot]:
    """Return the lots, held by this transaction until it ends; raises NotFound.

    Units: none. Called once in a transaction, before any balance is read.
    """
    wanted = set(lot_ids)
    told = lots_held(actor, wanted).select_related(
        "stream", "maker", "agreement__rule_version", "place"
    )
    lots = list(told)
    if len(lots) != len(wanted):
        raise NotFound("There is no such lot here.")
    return lots


def lots_held(actor: Actor, lot_ids: Iterable[UUID]) -> QuerySet[Lot]:
    """Return those of the lots that are there, held as by `lock_lots` once they are read."""
    return (
        Lot.objects.select_for_update(of=("self",), no_key=True)
        .filter(community_id=actor.community_id, id__in=sorted(set(lot_ids)))
        .order_by("id")
    )


def position_of(account: Account) -> Position:
    """Return where an account is."""
    return Position(kind=account.kind, holder_id=account.holder_id, lot_id=account.lot_id)


def positions(lot_ids: Iterable[UUID]) -> dict[Position, int]:
    """Return where grams of these lots are, in g, without the positions that stand at zero."""
    accounts = Account.objects.filter(lot_id__in=list(lot_ids)).exclude(balance_g=0).order_by("id")
    rows = accounts.values_list(*Position._fields, "balance_g")
    return {Position(*where): balance_g for *where, balance_g in rows}


def post(actor: Actor, postings: Sequence[Posting], *, at: datetime) -> list[Movement]:
    """Write lines to the ledger, all or none, in the order given, and return them.

    The lots were locked by the caller or are new. Raises NotEnough where a position would have to
    give more than it has.
    """
    with transaction.atomic(), _translated():
        accounts = _locked_accounts(actor, positions_of(postings))
        balances_g = {position: account.balance_g for position, account in accounts.items()}
        shortage = first_shortage(balances_g, postings)
        if shortage:
            raise _not_enough(shortage)
        recorded_at = timezone.now()
        lines = [
            Movement(
                id=posting.id or new_id(),
                community_id=actor.community_id,
                from_account_id=accounts[posting.frm].id,
                to_account_id=accounts[posting.to].id,
                mass_g=posting.mass_g,
                reason=posting.reason,
                at=posting.at or at,
                counts_at=posting.at or at,
                recorded_at=recorded_at,
                by_id=actor.user_id,
                weighing_id=posting.weighing_id,
                inspection_id=posting.inspection_id,
                reverses_id=posting.reverses_id,
                note=posting.note,
            )
            for posting in postings
        ]
        # In one statement, so that the sums are added to once.
        insert_all(lines)
        return lines


def reverse(actor: Actor, movement: Movement, *, id: UUID, at: datetime, note: str) -> Movement:  # noqa: A002  # the id of what is made, as everywhere
    """Write the line that undoes another, and return it.

    The lots of both accounts were locked by the caller. Raises WrongState for a line that was
    reversed before or is itself a reversal, NotEnough when the grams have moved on.
    """
    if movement.reverses_id:
        raise WrongState("A reversing line is not itself reversed: write the line anew instead.")
    if Movement.objects.filter(reverses=movement).exists():
        raise WrongState("This line was reversed before.")
    posting = Posting(
        frm=position_of(movement.from_account),
        to=position_of(movement.to_account),
        mass_g=movement.mass_g,
        reason=movement.reason,
        weighing_id=movement.weighing_id,
        inspection_id=movement.inspection_id,
    )
    undoing = mirror(
        posting, reason=Movement.Reason.REVERSED, reverses_id=movement.id, note=note, id=id
    )
    return post(actor, [undoing], at=at)[0]


class _Held(NamedTuple):
    """An account that this transaction holds: its id, and what is in it."""

    id: UUID
    balance_g: int


def _locked_accounts(actor: Actor, wanted: Sequence[Position]) -> dict[Position, _Held]:
    """Lock all accounts in the order of their ids, after those that are missing were opened."""
    lots = Account.objects.filter(
        community_id=actor.community_id, lot_id__in={position.lot_id for position in wanted}
    )
    held = _locked(lots)
    missing = [position for position in wanted if position not in held]
    if missing:
        opened = [
            Account(
                community_id=actor.community_id,
                kind=position.kind,
                holder_id=position.holder_id,
                lot_id=position.lot_id,
            )
            for position in missing
        ]
        Account.objects.bulk_create(opened, ignore_conflicts=True)
        held = _locked(lots)
    return {position: held[position] for position in wanted}


def _locked(accounts: QuerySet[Account]) -> dict[Position, _Held]:
    in_order = accounts.select_for_update(no_key=True).order_by("id")
    rows = in_order.values_list(*Position._fields, *_Held._fields)
    return {Position(*where): _Held(own_id, balance_g) for *where, own_id, balance_g in rows}


@contextmanager
def _translated() -> Iterator[None]:
    """Turn what the database refuses into our own words."""
    try:
        yield
    except IntegrityError as error:
        name = getattr(getattr(error.__cause__, "diag", None), "constraint_name", "")
        if name == BALANCE_SIGN:
            raise NotEnough from error
        if name == REVERSED_ONCE:
            raise WrongState("This line was reversed before.") from error
        if name == "lots_movement_pkey":
            raise Conflict("This id was used before: nothing was changed.") from error
        raise


def _not_enough(shortage: Shortage) -> NotEnough:
    where = Account.Kind(shortage.position.kind).label
    return NotEnough(
        f"{kg_text(shortage.wanted_g)} were to be moved, but only {kg_text(shortage.has_g)}"
        f" can be ({where}). If a later line took them, reverse that one first.",
        extra={"has_g": shortage.has_g, "wanted_g": shortage.wanted_g},
    )
