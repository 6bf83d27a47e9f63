"""At a place and on the way: material enters the ledger, or is turned away at the door."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import InvalidInput, NotFound, WrongState
from network.ids import new_id
from network.lots.core.ledger import Position, Posting
from network.lots.ledger import lock_lots, positions, post
from network.lots.models import Account, Inspection, Lot, Movement, Weighing
from network.lots.services.common import check_time, in_store, new_lot, refuse_reuse
from network.lots.services.measuring import Reading, measure, save_weighing
from network.lots.services.verdicts import Judged, judge, refusal_of, save_inspection
from network.materials.core.acceptance import Outcome
from network.people.core.actor import DRIVER, MAKER, Actor
from network.places.models import Container


@transaction.atomic
def take_from_container(
    actor: Actor,
    *,
    lot_id: UUID,
    container: Container,
    vehicle_id: UUID,
    reading: Reading,
    observation: Mapping[str, object] | None = None,
    note: str = "",
    at: datetime,
) -> tuple[Lot, Weighing, Inspection | None]:
    """Take what is in a container onto a vehicle, as a new lot with its weighing and look.

    Raises InvalidInput for a reading that cannot be, WrongState when by what was seen the rules
    turn it away, DifferentBody for a lot id used before.
    """
    _require_collector(actor, container)
    check_time(at)
    refuse_reuse(Lot.objects.filter(id=lot_id))
    origin = _origin(container)
    measured = measure(actor, reading=reading, maker_id=origin.maker_id, container=container)
    judged = _look(container, observation)
    lot = new_lot(actor, id=lot_id, like=origin, at=at)
    weighing = save_weighing(
        actor, lot=lot, stage=Weighing.Stage.DOORSTEP, measured=measured, at=at
    )
    inspection = None
    if judged:
        inspection = save_inspection(
            actor, judged=judged, at=at, note=note, lot=lot, container=container
        )
    collected = Posting(
        frm=Position(kind=Account.Kind.CONTAINER, holder_id=container.id, lot_id=lot.id),
        to=Position(kind=Account.Kind.VEHICLE, holder_id=vehicle_id, lot_id=lot.id),
        mass_g=weighing.net_g,
        reason=Movement.Reason.COLLECTED,
        weighing_id=weighing.id,
        inspection_id=inspection.id if inspection else None,
    )
    post(actor, [collected], at=at)
    return lot, weighing, inspection


@transaction.atomic
def turn_away_at_door(
    actor: Actor,
    *,
    container: Container,
    observation: Mapping[str, object],
    note: str,
    at: datetime,
    inspection_id: UUID | None = None,
) -> Inspection:
    """Leave a container's content at the place, with the reasons for it.

    Nothing enters the ledger. Raises InvalidInput when the rules would take it and no note says
    why the driver does not.
    """
    _require_collector(actor, container)
    check_time(at)
    inspection_id = inspection_id or new_id()
    refuse_reuse(Inspection.objects.filter(id=inspection_id))
    judged = judge(
        container.agreement,
        {"container": container.kind, **observation},
        stage=Inspection.Stage.DOORSTEP,
        field="look",
    )
    if not judged.is_turned_away and not note.strip():
        raise InvalidInput.of(
            "note",
            "By what was seen, the rules take this.",
            "Say in the note why it stays here, so that the place knows what to do.",
        )
    return save_inspection(
        actor,
        judged=judged,
        at=at,
        note=note,
        container=container,
        outcome=Outcome.TURNED_AWAY,
        id=inspection_id,
    )


@transaction.atomic
def bring_home(
    actor: Actor, *, lots: Iterable[Lot], vehicle_id: UUID, at: datetime
) -> list[Movement]:
    """Unload what a vehicle has of these lots into the maker's store, as collected."""
    check_time(at)
    held = lock_lots(actor, [lot.id for lot in lots])
    if any(lot.maker_id not in actor.held_for(DRIVER, MAKER) for lot in held):
        raise NotFound("There is no such lot here.")
    aboard_g = positions(lot.id for lot in held)
    postings = []
    for lot in held:
        aboard = Position(kind=Account.Kind.VEHICLE, holder_id=vehicle_id, lot_id=lot.id)
        if aboard_g.get(aboard):
            postings.append(
                Posting(
                    frm=aboard,
                    to=in_store(lot),
                    mass_g=aboard_g[aboard],
                    reason=Movement.Reason.BROUGHT_HOME,
                )
            )
    return post(actor, postings, at=at)


def _require_collector(actor: Actor, container: Container) -> None:
    if container.community_id != actor.community_id:
        raise NotFound("There is no such container here.")
    actor.require(DRIVER, MAKER, organisation_id=container.agreement.stream.maker_id)


def _origin(container: Container) -> Lot:
    """Return a lot, not saved, with the origin of what is in a container."""
    agreement = container.agreement
    return Lot(
        maker_id=agreement.stream.maker_id,
        stream_id=agreement.stream_id,
        agreement_id=agreement.id,
        place_id=agreement.place_id,
    )


def _look(container: Container, observation: Mapping[str, object] | None) -> Judged | None:
    """Return what was seen with its verdict; raises WrongState where that turns it away."""
    if observation is None:
        return None
    # Someone is there already: without a mass it cannot be too little for the journey.
    seen = {"container": container.kind, **observation, "mass_g": None}
    judged = judge(container.agreement, seen, stage=Inspection.Stage.DOORSTEP, field="look")
    if judged.is_turned_away:
        raise WrongState(
            "By what was seen, the rules turn this away, so it cannot be collected.",
            extra=refusal_of(judged),
        )
    return judged
