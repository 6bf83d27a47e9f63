"""Who may see which runs, recipes, batches, presses, pieces and prices: makers their own."""

from typing import TypeVar
from uuid import UUID

from django.db.models import Model, Prefetch, Q, QuerySet

from network.people.core.actor import MAKER, Actor
from network.rows import one_of
from network.workshop.models import (
    Batch,
    BatchCharge,
    NamedColour,
    Press,
    Pressing,
    PriceSheet,
    ProcessInput,
    ProcessOutput,
    ProcessRun,
    ProductRun,
    Recipe,
)

M = TypeVar("M", bound=Model)


def colours_seen_by(actor: Actor) -> QuerySet[NamedColour]:
    """Return named colours."""
    return NamedColour.objects.filter(_own(actor)).select_related("maker")


def runs_seen_by(actor: Actor) -> QuerySet[ProcessRun]:
    """Return process runs with their lots."""
    lots_in = ProcessInput.objects.select_related("lot").order_by("id")
    lots_out = ProcessOutput.objects.select_related(
        "lot__material__colour", "lot__material__resin"
    ).order_by("id")
    return (
        ProcessRun.objects.filter(_own(actor))
        .select_related("maker")
        .prefetch_related(Prefetch("inputs", lots_in), Prefetch("outputs", lots_out))
    )


def recipes_seen_by(actor: Actor) -> QuerySet[Recipe]:
    """Return recipes."""
    return Recipe.objects.filter(_own(actor)).select_related("maker")


def recipe_seen_by(actor: Actor, recipe_id: UUID) -> Recipe:
    """Return one recipe; raises NotFound."""
    return _one(recipes_seen_by(actor), recipe_id, "recipe")


def batches_seen_by(actor: Actor) -> QuerySet[Batch]:
    """Return batches with what was charged."""
    charges = BatchCharge.objects.select_related("lot").order_by("id")
    return (
        Batch.objects.filter(_own(actor))
        .select_related("maker", "recipe")
        .prefetch_related(Prefetch("charges", charges))
    )


def batch_seen_by(actor: Actor, batch_id: UUID) -> Batch:
    """Return one batch; raises NotFound."""
    return _one(batches_seen_by(actor), batch_id, "batch")


def presses_seen_by(actor: Actor) -> QuerySet[Press]:
    """Return presses."""
    return Press.objects.filter(_own(actor)).select_related("maker")


def pressings_seen_by(actor: Actor) -> QuerySet[Pressing]:
    """Return pressings."""
    return Pressing.objects.filter(_own(actor, "batch__")).select_related("batch", "press")


def pressing_seen_by(actor: Actor, pressing_id: UUID) -> Pressing:
    """Return one pressing; raises NotFound."""
    return _one(pressings_seen_by(actor), pressing_id, "pressing")


def products_seen_by(actor: Actor) -> QuerySet[ProductRun]:
    """Return runs of pieces, with their passport where one is published."""
    return ProductRun.objects.filter(_own(actor, "batch__")).select_related(
        "batch__maker", "passport"
    )


def product_seen_by(actor: Actor, product_id: UUID) -> ProductRun:
    """Return one run of pieces; raises NotFound."""
    return _one(products_seen_by(actor), product_id, "run of pieces")


def price_sheets_seen_by(actor: Actor) -> QuerySet[PriceSheet]:
    """Return price sheets; they are the maker's business, so not the organiser's."""
    return PriceSheet.objects.filter(
        community_id=actor.community_id, maker_id__in=actor.held_for(MAKER)
    ).select_related("maker", "product")


def _own(actor: Actor, path: str = "") -> Q:
    here = Q(community_id=actor.community_id)
    if actor.is_organiser:
        return here
    return here & Q(**{f"{path}maker_id__in": actor.held_for(MAKER)})


def _one(seen: QuerySet[M], row_id: UUID, name: str) -> M:
    return one_of(seen, row_id, f"There is no such {name} here.")
