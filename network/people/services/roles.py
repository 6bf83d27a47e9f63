"""Who holds which role, and what it may be held for."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput
from network.people.core.actor import CONTACT, ORGANISER, Actor
from network.people.models import Membership, Organisation, Role, User
from network.people.services.trail import Act, note


@transaction.atomic
def grant_role(
    actor: Actor,
    *,
    user: User,
    role: str,
    organisation: Organisation | None = None,
    at: datetime | None = None,
) -> Membership:
    """Give a person a role, as an organiser; a role already held is returned as it stands.

    Raises InvalidInput when the role and the organisation do not fit.
    """
    actor.require(ORGANISER)
    check_role(actor.community_id, role, organisation)
    if organisation is None and role != Role.ORGANISER:
        raise needs_organisation(role)
    return hold(actor.community_id, user, role, organisation, at, by_id=actor.user_id)


def hold(
    community_id: UUID,
    user: User,
    role: str,
    organisation: Organisation | None,
    at: datetime | None,
    *,
    by_id: UUID | None = None,
) -> Membership:
    """Let a person hold a role, unasked; for services that have checked that this is right.

    `by_id` is who gives it, where that is somebody else.
    """
    membership, is_new = Membership.objects.get_or_create(
        community_id=community_id,
        user_id=user.id,
        role=role,
        organisation=organisation,
        defaults={"created_at": at or timezone.now()},
    )
    if is_new:
        note(
            Act.ROLE_GRANTED,
            community_id=community_id,
            by_id=by_id or user.id,
            about_id=user.id,
            subject=membership,
        )
    return membership


def check_role(community_id: UUID, role: str, organisation: Organisation | None) -> None:
    """Raise InvalidInput unless the role can be held for that organisation, here."""
    if role not in Role.values:
        raise InvalidInput.of(
            "role", "There is no such role.", f"Choose one of: {', '.join(Role.values)}."
        )
    if organisation is None:
        return
    if organisation.community_id != community_id:
        raise InvalidInput.of(
            "organisation_id",
            "There is no such organisation in this community.",
            "Choose one of the community's organisations.",
        )
    if role == Role.ORGANISER:
        raise InvalidInput.of(
            "organisation_id",
            "An organiser's role is held for the whole community.",
            "Leave the organisation out.",
        )
    if role != CONTACT and organisation.kind != Organisation.Kind.MAKER:
        raise InvalidInput.of(
            "organisation_id",
            f"The role of {role} is held for a maker, and this is none.",
            "Choose a maker, or invite a contact.",
        )


def needs_organisation(role: str) -> InvalidInput:
    return InvalidInput.of(
        "organisation_id",
        f"The role of {role} is held for an organisation.",
        "Name the organisation.",
    )
