"""Prices kept, and passports published."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import Conflict, InvalidInput, NotFound
from network.lots.core.codes import lot_code
from network.lots.services.common import refuse_reuse
from network.people.core.actor import MAKER, Actor
from network.workshop.models import Passport, PriceSheet, ProductRun
from network.workshop.queries.passports import story_of
from network.workshop.queries.pricing import PriceQuestion, price, price_data
from network.workshop.services.common import own_maker


def save_price_sheet(
    actor: Actor,
    *,
    sheet_id: UUID,
    maker_id: UUID,
    name: str,
    question: PriceQuestion,
    inputs: Mapping[str, Any],
    product_id: UUID | None = None,
) -> PriceSheet:
    """Keep a price with all that went into it; `inputs` is the question as it was sent.

    Raises what the price raises, InvalidInput for pieces of another maker.
    """
    maker = own_maker(actor, maker_id)
    refuse_reuse(PriceSheet.objects.filter(id=sheet_id))
    product = None
    if product_id is not None:
        product = ProductRun.objects.filter(id=product_id, batch__maker=maker).first()
        if product is None:
            raise InvalidInput.of(
                "product_id", "This maker has no such pieces.", "Choose one of its runs."
            )
    result = price(actor, question)
    return PriceSheet.objects.create(
        id=sheet_id,
        community_id=actor.community_id,
        maker=maker,
        product=product,
        name=name,
        currency=result.currency,
        inputs=dict(inputs),
        result=price_data(result),
        created_at=timezone.now(),
        by_id=actor.user_id,
    )


@transaction.atomic
def publish_passport(
    actor: Actor, *, passport_id: UUID, product_id: UUID, at: datetime
) -> Passport:
    """Publish the public page of a run of pieces.

    Raises NotFound for pieces of another maker, Conflict when they have one already.
    """
    product = (
        ProductRun.objects.select_for_update(of=("self",))
        .select_related("batch", "community")
        .filter(community_id=actor.community_id, id=product_id)
        .first()
    )
    if product is None or product.batch.maker_id not in actor.held_for(MAKER):
        raise NotFound("There is no such run of pieces here.")
    refuse_reuse(Passport.objects.filter(id=passport_id))
    if Passport.objects.filter(product=product).exists():
        raise Conflict("These pieces have a passport already.")
    story_of(product)
    return Passport.objects.create(
        id=passport_id,
        community_id=actor.community_id,
        product=product,
        slug=lot_code(passport_id).removeprefix("L-").lower(),
        published_at=at,
        by_id=actor.user_id,
    )
