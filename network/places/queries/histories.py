"""What is known of containers, as the forecast takes it: their histories and kinds' habits."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from uuid import UUID

from django.db.models import prefetch_related_objects

from network.people.models import Community
from network.places.core.habits import KindHabits
from network.places.core.history import FillHistory, Sighting
from network.places.models import Container, FillHabits, FillReport
from network.places.queries.calendars import calendars_for, local_day

# A rate is learned from little over a year: of an older one, habits have changed.
LEARN_FROM_DAYS = 400


def histories_of(
    containers: Sequence[Container], *, day: date, last_day: date
) -> list[FillHistory]:
    """Return all that was seen of each container before or on a day, with calendars to the last.

    Takes a number of reads that does not grow with the number of containers.
    """
    if not containers:
        return []
    prefetch_related_objects(containers, "agreement__place__community")
    sightings = _sightings(containers, since=day - timedelta(days=LEARN_FROM_DAYS))
    placed = {c.id: local_day(c.agreement.place.community, c.placed_at) for c in containers}
    first_days = [seen[0].day for seen in sightings.values()]
    places = {c.agreement.place_id: c.agreement.place for c in containers}
    calendars = calendars_for(
        list(places.values()), min([day, *placed.values(), *first_days]), last_day
    )
    return [
        FillHistory(
            place_kind=container.agreement.place.kind,
            volume_ml=container.volume_ml,
            placed_on=placed[container.id],
            calendar=calendars[container.agreement.place_id],
            sightings=tuple(sightings.get(container.id, ())),
        )
        for container in containers
    ]


def habits_of(community_ids: set[UUID]) -> dict[str, KindHabits]:
    """Return the habits of each kind of place that were learned in a community.

    There are none yet in a new one, nor where containers of several communities are asked about.
    """
    if len(community_ids) != 1:
        return {}
    return {
        row.place_kind: KindHabits(
            log_rate=row.log_rate,
            spread=row.spread,
            burst=row.burst,
            jump_chance=row.jump_chance,
            weekdays=tuple(row.weekdays),
            containers=row.containers,
        )
        for row in FillHabits.objects.filter(community_id__in=community_ids)
    }


def containers_to_learn_from(community: Community) -> list[Container]:
    """Return a community's containers, those that are retired too."""
    rows = Container.objects.filter(community=community).order_by("id")
    return list(rows.select_related("agreement__place__community"))


def _sightings(containers: Sequence[Container], *, since: date) -> dict[UUID, list[Sighting]]:
    by_id = {row.id: row for row in containers}
    rows = FillReport.objects.filter(
        community_id__in={row.community_id for row in containers},
        container_id__in=by_id,
        at__date__gte=since,
    )
    found: dict[UUID, list[Sighting]] = defaultdict(list)
    values = rows.order_by("at", "id").values_list(
        "container_id", "percent", "origin", "at", "by_id"
    )
    for container_id, percent, origin, at, by in values:
        community = by_id[container_id].agreement.place.community
        found[container_id].append(
            Sighting(
                day=local_day(community, at),
                percent=percent,
                emptied=origin == FillReport.Origin.EMPTIED,
                by=_name_of(by),
            )
        )
    return found


def _name_of(person_id: UUID | None) -> str:
    return "" if person_id is None else str(person_id)
