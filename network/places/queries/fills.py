"""What is expected in containers on a day, from what was last said of them."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date, timedelta
from uuid import UUID

from django.db.models import QuerySet, prefetch_related_objects

from network.materials import catalogue
from network.materials.core.figures import Figure
from network.places.core.calendar import PlaceCalendar
from network.places.core.fill import (
    PERCENT,
    Emptied,
    ExpectedFill,
    FillRate,
    KnownLevel,
    LevelOrigin,
    expect_fill,
    learn_rate,
    starting_rate,
)
from network.places.models import Container, FillReport, Place
from network.places.queries.calendars import calendars_for, local_day

# A rate is learned from little over a year: of an older one, habits have changed.
LEARN_FROM_DAYS = 400


def expected_fills(containers: Sequence[Container], *, day: date) -> dict[UUID, ExpectedFill]:
    """Return what is expected in each container at the start of a day, by container id.

    Takes a number of reads that does not grow with the number of containers.
    """
    if not containers:
        return {}
    prefetch_related_objects(containers, "agreement__place__community")
    last = last_reports(containers)
    emptied = _emptied(containers, since=day - timedelta(days=LEARN_FROM_DAYS))
    levels = {row.id: _level(row, last.get(row.id)) for row in containers}
    calendars = _calendars(containers, levels.values(), emptied.values(), day)
    return {
        row.id: expect_fill(
            volume_ml=row.volume_ml,
            level=levels[row.id],
            rate=_rate(row, emptied[row.id], calendars[row.agreement.place_id]),
            calendar=calendars[row.agreement.place_id],
            day=day,
            bulk_density=bulk_density_of(row.agreement.main_item_id),
        )
        for row in containers
    }


def last_reports(containers: Sequence[Container]) -> dict[UUID, FillReport]:
    """Return the latest report of each container that has one, by container id."""
    rows = _reports(containers).order_by("container_id", "-at", "-id").distinct("container_id")
    return {row.container_id: row for row in rows}


def agreements_emptied(agreement_ids: Collection[UUID]) -> set[UUID]:
    """Return which of some agreements have had a container emptied."""
    rows = FillReport.objects.filter(
        origin=FillReport.Origin.EMPTIED, container__agreement_id__in=agreement_ids
    )
    return set(rows.values_list("container__agreement_id", flat=True).distinct())


def level_percent(report: FillReport) -> int:
    """Return how full a container is just after a report."""
    return 0 if report.origin == FillReport.Origin.EMPTIED else report.percent


def bulk_density_of(item: str) -> Figure | None:
    """Return the loose bulk density of an item, where a figure is known."""
    known = catalogue.items().get(item)
    return known.bulk_density if known else None


def _reports(containers: Sequence[Container]) -> QuerySet[FillReport]:
    return FillReport.objects.filter(
        community_id__in={row.community_id for row in containers},
        container_id__in={row.id for row in containers},
    )


def _emptied(containers: Sequence[Container], *, since: date) -> dict[UUID, list[Emptied]]:
    by_id = {row.id: row for row in containers}
    found: dict[UUID, list[Emptied]] = {row.id: [] for row in containers}
    rows = _reports(containers).filter(origin=FillReport.Origin.EMPTIED, at__date__gte=since)
    for report in rows.order_by("at"):
        container = by_id[report.container_id]
        community = container.agreement.place.community
        found[container.id].append(
            Emptied(
                day=local_day(community, report.at),
                volume_ml=report.percent * container.volume_ml // PERCENT,
            )
        )
    return found


def _level(container: Container, report: FillReport | None) -> KnownLevel:
    community = container.agreement.place.community
    if report is None:
        day = local_day(community, container.placed_at)
        return KnownLevel(percent=0, day=day, origin=LevelOrigin.PLACED)
    is_emptied = report.origin == FillReport.Origin.EMPTIED
    return KnownLevel(
        percent=level_percent(report),
        day=local_day(community, report.at),
        origin=LevelOrigin.EMPTIED if is_emptied else LevelOrigin.REPORTED,
    )


def _calendars(
    containers: Sequence[Container],
    levels: Iterable[KnownLevel],
    emptied: Iterable[list[Emptied]],
    day: date,
) -> dict[UUID, PlaceCalendar]:
    days = [level.day for level in levels]
    days += [pickup.day for pickups in emptied for pickup in pickups]
    places = {row.agreement.place_id: row.agreement.place for row in containers}
    return calendars_for(list(places.values()), min(days), max(*days, day))


def _rate(container: Container, pickups: list[Emptied], calendar: PlaceCalendar) -> FillRate:
    place: Place = container.agreement.place
    return learn_rate(pickups, calendar) or starting_rate(place.kind, container.volume_ml)
