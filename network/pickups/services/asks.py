"""A place asks to be visited."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import InvalidInput, NotFound, WrongState
from network.events import Event, announce
from network.people.core.actor import CONTACT, Actor
from network.pickups.models import Pickup
from network.pickups.queries import STANDING
from network.pickups.services._shared import moment, replayed
from network.pickups.words import day_text
from network.places.models import Agreement, Container, Place


@transaction.atomic
def ask_for_pickup(
    actor: Actor,
    *,
    pickup_id: UUID,
    place_id: UUID,
    note: str = "",
    maker_id: UUID | None = None,
    at: datetime | None = None,
) -> Pickup:
    """Ask a maker to come to a place; asking again while it is open changes nothing.

    The maker may be left out where the place sets aside for one only. Raises NotAllowed, WrongState
    where a visit is planned already or there is nothing that could be collected.
    """
    # Two people of one place asking at once are told apart here.
    place = (
        Place.objects.select_for_update(no_key=True)
        .filter(community_id=actor.community_id, id=place_id)
        .first()
    )
    if place is None:
        raise NotFound("There is no such place here.")
    actor.require(CONTACT, organisation_id=place.organisation_id)
    sent_before = replayed(actor, Pickup, pickup_id, place_id=place_id)
    if sent_before is not None:
        return sent_before
    maker_id = _maker_of(place, maker_id)
    return _open_ask(place, maker_id) or _ask(
        actor, place, maker_id, pickup_id=pickup_id, note=note, at=moment(at)
    )


def _ask(
    actor: Actor, place: Place, maker_id: UUID, *, pickup_id: UUID, note: str, at: datetime
) -> Pickup:
    announce(Event.PICKUP_ASKED, community_id=actor.community_id, subject_id=pickup_id, at=at)
    return Pickup.objects.create(
        id=pickup_id,
        community_id=actor.community_id,
        maker_id=maker_id,
        place=place,
        status=Pickup.Status.ASKED,
        asked_at=at,
        asked_by_id=actor.user_id,
        asked_note=note,
        created_at=at,
    )


def _maker_of(place: Place, maker_id: UUID | None) -> UUID:
    """Return the maker that is asked, which must take something from the place."""
    if place.status != Place.Status.ADMITTED:
        raise WrongState(f"{place.name} has not been admitted, so nobody comes yet.")
    makers = set(
        Container.objects.filter(
            community_id=place.community_id,
            agreement__place=place,
            agreement__status=Agreement.Status.RUNNING,
            retired_at__isnull=True,
        ).values_list("agreement__stream__maker_id", flat=True)
    )
    if maker_id in makers:
        return maker_id
    if maker_id is not None:
        raise InvalidInput.of(
            "maker_id", "That maker takes nothing from here.", "Choose one that has an agreement."
        )
    if not makers:
        raise WrongState(f"{place.name} has no container that anyone empties yet.")
    if len(makers) > 1:
        raise InvalidInput.of("maker_id", "Several makers come here.", "Say which one is asked.")
    return makers.pop()


def _open_ask(place: Place, maker_id: UUID) -> Pickup | None:
    """Return what was asked before, or None; raises WrongState when a visit is planned."""
    pickups = Pickup.objects.filter(
        community_id=place.community_id, place=place, maker_id=maker_id
    ).order_by("planned_arrival")
    planned = pickups.filter(status__in=STANDING).first()
    if planned is not None and planned.day is not None:
        raise WrongState(
            f"A visit is planned already: {day_text(planned.day)}.",
            extra={"pickup_id": str(planned.id)},
        )
    return pickups.filter(status=Pickup.Status.ASKED).first()
