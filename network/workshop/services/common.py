"""What every write of the workshop asks first."""

from uuid import UUID

from network.errors import InvalidInput
from network.lots.ledger import positions
from network.lots.models import Lot
from network.lots.services.common import in_store
from network.people.core.actor import MAKER, Actor
from network.people.models import Organisation
from network.people.queries import organisation_in
from network.units import kg_text
from network.workshop.models import Batch, NamedColour, State


def own_maker(actor: Actor, maker_id: UUID) -> Organisation:
    """Return a maker the actor works for; raises InvalidInput or NotAllowed."""
    maker = organisation_in(actor.community_id, maker_id, field="maker_id")
    actor.require(MAKER, organisation_id=maker.id)
    return maker


def own_batch(actor: Actor, batch_id: UUID) -> Batch:
    """Return a batch of a maker the actor works for, locked; raises InvalidInput naming it."""
    batch = (
        Batch.objects.select_for_update(of=("self",), no_key=True)
        .filter(community_id=actor.community_id, id=batch_id)
        .first()
    )
    if batch is None or batch.maker_id not in actor.held_for(MAKER):
        raise InvalidInput.of("batch_id", "There is no such batch here.", "Choose one of yours.")
    return batch


def own_colour(maker_id: UUID, colour_id: UUID, *, field: str) -> NamedColour:
    """Return one of a maker's colours; raises InvalidInput naming the field."""
    colour = NamedColour.objects.filter(maker_id=maker_id, id=colour_id).first()
    if colour is None:
        raise InvalidInput.of(
            field, "This maker has no such colour.", "Choose one of its colours, or add it."
        )
    return colour


def there_g(lots: list[Lot]) -> dict[tuple[UUID, str], int]:
    """Return how much of each lot lies in each state, in g."""
    balances_g = positions(lot.id for lot in lots)
    return {
        (lot.id, state): balances_g.get(in_store(lot, state), 0)
        for lot in lots
        for state in State.values
    }


def check_there(has_g: int, wanted_g: int, *, field: str) -> None:
    """Raise InvalidInput naming the field unless some mass is wanted and that much is there."""
    if not 0 < wanted_g <= has_g:
        raise InvalidInput.of(
            field,
            f"Of this lot {kg_text(has_g)} lie there in this state.",
            f"Send whole grams from 1 to {has_g}." if has_g else "Choose another lot or state.",
        )
