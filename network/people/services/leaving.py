"""A role is given up, ended or passed on; a community is never left without an organiser."""

from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import Conflict, InvalidInput, NotFound
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community, Membership, Role
from network.people.queries import members_seen_by
from network.people.services.roles import hold
from network.people.services.trail import Act, note
from network.rows import one_of


class LastOrganiser(Conflict):
    """A community needs an organiser: pass the role on first."""

    code = "last_organiser"


@transaction.atomic
def leave_community(actor: Actor) -> None:
    """Give up all one's roles in a community; with none left, nothing changes.

    Raises LastOrganiser.
    """
    if actor.is_organiser:
        _refuse_if_last(actor.community_id, actor.user_id)
    held = Membership.objects.filter(community_id=actor.community_id)
    for membership in held.filter(user_id=_person(actor)):
        _end(membership, by_id=actor.user_id)


@transaction.atomic
def end_membership(actor: Actor, *, membership_id: UUID) -> None:
    """End a person's role, as an organiser. Raises NotAllowed, NotFound, LastOrganiser."""
    actor.require(ORGANISER)
    membership = one_of(members_seen_by(actor), membership_id, "Nobody holds that role here.")
    if membership.role == Role.ORGANISER:
        _refuse_if_last(actor.community_id, membership.user_id)
    _end(membership, by_id=actor.user_id)


@transaction.atomic
def pass_on_organiser(actor: Actor, *, user_id: UUID) -> Membership:
    """Make another member the organiser in one's own place, in one step.

    Raises NotAllowed, InvalidInput for somebody who is not a member here, or is oneself.
    """
    actor.require(ORGANISER)
    _organisers(actor.community_id)
    others = Membership.objects.filter(community_id=actor.community_id, user__is_active=True)
    heir = others.exclude(user_id=_person(actor)).filter(user_id=user_id).first()
    if heir is None:
        raise InvalidInput.of(
            "user_id",
            "That person holds no role in this community.",
            "Choose another member, or invite them first.",
        )
    made = hold(
        actor.community_id, heir.user, Role.ORGANISER, None, timezone.now(), by_id=actor.user_id
    )
    mine = Membership.objects.filter(community_id=actor.community_id, role=Role.ORGANISER)
    for membership in mine.filter(user_id=_person(actor)):
        _end(membership, by_id=actor.user_id)
    return made


def _end(membership: Membership, *, by_id: UUID | None) -> None:
    note(
        Act.ROLE_ENDED,
        community_id=membership.community_id,
        by_id=by_id,
        about_id=membership.user_id,
        subject=membership,
    )
    membership.delete()


def refuse_last_organiser(user_id: UUID) -> None:
    """Raise LastOrganiser naming the communities that would be left without one."""
    theirs = Membership.objects.filter(user_id=user_id, role=Role.ORGANISER)
    for community_id in theirs.order_by("community_id").values_list("community_id", flat=True):
        _refuse_if_last(community_id, user_id)


def _refuse_if_last(community_id: UUID, user_id: UUID | None) -> None:
    if _organisers(community_id) == {user_id}:
        name = Community.objects.get(id=community_id).name
        raise LastOrganiser(
            f"{name} has no other organiser. Pass the role on to somebody first.",
            extra={"community": name},
        )


def _organisers(community_id: UUID) -> set[UUID]:
    """Return who the organisers are, their rows locked: of two who leave at once one is last."""
    held = Membership.objects.select_for_update().filter(
        community_id=community_id, role=Role.ORGANISER, user__is_active=True
    )
    return {membership.user_id for membership in held.order_by("id")}


def _person(actor: Actor) -> UUID:
    if actor.user_id is None:
        raise NotFound("Nobody is signed in.")
    return actor.user_id
