"""Pieces under the press, and pieces made."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import InvalidInput, WrongState
from network.lots.core.ledger import Position, Posting
from network.lots.ledger import lock_lots, positions, post
from network.lots.models import Account, Movement
from network.lots.services.common import check_time, refuse_reuse
from network.people.core.actor import Actor
from network.units import kg_text
from network.workshop.core.draw import draw_in_turn
from network.workshop.models import Batch, Pressing, ProductRun
from network.workshop.queries.heating import PieceWish, plan_data, plan_press
from network.workshop.queries.materials import check_resins, facts_of
from network.workshop.queries.seen import pressing_seen_by
from network.workshop.services.common import own_batch

# What was bought in addition is drawn with the lots, under this name.
BOUGHT = None


@dataclass(frozen=True, kw_only=True)
class Measured:
    """How a pressing went."""

    outcome: str
    melted_s: int | None = None
    cooled_s: int | None = None
    note: str = ""


@transaction.atomic
def record_pressing(
    actor: Actor,
    *,
    pressing_id: UUID,
    batch_id: UUID,
    wish: PieceWish,
    is_trial: bool = False,
    at: datetime,
) -> Pressing:
    """Begin a piece: what is set and the plan it follows are kept with it.

    Raises what the plan raises, IncompatibleResin when a lot of the batch is of a resin that does
    not go with the one said.
    """
    batch = own_batch(actor, batch_id)
    check_time(at, not_before=batch.made_at)
    refuse_reuse(Pressing.objects.filter(id=pressing_id))
    charged = [
        charge.lot for charge in batch.charges.select_related("lot__agreement__rule_version")
    ]
    facts = facts_of(charged)
    resins = {f"batch:{lot.code}": facts[lot.id].resin for lot in charged}
    check_resins({"resin": wish.resin, **resins})
    plan = plan_press(actor, wish)
    return Pressing.objects.create(
        id=pressing_id,
        community_id=actor.community_id,
        batch=batch,
        press_id=wish.press_id,
        is_trial=is_trial,
        resin_id=wish.resin,
        set_c=plan.set_c,
        thickness_um=wish.thickness_um,
        width_mm=wish.width_mm,
        length_mm=wish.length_mm,
        pressure_kpa=wish.pressure_kpa,
        plan=plan_data(plan),
        at=at,
        by_id=actor.user_id,
    )


@transaction.atomic
def finish_pressing(actor: Actor, *, pressing_id: UUID, measured: Measured) -> Pressing:
    """Write down how a piece came out, and its times, which the next plan uses.

    Raises NotFound, WrongState when that was done before.
    """
    own_batch(actor, pressing_seen_by(actor, pressing_id).batch_id)
    pressing = Pressing.objects.select_for_update().get(id=pressing_id)
    if pressing.outcome:
        raise WrongState("How this piece came out is written down already.")
    pressing.outcome = measured.outcome
    pressing.melted_s = measured.melted_s
    pressing.cooled_s = measured.cooled_s
    pressing.note = measured.note
    pressing.save(update_fields=["outcome", "melted_s", "cooled_s", "note"])
    return pressing


@transaction.atomic
def record_product(
    actor: Actor,
    *,
    product_id: UUID,
    batch_id: UUID,
    name: str,
    pieces: int,
    mass_g: int,
    offcut_g: int = 0,
    residue_g: int = 0,
    loss_g: int = 0,
    at: datetime,
) -> ProductRun:
    """Record the pieces made of a batch, what was cut off, thrown away and lost.

    Each of these takes from every lot of the batch, and from what was bought in addition, in
    proportion to what is left. Offcuts go back to the store. Raises InvalidInput when the batch
    has less than that.
    """
    batch = own_batch(actor, batch_id)
    check_time(at, not_before=batch.made_at)
    refuse_reuse(ProductRun.objects.filter(id=product_id))
    lock_lots(actor, batch.charges.values_list("lot_id", flat=True))
    left_g = _left_g(batch)
    masses_g = [mass_g, offcut_g, residue_g, loss_g]
    _check_product(pieces, masses_g, sum(left_g.values()))
    draws = draw_in_turn(left_g, masses_g)
    product = ProductRun.objects.create(
        id=product_id,
        community_id=actor.community_id,
        batch=batch,
        name=name,
        pieces=pieces,
        mass_g=mass_g,
        offcut_g=offcut_g,
        residue_g=residue_g,
        loss_g=loss_g,
        additive_g=draws[0][BOUGHT],
        additive_gone_g=sum(drawn[BOUGHT] for drawn in draws[1:]),
        made_at=at,
        by_id=actor.user_id,
    )
    _post(actor, batch, product, draws)
    return product


def _left_g(batch: Batch) -> dict[UUID | None, int]:
    """Return what is left of each lot in a batch, and of what was bought in addition, in g."""
    lot_ids = set(batch.charges.values_list("lot_id", flat=True))
    there_g = positions(lot_ids)
    left_g: dict[UUID | None, int] = {
        position.lot_id: mass_g
        for position, mass_g in there_g.items()
        if position.kind == Account.Kind.BATCH and position.holder_id == batch.id
    }
    used = batch.products.values_list("additive_g", "additive_gone_g")
    left_g[BOUGHT] = batch.additive_g - sum(made + gone for made, gone in used)
    return left_g


def _check_product(pieces: int, masses_g: list[int], left_g: int) -> None:
    if pieces <= 0 or masses_g[0] < pieces or min(masses_g) < 0:
        raise InvalidInput.of(
            "pieces", "There is no piece of less than a gram.", "Count and weigh the pieces."
        )
    if sum(masses_g) > left_g:
        raise InvalidInput.of(
            "mass_g",
            f"{kg_text(sum(masses_g))} are said to have come out, and {kg_text(left_g)} are left"
            " in the batch.",
            "Weigh the pieces and what was cut off again, or charge what was forgotten.",
        )


def _post(
    actor: Actor, batch: Batch, product: ProductRun, draws: list[dict[UUID | None, int]]
) -> None:
    ends = [
        (Account.Kind.PRODUCT, product.id, Movement.Reason.MADE),
        (Account.Kind.OFFCUT, batch.maker_id, Movement.Reason.TRIMMED),
        (Account.Kind.RESIDUE, batch.maker_id, Movement.Reason.TRIMMED),
        (Account.Kind.LOSS, batch.maker_id, Movement.Reason.LOST),
    ]
    postings = [
        Posting(
            frm=Position(kind=Account.Kind.BATCH, holder_id=batch.id, lot_id=lot_id),
            to=Position(kind=kind, holder_id=holder_id, lot_id=lot_id),
            mass_g=mass_g,
            reason=reason,
        )
        for drawn, (kind, holder_id, reason) in zip(draws, ends, strict=True)
        for lot_id, mass_g in drawn.items()
        if lot_id is not None and mass_g
    ]
    post(actor, postings, at=product.made_at)
