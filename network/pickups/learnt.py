"""What a maker's driven legs say about its planned ones, and what it reckons its ways with."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from network.people.core.actor import MAKER, Actor
from network.people.models import Organisation
from network.pickups.core.learning import Learnt, Leg, learn
from network.pickups.distances import Basis, distances_of
from network.pickups.models import Pickup, Route, TravelTerms

# What was driven longer ago was driven on other roads.
LOOK_BACK = timedelta(days=365)


@dataclass(frozen=True, kw_only=True)
class MakerTravel:
    """What a maker reckons its ways with now, and what its legs of the last year say of that.

    `learnt` is None where too few were driven with ways known as they are now.
    """

    maker: Organisation
    terms: TravelTerms
    basis: Basis
    learnt: Learnt | None


def travel_of_makers(actor: Actor, *, today: date) -> list[MakerTravel]:
    """Return what each maker that someone acts for reckons its ways with, as of a day."""
    makers = Organisation.objects.filter(
        community_id=actor.community_id, id__in=actor.held_for(MAKER)
    )
    return [
        _travel_of(maker, today) for maker in makers.select_related("community").order_by("name")
    ]


def _travel_of(maker: Organisation, today: date) -> MakerTravel:
    distances = distances_of(maker)
    legs = _legs_of(maker, by=distances.basis.by, since=today - LOOK_BACK)
    return MakerTravel(
        maker=maker, terms=distances.terms, basis=distances.basis, learnt=learn(legs)
    )


def _legs_of(maker: Organisation, *, by: str, since: date) -> Iterator[Leg]:
    """The legs between visits of finished routes that were driven as they were planned."""
    visits = Pickup.objects.filter(
        community_id=maker.community_id,
        maker=maker,
        route__status=Route.Status.DONE,
        route__day__gte=since,
        arrived_at__isnull=False,
        finished_at__isnull=False,
    ).order_by("route_id", "arrived_at", "id")
    rows = visits.only(
        "route_id", "position", "arrived_at", "finished_at", "leg_s", "leg_by", "status"
    )
    for before, after in pairwise(rows.iterator()):
        if _follows(before, after) and after.leg_by == by and after.leg_s is not None:
            if before.finished_at is None or after.arrived_at is None:
                continue
            driven = after.arrived_at - before.finished_at
            yield Leg(planned_s=after.leg_s, driven_s=round(driven.total_seconds()))


def _follows(before: Pickup, after: Pickup) -> bool:
    """Whether the second visit came next both on the road and in the plan."""
    if before.route_id != after.route_id or before.position is None:
        return False
    return after.position == before.position + 1
