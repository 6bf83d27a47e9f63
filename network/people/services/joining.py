"""Coming in: people, invitations and links that sign in."""

import secrets
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.utils import timezone

from network.errors import Conflict, Expired, InvalidInput
from network.ids import new_id
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Invitation, Membership, Organisation, Role, User
from network.people.queries import organisation_in, usable_invitation
from network.people.services.organisations import check_kind, place_holder
from network.people.services.roles import check_role, hold, needs_organisation
from network.people.services.trail import Act, note_act
from network.tokens import hash_of
from network.tongues import LANGUAGES

VALID_DAYS_MAX = 90
_TOKEN_BYTES = 24


def add_person(*, email: str, name: str = "") -> User:
    """Return the person with this e-mail address, who is added if not known yet."""
    # An empty password would count as one that can be asked for; nobody here has any.
    new = {"name": name, "password": make_password(None)}
    person, _ = User.objects.get_or_create(email=email.strip().lower(), defaults=new)
    return person


@transaction.atomic
def name_person(*, user_id: UUID, name: str) -> User:
    """Let a person be called by a name of their choosing; an empty one shows the address."""
    person = User.objects.get(id=user_id)
    person.name = name.strip()
    person.save(update_fields=["name"])
    return person


def choose_language(*, user_id: UUID, language: str) -> User:
    """Let a person be written to in a language; raises InvalidInput for one that is not spoken."""
    if language not in LANGUAGES:
        raise InvalidInput.of(
            "language",
            "This language is not spoken here.",
            f"Choose one of: {', '.join(LANGUAGES)}.",
        )
    person = User.objects.get(id=user_id)
    person.language = language
    person.save(update_fields=["language"])
    return person


@transaction.atomic
def invite(
    actor: Actor,
    *,
    role: str,
    organisation_id: UUID | None = None,
    suggested_name: str = "",
    suggested_kind: str = "",
    valid_days: int = 14,
    invitation_id: UUID | None = None,
    at: datetime | None = None,
) -> tuple[Invitation, str]:
    """Make an invitation; return it with the token of its link, which is not kept.

    A contact may be invited without an organisation, which is then made on accepting.
    Raises InvalidInput when role and organisation do not fit, or for an odd number of days.
    """
    actor.require(ORGANISER)
    organisation = None
    if organisation_id is not None:
        organisation = organisation_in(actor.community_id, organisation_id)
    check_role(actor.community_id, role, organisation)
    if organisation is None and role not in {Role.ORGANISER, Role.CONTACT}:
        raise needs_organisation(role)
    if suggested_kind:
        check_kind(suggested_kind, "suggested_kind", maker_allowed=False)
    if not 1 <= valid_days <= VALID_DAYS_MAX:
        raise InvalidInput.of(
            "valid_days",
            f"A link is valid for 1 to {VALID_DAYS_MAX} days.",
            "Choose a number of days in between.",
        )
    made_at = at or timezone.now()
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    invitation = Invitation.objects.create(
        id=invitation_id or new_id(),
        community_id=actor.community_id,
        token_sha256=hash_of(token),
        role=role,
        organisation=organisation,
        suggested_name=suggested_name,
        suggested_kind=suggested_kind,
        created_by_id=actor.user_id,
        created_at=made_at,
        expires_at=made_at + timedelta(days=valid_days),
    )
    note_act(actor, Act.INVITED, invitation)
    return invitation, token


@transaction.atomic
def accept_invitation(
    *,
    token: str,
    user_id: UUID | None,
    email: str,
    name: str,
    organisation_name: str = "",
    organisation_kind: str = "",
    at: datetime | None = None,
) -> Membership:
    """Join by a link, once: of two at the same time one joins and the other finds it used.

    `user_id` is who is signed in. Raises NotFound or Expired for the link, Conflict when the
    address is that of somebody who is not the one signed in.
    """
    now = at or timezone.now()
    # The row is locked until we commit, so that the second to come reads it as used.
    Invitation.objects.select_for_update().filter(token_sha256=hash_of(token)).first()
    invitation = usable_invitation(token, at=now)
    person = _joiner(user_id=user_id, email=email, name=name)
    organisation = invitation.organisation
    if organisation is None and invitation.role == Role.CONTACT:
        organisation = _invited_organisation(
            invitation, name=organisation_name, kind=organisation_kind, at=now
        )
    membership = hold(invitation.community_id, person, invitation.role, organisation, now)
    invitation.used_at = now
    invitation.used_by = person
    invitation.save(update_fields=["used_at", "used_by"])
    return membership


def sign_in_link_token(user: User) -> str:
    """Return a token that signs this person in once, within a day."""
    token: str = _sesame().get_token(user)
    return token


@transaction.atomic
def use_sign_in_link(*, token: str) -> User:
    """Return the person of a one-time link and spoil the link; raises Expired."""
    sesame = _sesame()
    user = sesame.get_user(token, update_last_login=False)
    if user is None:
        raise _spent()
    # The link is checked again with the row locked: of two at the same time one signs in.
    User.objects.select_for_update().get(id=user.id)
    person: User | None = sesame.get_user(token, update_last_login=True)
    if person is None:
        raise _spent()
    return person


def _sesame() -> Any:
    """Return the maker of links, which wants the secret key as soon as it is imported."""
    from sesame import utils

    return utils


def _spent() -> Expired:
    return Expired("This link was used or has expired. Sign in by e-mail, or ask for another.")


def _joiner(*, user_id: UUID | None, email: str, name: str) -> User:
    address = email.strip().lower()
    if user_id is not None and not address:
        return User.objects.get(id=user_id)
    if not address:
        raise InvalidInput.of("email", "An address is needed to join.", "Write your e-mail.")
    known = User.objects.filter(email=address).first()
    if user_id is None:
        if known is not None:
            raise Conflict(
                "There is an account with that address. Sign in as it, then open the link again."
            )
        return add_person(email=address, name=name)
    if known is None or known.id != user_id:
        raise Conflict(
            "You are signed in with another address. Join with that one, or sign out first."
        )
    return known


def _invited_organisation(
    invitation: Invitation, *, name: str, kind: str, at: datetime
) -> Organisation:
    name = name or invitation.suggested_name
    kind = kind or invitation.suggested_kind
    for field, value in (("organisation_name", name), ("organisation_kind", kind)):
        if not value:
            raise InvalidInput.of(
                field,
                "This invitation does not name an organisation yet.",
                "Say what your organisation is called and of which kind it is.",
            )
    return place_holder(
        invitation.community_id, name=name, kind=kind, at=at, prefix="organisation_"
    )
