"""Who is asking: what a read may show and a write may do is decided from this alone."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from uuid import UUID

from network.errors import NotAllowed

CONTACT = "contact"
DRIVER = "driver"
MAKER = "maker"
ORGANISER = "organiser"


@dataclass(frozen=True, kw_only=True)
class Actor:
    """A person, or the public (`user_id` None), in one community.

    `organisations` maps each role held to the organisations it is held for; an organiser's set is
    empty, since the role is held for the whole community.
    """

    user_id: UUID | None
    community_id: UUID
    organisations: Mapping[str, frozenset[UUID]] = field(default_factory=dict)

    @property
    def roles(self) -> frozenset[str]:
        """The roles held here."""
        return frozenset(self.organisations)

    @property
    def is_organiser(self) -> bool:
        """Whether the whole community is this person's to see."""
        return ORGANISER in self.organisations

    def held_for(self, *roles: str) -> frozenset[UUID]:
        """Return the organisations for which any of the roles is held."""
        return frozenset().union(*(self.organisations.get(role, frozenset()) for role in roles))

    def require(self, *roles: str, organisation_id: UUID | None = None) -> None:
        """Raise NotAllowed unless a role is held, for that organisation if one is named."""
        if ORGANISER in roles and self.is_organiser:
            return
        if organisation_id is None:
            if not self.roles.isdisjoint(roles):
                return
        elif organisation_id in self.held_for(*roles):
            return
        raise NotAllowed("Your role in this community does not allow that.", extra={"roles": roles})
