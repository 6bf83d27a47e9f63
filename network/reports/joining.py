"""Diverted mass of several communities together, each gram once."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.reports.core.joining import STATEMENT, Counted, again_g, joined_g
from network.reports.core.method import DIVERTED, Method
from network.reports.models import OthersPlace
from network.reports.queries import Selection, diverted


@dataclass(frozen=True, kw_only=True)
class JoinedPart:
    """What one community diverted, and how much of it another one of these counted before."""

    community: Community
    diverted_g: int
    counted_before_g: int
    expanded_g: int


@dataclass(frozen=True, kw_only=True)
class Joined:
    """Diverted mass of several communities together, with its method and uncertainty, in g."""

    selection: Selection
    method: Method
    statement: str
    parts: Sequence[JoinedPart]
    diverted_g: int
    expanded_g: int


def others_places(actor: Actor) -> QuerySet[OthersPlace]:
    """Return the places that bring what other communities counted; organisers see them."""
    here = OthersPlace.objects.filter(community_id=actor.community_id)
    if not actor.is_organiser:
        return here.none()
    return here.select_related("place", "other").order_by("place__name", "id")


def joined(asking: Sequence[tuple[Actor, Community]], *, period: Selection) -> Joined:
    """Return the report of these communities together for the days of `period`.

    Each actor must be an organiser there: raises NotAllowed.
    """
    once = {community.id: (actor, community) for actor, community in asking}
    counted: dict[UUID, Counted] = {}
    expanded_g: dict[UUID, int] = {}
    for actor, community in once.values():
        actor.require(ORGANISER)
        whole = diverted(actor, community=community, selection=period)
        counted[community.id] = Counted(
            community_id=community.id,
            mass_g=whole.total.diverted_g,
            came_from_g=_came_from_g(actor, community, period),
        )
        expanded_g[community.id] = whole.uncertainty.expanded_g
    members, sources = list(counted.values()), _sources()
    return Joined(
        selection=period,
        method=DIVERTED,
        statement=STATEMENT,
        parts=[
            JoinedPart(
                community=community,
                diverted_g=counted[key].mass_g,
                counted_before_g=again_g(counted[key], members, sources),
                expanded_g=expanded_g[key],
            )
            for key, (_, community) in once.items()
        ],
        diverted_g=joined_g(members, sources),
        expanded_g=sum(expanded_g.values()),
    )


def _came_from_g(actor: Actor, community: Community, period: Selection) -> dict[UUID, int]:
    found: Counter[UUID] = Counter()
    for row in others_places(actor):
        of_place = Selection(
            first_day=period.first_day, last_day=period.last_day, place_id=row.place_id
        )
        report = diverted(actor, community=community, selection=of_place)
        found[row.other_id] += report.total.diverted_g
    return dict(found)


def _sources() -> dict[UUID, frozenset[UUID]]:
    """Return for every community here from which others it takes anything; no figures."""
    found: dict[UUID, set[UUID]] = defaultdict(set)
    for community_id, other_id in OthersPlace.objects.values_list("community_id", "other_id"):
        found[community_id].add(other_id)
    return {community_id: frozenset(others) for community_id, others in found.items()}
