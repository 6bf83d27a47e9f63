"""The figures of several communities as one, with nothing counted twice."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from uuid import UUID

STATEMENT = (
    "What a place brings that is marked as another community's, and that this other community had"
    " counted before, is counted there and not again: also where it went through a third community"
    " that is not joined here, of which then nothing is counted, since it cannot be told apart."
    " Errors are added up as they stand, since they may have causes in common."
)


@dataclass(frozen=True, kw_only=True)
class Counted:
    """What a community counted, and how much of it came from which other ones, in g."""

    community_id: UUID
    mass_g: int
    came_from_g: Mapping[UUID, int] = field(default_factory=dict)


def again_g(
    counted: Counted, joined: Sequence[Counted], sources: Mapping[UUID, frozenset[UUID]]
) -> int:
    """Return how much of what a community counted one of the joined may have counted before.

    `sources` has for each community from which others it takes anything.
    """
    members = frozenset(one.community_id for one in joined)
    return sum(
        mass_g
        for other, mass_g in counted.came_from_g.items()
        if not members.isdisjoint(_behind(other, sources))
    )


def joined_g(joined: Sequence[Counted], sources: Mapping[UUID, frozenset[UUID]]) -> int:
    """Return the mass of several communities together; one that is named twice counts once."""
    once = {one.community_id: one for one in joined}
    return sum(one.mass_g - again_g(one, joined, sources) for one in once.values())


def _behind(community_id: UUID, sources: Mapping[UUID, frozenset[UUID]]) -> frozenset[UUID]:
    """Return a community and all from which its material may have come."""
    found: set[UUID] = set()
    left = [community_id]
    while left:
        one = left.pop()
        if one not in found:
            found.add(one)
            left.extend(sources.get(one, ()))
    return frozenset(found)
