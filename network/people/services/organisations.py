"""Adding organisations, by an organiser or by people of their own."""

from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from network.errors import Conflict, DifferentBody, InvalidInput, NotAllowed
from network.ids import new_id
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Organisation, Role, User
from network.people.queries import community_of
from network.people.services.roles import hold


@transaction.atomic
def add_organisation(
    actor: Actor,
    *,
    name: str,
    kind: str,
    carrier_registration: str = "",
    organisation_id: UUID | None = None,
    at: datetime | None = None,
) -> Organisation:
    """Add an organisation, of any kind, as an organiser; raises Conflict for a name in use."""
    actor.require(ORGANISER)
    return _add_named(
        actor.community_id,
        name=name,
        kind=kind,
        carrier_registration=carrier_registration,
        organisation_id=organisation_id,
        at=at,
    )


@transaction.atomic
def found_organisation(
    actor: Actor,
    *,
    name: str,
    kind: str,
    organisation_id: UUID | None = None,
    at: datetime | None = None,
) -> Organisation:
    """Add one's own organisation and become its contact, as anyone signed in may.

    Raises NotAllowed where a community takes invited people only, InvalidInput for a maker (which
    an organiser adds), Conflict for a name in use.
    """
    if actor.user_id is None:
        raise NotAllowed("Sign in first.")
    if not community_of(actor).open_to_registration:
        raise NotAllowed("This community takes invited people only. Ask its organiser for a link.")
    organisation = place_holder(
        actor.community_id, name=name, kind=kind, organisation_id=organisation_id, at=at
    )
    hold(actor.community_id, User(id=actor.user_id), Role.CONTACT, organisation, at)
    return organisation


def place_holder(
    community_id: UUID,
    *,
    name: str,
    kind: str,
    organisation_id: UUID | None = None,
    at: datetime | None = None,
    prefix: str = "",
) -> Organisation:
    """Add an organisation that may hold places: a maker is added by an organiser only."""
    check_kind(kind, f"{prefix}kind", maker_allowed=False)
    return _add_named(community_id, name=name, kind=kind, organisation_id=organisation_id, at=at)


def check_kind(kind: str, field: str, *, maker_allowed: bool) -> None:
    """Raise InvalidInput naming `field` for an unknown kind, or a maker where none may be."""
    if kind not in Organisation.Kind.values:
        raise InvalidInput.of(
            field,
            "There is no such kind of organisation.",
            f"Choose one of: {', '.join(Organisation.Kind.values)}.",
        )
    if kind == Organisation.Kind.MAKER and not maker_allowed:
        raise InvalidInput.of(
            field,
            "A maker is added by an organiser.",
            "Choose another kind, or write to the organiser.",
        )


def _add_named(
    community_id: UUID,
    *,
    name: str,
    kind: str,
    carrier_registration: str = "",
    organisation_id: UUID | None = None,
    at: datetime | None = None,
) -> Organisation:
    check_kind(kind, "kind", maker_allowed=True)
    if not name.strip():
        raise InvalidInput.of("name", "An organisation has a name.", "Write its name.")
    organisation = Organisation(
        id=organisation_id or new_id(),
        community_id=community_id,
        name=name.strip(),
        kind=kind,
        carrier_registration=carrier_registration,
        created_at=at or timezone.now(),
    )
    try:
        # Of two who add the same name at once, the second is told of the first.
        with transaction.atomic():
            organisation.save(force_insert=True)
    except IntegrityError as clash:
        if Organisation.objects.filter(id=organisation.id).exists():
            raise DifferentBody from clash
        raise Conflict(
            "There is an organisation of that name. Choose another name, or ask the organiser "
            "to invite you to it."
        ) from clash
    return organisation
