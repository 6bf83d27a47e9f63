"""Reads of people and communities."""

from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet

from network.errors import Expired, InvalidInput, NotFound
from network.people.asking import actor_of
from network.people.core.actor import CONTACT, DRIVER, MAKER, ORGANISER, Actor
from network.people.models import (
    Community,
    District,
    Invitation,
    MachineToken,
    Membership,
    Organisation,
    TrailEntry,
    User,
)
from network.tokens import hash_of


def communities() -> QuerySet[Community]:
    """Return all communities: that one exists is no secret."""
    return Community.objects.order_by("name", "slug")


def community_by_slug(slug: str) -> Community:
    """Return the community; raises NotFound."""
    try:
        return Community.objects.get(slug=slug)
    except Community.DoesNotExist:
        raise NotFound("There is no such community.") from None


def community_of(actor: Actor) -> Community:
    """Return the community an actor acts in."""
    return Community.objects.get(id=actor.community_id)


def actor_in(*, community: Community, user_id: UUID | None) -> Actor:
    """Return who this person is in the community; a stranger is an actor without roles."""
    if user_id is None:
        return actor_of((), community_id=community.id, user_id=None)
    held = Membership.objects.filter(community=community, user_id=user_id)
    roles = held.values_list("role", "organisation_id")
    return actor_of(roles, community_id=community.id, user_id=user_id)


def person_by_id(user_id: UUID) -> User:
    """Return a person by the id that an actor carries."""
    return User.objects.get(id=user_id)


def memberships_of(user_id: UUID) -> QuerySet[Membership]:
    """Return the roles that a person holds, in every community."""
    held = Membership.objects.filter(user_id=user_id)
    return held.select_related("community", "organisation").order_by("community__name", "id")


def districts_of(community: Community) -> QuerySet[District]:
    """Return a community's districts; they are on every map, so they are public."""
    return District.objects.filter(community=community).order_by("name")


def district_in(community_id: UUID, district_id: UUID, *, field: str = "district_id") -> District:
    """Return a district named in what was sent; raises InvalidInput naming `field`."""
    district = District.objects.filter(community_id=community_id, id=district_id).first()
    if district is None:
        raise _unknown(field, "district")
    return district


def organisations_seen_by(actor: Actor) -> QuerySet[Organisation]:
    """Return organisations: all for the trade and organisers, makers and its own for a contact."""
    here = Organisation.objects.filter(community_id=actor.community_id)
    if not actor.roles.isdisjoint({DRIVER, MAKER, ORGANISER}):
        return here
    if CONTACT in actor.roles:
        return here.filter(Q(kind=Organisation.Kind.MAKER) | Q(id__in=actor.held_for(CONTACT)))
    return here.none()


def organisation_in(
    community_id: UUID, organisation_id: UUID, *, field: str = "organisation_id"
) -> Organisation:
    """Return an organisation named in what was sent; raises InvalidInput naming `field`."""
    here = Organisation.objects.filter(community_id=community_id, id=organisation_id)
    organisation = here.first()
    if organisation is None:
        raise _unknown(field, "organisation")
    return organisation


def members_seen_by(actor: Actor) -> QuerySet[Membership]:
    """Return who holds which role: all of them for organisers, their own people for makers."""
    here = Membership.objects.filter(community_id=actor.community_id)
    if not actor.is_organiser:
        here = here.filter(organisation_id__in=actor.held_for(MAKER))
    return here.select_related("user", "organisation")


def invitations_seen_by(actor: Actor) -> QuerySet[Invitation]:
    """Return the invitations of a community, for its organisers only."""
    if not actor.is_organiser:
        return Invitation.objects.none()
    here = Invitation.objects.filter(community_id=actor.community_id)
    return here.select_related("organisation")


def usable_invitation(token: str, *, at: datetime) -> Invitation:
    """Return an invitation that can still be accepted; raises NotFound or Expired."""
    found = Invitation.objects.select_related("community", "organisation")
    invitation = found.filter(token_sha256=hash_of(token)).first()
    if invitation is None:
        raise NotFound("There is no such invitation.")
    if invitation.used_at is not None:
        raise Expired("This invitation was used. Sign in, or ask the organiser for another.")
    if invitation.expires_at <= at:
        raise Expired("This invitation has expired. Ask the organiser for another.")
    return invitation


def machine_tokens_of(actor: Actor) -> QuerySet[MachineToken]:
    """Return the tokens that a person made here and that were not taken back."""
    if actor.user_id is None:
        return MachineToken.objects.none()
    mine = MachineToken.objects.filter(community_id=actor.community_id, owner_id=actor.user_id)
    return mine.filter(revoked_at__isnull=True)


def trail_seen_by(actor: Actor) -> QuerySet[TrailEntry]:
    """Return who saw and changed what, for the organisers of a community only."""
    if not actor.is_organiser:
        return TrailEntry.objects.none()
    here = TrailEntry.objects.filter(community_id=actor.community_id)
    return here.select_related("by", "about")


def _unknown(field: str, thing: str) -> InvalidInput:
    return InvalidInput.of(
        field,
        f"There is no such {thing} in this community.",
        f"Choose one of the community's {thing}s.",
    )
