"""Reads of notices: a person's own, and nobody else's."""

from uuid import UUID

from django.db.models import QuerySet

from network.errors import NotAllowed, NotFound
from network.notices.models import Notice, NoticeChoice
from network.people.core.actor import Actor
from network.people.models import Membership, User


def notices_for(actor: Actor) -> QuerySet[Notice]:
    """Return what a person was told in a community."""
    if actor.user_id is None:
        return Notice.objects.none()
    return Notice.objects.filter(community_id=actor.community_id, user_id=actor.user_id)


def notice_for(actor: Actor, notice_id: UUID) -> Notice:
    """Return one notice of a person; raises NotFound."""
    notice = notices_for(actor).filter(id=notice_id).first()
    if notice is None:
        raise NotFound
    return notice


def choice_for(actor: Actor) -> NoticeChoice:
    """Return what the person who asks chose in a community; raises NotAllowed for a stranger."""
    if actor.user_id is None:
        raise NotAllowed("Sign in first.")
    return choice_of(actor.community_id, actor.user_id)


def choice_of(community_id: UUID, user_id: UUID) -> NoticeChoice:
    """Return what a person chose in a community, or what holds for whoever chose nothing."""
    chosen = NoticeChoice.objects.filter(community_id=community_id, user_id=user_id).first()
    return chosen or NoticeChoice(community_id=community_id, user_id=user_id)


def way_of(choice: NoticeChoice, kind: str) -> str:
    """Return how a person is told something of a kind."""
    return str(choice.ways.get(kind, NoticeChoice.Way.EMAIL))


def people_in(community_id: UUID, *, role: str, organisation_id: UUID | None = None) -> list[User]:
    """Return who holds a role, for an organisation if one is named."""
    held = Membership.objects.filter(community_id=community_id, role=role, user__is_active=True)
    if organisation_id is not None:
        held = held.filter(organisation_id=organisation_id)
    return [membership.user for membership in held.select_related("user").order_by("user_id")]
