"""Recipes, and lots charged to a batch."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput
from network.lots.core.ledger import Position, Posting
from network.lots.ledger import post
from network.lots.models import Account, Lot, Movement
from network.lots.services.common import check_time, in_store, own_lots, refuse_reuse
from network.materials.models import Resin
from network.people.core.actor import Actor
from network.units import kg_text
from network.workshop.models import Batch, BatchCharge, Recipe, State
from network.workshop.queries.materials import check_resins, facts_of
from network.workshop.queries.mixing import MixAnswer, mix_for, steps_of
from network.workshop.queries.seen import recipes_seen_by
from network.workshop.refusals import CannotServe
from network.workshop.services.common import check_there, own_colour, own_maker, there_g

CHARGES_MAX = 50
STEPS_MAX = 10


@dataclass(frozen=True, kw_only=True)
class Charged:
    """Grams of a lot that go into a batch, out of a state, for a step where there are several."""

    lot_id: UUID
    state: str
    mass_g: int
    step: str = ""


@dataclass(frozen=True, kw_only=True)
class Additive:
    """What is bought in addition, such as pigment or new resin."""

    name: str
    mass_g: int


def save_recipe(
    actor: Actor,
    *,
    recipe_id: UUID,
    maker_id: UUID,
    name: str,
    resin: str,
    mass_g: int,
    steps: Sequence[Mapping[str, Any]],
) -> Recipe:
    """Save a recipe; raises InvalidInput naming what cannot be, IncompatibleResin."""
    maker = own_maker(actor, maker_id)
    refuse_reuse(Recipe.objects.filter(id=recipe_id))
    if Recipe.objects.filter(maker=maker, name=name).exists():
        raise InvalidInput.of("name", "Another recipe has this name.", "Choose another name.")
    if not Resin.objects.filter(symbol=resin).exists():
        raise InvalidInput.of("resin", "This resin is not known.", "Choose a listed resin.")
    check_resins({"resin": resin})
    plain = _plain_steps(maker.id, steps)
    return Recipe.objects.create(
        id=recipe_id,
        community_id=actor.community_id,
        maker=maker,
        name=name,
        resin_id=resin,
        mass_g=mass_g,
        steps=plain,
        created_at=timezone.now(),
    )


@transaction.atomic
def charge_batch(
    actor: Actor,
    *,
    batch_id: UUID,
    name: str,
    charges: Sequence[Charged],
    recipe_id: UUID | None = None,
    additive: Additive | None = None,
    at: datetime,
) -> Batch:
    """Charge lots together to a batch.

    Raises InvalidInput naming the charge that cannot be, IncompatibleResin.
    """
    refuse_reuse(Batch.objects.filter(id=batch_id))
    recipe = _recipe(actor, recipe_id) if recipe_id else None
    if not 0 < len(charges) <= CHARGES_MAX:
        mend = f"Charge from 1 to {CHARGES_MAX} lots."
        raise InvalidInput.of("charges", "There is nothing to charge.", mend)
    lots = {lot.id: lot for lot in own_lots(actor, [one.lot_id for one in charges])}
    check_time(at, not_before=max(lot.made_at for lot in lots.values()))
    _check_charges(charges, lots, recipe)
    batch = Batch.objects.create(
        id=batch_id,
        community_id=actor.community_id,
        maker_id=lots[charges[0].lot_id].maker_id,
        name=name,
        recipe=recipe,
        additive_name=additive.name if additive else "",
        additive_g=additive.mass_g if additive else 0,
        made_at=at,
        by_id=actor.user_id,
    )
    _post_charges(actor, batch, charges, lots)
    return batch


@transaction.atomic
def charge_by_recipe(
    actor: Actor,
    *,
    batch_id: UUID,
    name: str,
    recipe_id: UUID,
    mass_g: int | None = None,
    with_offcuts: bool = False,
    additive: Additive | None = None,
    at: datetime,
) -> Batch:
    """Charge the lots that a recipe takes; raises CannotServe, with the nearest that could be."""
    _recipe(actor, recipe_id)
    answer = mix_for(actor, recipe_id, mass_g=mass_g, with_offcuts=with_offcuts)
    if answer.mix is None:
        raise _cannot_serve(answer)
    return charge_batch(
        actor,
        batch_id=batch_id,
        name=name,
        charges=[
            Charged(lot_id=one.lot.id, state=one.state, mass_g=one.mass_g, step=one.step)
            for one in answer.mix.charges
        ],
        recipe_id=recipe_id,
        additive=additive,
        at=at,
    )


def _recipe(actor: Actor, recipe_id: UUID) -> Recipe:
    recipe = recipes_seen_by(actor).filter(id=recipe_id).first()
    if recipe is None:
        raise InvalidInput.of("recipe_id", "There is no such recipe here.", "Choose one of yours.")
    return recipe


def _plain_steps(maker_id: UUID, steps: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    if not 0 < len(steps) <= STEPS_MAX:
        mend = f"Send from 1 to {STEPS_MAX} steps."
        raise InvalidInput.of("steps", "A recipe has some steps.", mend)
    plain = [
        {
            "name": step["name"],
            "share": str(step["share"]),
            "colours": [
                {
                    "colour_id": str(
                        own_colour(
                            maker_id,
                            one["colour_id"],
                            field=f"steps[{i}].colours[{j}].colour_id",
                        ).id
                    ),
                    "share": str(one["share"]),
                    "give": str(one.get("give", 0)),
                }
                for j, one in enumerate(step["colours"])
            ],
        }
        for i, step in enumerate(steps)
    ]
    try:
        read = steps_of(plain)
    except ValueError as fault:
        raise InvalidInput.of(
            "steps", f"This does not add up: {fault}.", "Write shares such as 0.25."
        ) from None
    if sum(step.share for step in read) != 1 or len({step.name for step in read}) < len(read):
        raise InvalidInput.of(
            "steps",
            "The shares of the steps do not add up to 1, or two steps have one name.",
            "Let the steps' shares add up to 1, and give each a name of its own.",
        )
    return plain


def _check_charges(
    charges: Sequence[Charged], lots: Mapping[UUID, Lot], recipe: Recipe | None
) -> None:
    if len({lot.maker_id for lot in lots.values()}) > 1:
        mend = "Charge lots of one maker."
        raise InvalidInput.of("charges", "These lots are of several makers.", mend)
    left_g = there_g(list(lots.values()))
    facts = facts_of(list(lots.values()))
    resins = {"recipe_id": recipe.resin_id} if recipe else {}
    for index, one in enumerate(charges):
        if one.state == State.COLLECTED:
            raise InvalidInput.of(
                f"charges[{index}].state",
                "What is as it was collected is not melted: residues are what smokes.",
                "Wash it first.",
            )
        key = (one.lot_id, one.state)
        check_there(left_g[key], one.mass_g, field=f"charges[{index}].mass_g")
        left_g[key] -= one.mass_g
        resins[f"charges[{index}].lot_id"] = facts[one.lot_id].resin
    check_resins(resins)


def _post_charges(
    actor: Actor, batch: Batch, charges: Sequence[Charged], lots: Mapping[UUID, Lot]
) -> None:
    BatchCharge.objects.bulk_create(
        BatchCharge(
            community_id=actor.community_id,
            batch=batch,
            lot_id=one.lot_id,
            state=one.state,
            step=one.step,
            mass_g=one.mass_g,
        )
        for one in charges
    )
    post(
        actor,
        [
            Posting(
                frm=in_store(lots[one.lot_id], one.state),
                to=Position(kind=Account.Kind.BATCH, holder_id=batch.id, lot_id=one.lot_id),
                mass_g=one.mass_g,
                reason=Movement.Reason.CHARGED,
                note=one.step,
            )
            for one in charges
        ],
        at=batch.made_at,
    )


def _cannot_serve(answer: MixAnswer) -> CannotServe:
    short = ", ".join(
        f"{one.colour}: {kg_text(one.has_g)} of {kg_text(one.needs_g)}" for one in answer.short
    )
    return CannotServe(
        f"The stock cannot serve this recipe ({short or 'no lot fits it'}).",
        extra={
            "short": [
                {"colour": one.colour, "needs_g": one.needs_g, "has_g": one.has_g}
                for one in answer.short
            ],
            "nearest": [
                {
                    "kind": plan.kind,
                    "mass_g": plan.mass_g,
                    "off_g": plan.off_g,
                    "charges": [
                        {
                            "lot_id": str(one.lot.id),
                            "code": one.lot.code,
                            "state": one.state,
                            "step": one.step,
                            "colour": one.colour,
                            "mass_g": one.mass_g,
                        }
                        for one in plan.charges
                    ],
                }
                for plan in answer.nearest
            ],
        },
    )
