"""Which streams a place could set aside: those open to places, with how far their maker is."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from network.geo import Point, distance_m
from network.materials import catalogue
from network.materials.core.rules import AcceptanceRules
from network.materials.models import RuleVersion, Stream
from network.materials.queries import latest_rules, rules_of, streams_seen_by
from network.people.core.actor import Actor
from network.places.core.fill import starting_rate
from network.places.core.first_pickup import (
    Condition,
    Prospect,
    first_pickup_depends_on,
    running_days_to,
)
from network.places.core.habits import KindHabits
from network.places.core.precision import Precision, point_for_outsiders
from network.places.core.rules_words import RulesInWords, rules_in_words
from network.places.models import Place
from network.places.queries.fills import bulk_density_of
from network.places.queries.histories import habits_of

# A bag of 60 litres is what a place most often starts with (common practice, no published source).
FIRST_CONTAINER_ML = 60_000


@dataclass(frozen=True, kw_only=True)
class Offer:
    """One stream as it is offered to a point on the map."""

    stream: Stream
    rule_version: RuleVersion
    rules_in_words: RulesInWords
    distance_m: int
    within_reach: bool
    first_pickup_depends_on: tuple[Condition, ...]


def offers_near(actor: Actor, *, point: Point, kind: str) -> list[Offer]:
    """Return the streams open to places, those within reach first, then the nearest first.

    A stream whose maker has no workshop on the map cannot be offered: nobody knows how far it is.
    """
    workshops = workshops_of(actor.community_id, as_outsider=not actor.roles)
    streams = streams_seen_by(actor).filter(open_to_places=True, maker_id__in=workshops)
    habits = habits_of({actor.community_id}).get(kind)
    offers = [_offer(stream, workshops[stream.maker_id], point, kind, habits) for stream in streams]
    return sorted(
        offers, key=lambda o: (not o.within_reach, o.distance_m, o.stream.name, o.stream.id)
    )


def workshops_of(
    community_id: UUID, *, maker_ids: Iterable[UUID] | None = None, as_outsider: bool = False
) -> dict[UUID, list[Point]]:
    """Return where each maker works, all or those named, by the maker's id.

    An outsider could find a spot by its distances, so these are from the point that is public.
    """
    rows = Place.objects.filter(
        community_id=community_id, kind=Place.Kind.WORKSHOP, status=Place.Status.ADMITTED
    )
    if maker_ids is not None:
        rows = rows.filter(organisation_id__in=maker_ids)
    found: dict[UUID, list[Point]] = defaultdict(list)
    for row in rows:
        point = Point(row.longitude, row.latitude)
        if as_outsider:
            point = point_for_outsiders(point, Precision(row.public_precision))
        found[row.organisation_id].append(point)
    return dict(found)


def distance_to_nearest_m(point: Point, others: Iterable[Point]) -> int:
    """Return metres to the nearest of some points, as the crow flies."""
    return min(distance_m(point, other) for other in others)


def _offer(
    stream: Stream,
    workshops: list[Point],
    point: Point,
    kind: str,
    habits: KindHabits | None,
) -> Offer:
    version = latest_rules(stream)
    rules = rules_of(version)
    away_m = distance_to_nearest_m(point, workshops)
    return Offer(
        stream=stream,
        rule_version=version,
        rules_in_words=rules_in_words(rules, resins=catalogue.resins(), items=catalogue.items()),
        distance_m=away_m,
        within_reach=away_m <= stream.reach_m,
        first_pickup_depends_on=first_pickup_depends_on(_prospect(stream, rules, kind, habits)),
    )


def _prospect(
    stream: Stream, rules: AcceptanceRules, kind: str, habits: KindHabits | None
) -> Prospect:
    """How matters stand with a place that is not there yet."""
    return Prospect(
        maker=stream.maker.name,
        is_admitted=False,
        has_container=False,
        smallest_g=rules.smallest_g,
        expected_g=None,
        running_days_to_worthwhile=running_days_to(
            rules.smallest_g,
            rate=starting_rate(habits, kind, FIRST_CONTAINER_ML),
            bulk_density=bulk_density_of(rules.items[0]) if rules.items else None,
        ),
    )
