"""Reads of people and communities."""

from collections import defaultdict
from uuid import UUID

from network.errors import NotFound
from network.people.core.actor import Actor
from network.people.models import Community, Membership


def community_by_slug(slug: str) -> Community:
    """Return the community; raises NotFound."""
    try:
        return Community.objects.get(slug=slug)
    except Community.DoesNotExist:
        raise NotFound("There is no such community.") from None


def actor_in(*, community: Community, user_id: UUID | None) -> Actor:
    """Return who this person is in the community; a stranger is an actor without roles."""
    organisations: dict[str, set[UUID]] = defaultdict(set)
    if user_id is not None:
        held = Membership.objects.filter(community=community, user_id=user_id)
        for role, organisation_id in held.values_list("role", "organisation_id"):
            organisations[role].update({organisation_id} - {None})
    return Actor(
        user_id=user_id,
        community_id=community.id,
        organisations={role: frozenset(ids) for role, ids in organisations.items()},
    )
