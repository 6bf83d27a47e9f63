"""In the store: divided, put together, lost, passed on, and mistakes set right."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import InvalidInput, NotEnough, NotFound, WrongState
from network.ids import new_id
from network.lots.core.ledger import Posting
from network.lots.ledger import post, reverse
from network.lots.models import Account, Lot, LotParent, Movement
from network.lots.services.common import (
    check_time,
    common_origin,
    in_store,
    new_lot,
    own_lot,
    own_lots,
    refuse_reuse,
    store_balance_g,
)
from network.people.core.actor import MAKER, Actor
from network.units import kg_text

PARTS_MAX = 50
# Where grams of a lot lie in the workshop, as collected or worked on.
STORES = (
    Account.Kind.COLLECTED,
    Account.Kind.WASHED,
    Account.Kind.SORTED,
    Account.Kind.SHREDDED,
    Account.Kind.OFFCUT,
)


@transaction.atomic
def split_lot(
    actor: Actor,
    *,
    first_id: UUID,
    lot_id: UUID,
    parts_g: Sequence[int],
    at: datetime,
    note: str = "",
) -> list[Lot]:
    """Divide a lot into parts that are lots of their own, and return these.

    The first has the given id. What the parts leave stays in the lot. Raises NotEnough when they
    are more than lies in the store.
    """
    lot = own_lot(actor, lot_id)
    check_time(at, not_before=lot.made_at)
    refuse_reuse(Lot.objects.filter(id=first_id))
    _check_masses(parts_g)
    _check_enough(lot, sum(parts_g))
    postings = []
    children = []
    for index, part_g in enumerate(parts_g):
        child = new_lot(actor, id=first_id if index == 0 else new_id(), like=lot, at=at)
        postings.append(_into(actor, lot, child, part_g, reason=Movement.Reason.SPLIT, note=note))
        children.append(child)
    post(actor, postings, at=at)
    return children


@transaction.atomic
def merge_lots(
    actor: Actor, *, lot_id: UUID, lot_ids: Sequence[UUID], at: datetime, note: str = ""
) -> Lot:
    """Put lots of one stream together into a new lot with the given id, and return it.

    Its place and agreement are theirs where they agree, else none (ISO 22095: no longer identity
    preserved). Raises WrongState for lots of several streams or with nothing in the store.
    """
    if not 1 < len(set(lot_ids)) <= PARTS_MAX or len(set(lot_ids)) != len(lot_ids):
        mend = f"Choose from 2 to {PARTS_MAX} different lots."
        raise InvalidInput.of("lot_ids", "These cannot be put together.", mend)
    lots = own_lots(actor, lot_ids)
    check_time(at, not_before=max(lot.made_at for lot in lots))
    refuse_reuse(Lot.objects.filter(id=lot_id))
    if len({lot.stream_id for lot in lots}) > 1:
        raise WrongState("Lots of different streams stay apart.")
    whole = new_lot(actor, id=lot_id, like=common_origin(lots), at=at)
    postings = []
    for lot in lots:
        there_g = store_balance_g(lot)
        if not there_g:
            raise WrongState(f"Nothing of lot {lot.code} lies in the store.")
        postings.append(_into(actor, lot, whole, there_g, reason=Movement.Reason.MERGED, note=note))
    post(actor, postings, at=at)
    return whole


@transaction.atomic
def record_loss(
    actor: Actor,
    *,
    movement_id: UUID,
    lot_id: UUID,
    mass_g: int,
    note: str,
    at: datetime,
    state: str = Account.Kind.COLLECTED,
) -> Movement:
    """Record grams of a lot that are gone (dried out, adhesive, spilt); raises NotEnough."""
    return _take_out(
        actor,
        movement_id=movement_id,
        lot_id=lot_id,
        mass_g=mass_g,
        note=note,
        at=at,
        state=state,
        to=Account.Kind.LOSS,
        reason=Movement.Reason.LOST,
    )


@transaction.atomic
def pass_on(
    actor: Actor,
    *,
    movement_id: UUID,
    lot_id: UUID,
    mass_g: int,
    note: str,
    at: datetime,
    state: str = Account.Kind.COLLECTED,
) -> Movement:
    """Record grams of a lot that were handed to another recycler; raises NotEnough."""
    return _take_out(
        actor,
        movement_id=movement_id,
        lot_id=lot_id,
        mass_g=mass_g,
        note=note,
        at=at,
        state=state,
        to=Account.Kind.PASSED_ON,
        reason=Movement.Reason.PASSED_ON,
    )


@transaction.atomic
def reverse_movement(
    actor: Actor, *, movement_id: UUID, reverses_id: UUID, note: str, at: datetime
) -> Movement:
    """Undo a line of the ledger by a new line, whose id is given, and return that.

    Raises InvalidInput without a note that says why, WrongState when it was reversed before,
    NotEnough when the grams have moved on.
    """
    movement = (
        Movement.objects.select_related("from_account__lot", "to_account__lot")
        .filter(community_id=actor.community_id, id=reverses_id)
        .first()
    )
    if movement is None or movement.from_account.lot.maker_id not in actor.held_for(MAKER):
        raise NotFound("There is no such movement here.")
    if not note.strip():
        raise InvalidInput.of("note", "A correction says why.", "Write what was wrong.")
    own_lots(actor, [movement.from_account.lot_id, movement.to_account.lot_id])
    check_time(at, not_before=movement.at)
    refuse_reuse(Movement.objects.filter(id=movement_id))
    return reverse(actor, movement, id=movement_id, at=at, note=note)


def _take_out(
    actor: Actor,
    *,
    movement_id: UUID,
    lot_id: UUID,
    mass_g: int,
    note: str,
    at: datetime,
    state: str,
    to: str,
    reason: str,
) -> Movement:
    lot = own_lot(actor, lot_id)
    check_time(at, not_before=lot.made_at)
    refuse_reuse(Movement.objects.filter(id=movement_id))
    if mass_g <= 0:
        raise InvalidInput.of("mass_g", "This moves nothing.", "Send at least one gram.")
    if state not in STORES:
        mend = f"Use one of: {', '.join(STORES)}."
        raise InvalidInput.of("state", "Nothing is taken out of there.", mend)
    posting = Posting(
        frm=in_store(lot, state),
        to=in_store(lot, to),
        mass_g=mass_g,
        reason=reason,
        note=note,
        id=movement_id,
    )
    return post(actor, [posting], at=at)[0]


def _into(actor: Actor, parent: Lot, child: Lot, mass_g: int, *, reason: str, note: str) -> Posting:
    """Note a lot as the parent of another, and return the posting that makes it so."""
    LotParent.objects.create(
        community_id=actor.community_id, child=child, parent=parent, mass_g=mass_g
    )
    return Posting(
        frm=in_store(parent), to=in_store(child), mass_g=mass_g, reason=reason, note=note
    )


def _check_masses(parts_g: Sequence[int]) -> None:
    if not 0 < len(parts_g) <= PARTS_MAX:
        mend = f"Send from 1 to {PARTS_MAX} parts."
        raise InvalidInput.of("parts", "There is no such number of parts.", mend)
    for index, part_g in enumerate(parts_g):
        if part_g <= 0:
            field = f"parts[{index}].mass_g"
            raise InvalidInput.of(field, "A part has some mass.", "Send at least one gram.")


def _check_enough(lot: Lot, wanted_g: int) -> None:
    has_g = store_balance_g(lot)
    if wanted_g > has_g:
        raise NotEnough(
            f"The parts are {kg_text(wanted_g)}, and of the lot {kg_text(has_g)} lie in the store.",
            extra={"has_g": has_g, "wanted_g": wanted_g},
        )
