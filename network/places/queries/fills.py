"""What is expected in containers on a day, from all that was ever seen of them."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

import numpy as np
from django.db.models import Max, QuerySet

from network.materials import catalogue
from network.materials.core.figures import Figure
from network.places.core.fill import LOOK_AHEAD_DAYS, ExpectedFill, expect_fills
from network.places.core.forecast import Beliefs, believe
from network.places.core.standing import FullDay, full_days
from network.places.models import Container, FillReport
from network.places.queries.histories import habits_of, histories_of

# What is expected on each of some days, by container id.
Fills = Mapping[date, Mapping[UUID, ExpectedFill]]


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """What is expected in containers on days that lie end to end, and how they stand full then."""

    fills: Fills
    full_days: Mapping[UUID, Sequence[FullDay]]


def expected_fills(
    containers: Sequence[Container], *, day: date, when_full: bool = True
) -> dict[UUID, ExpectedFill]:
    """Return what is expected in each container at the start of a day, and when it is full.

    Takes a number of reads that does not grow with the number of containers.
    """
    if not containers:
        return {}
    last_day = day + timedelta(days=LOOK_AHEAD_DAYS if when_full else 0)
    beliefs = _beliefs(containers, day=day, last_day=last_day)
    return _fills(beliefs, containers, day=day, when_full=when_full)


def expected_ahead(
    containers: Sequence[Container],
    days: Sequence[date],
    could_come: Mapping[UUID, Sequence[bool]],
) -> Ahead:
    """Return what is expected in each container on days that lie end to end, and its full days.

    `could_come` says of each container on which day from the first on, all as many and as many as
    the days or more, somebody could come; so far the full days reach.
    """
    if not containers:
        return Ahead(fills={}, full_days={})
    flags = np.array([could_come[container.id] for container in containers], dtype=np.bool_)
    last_day = days[0] + timedelta(days=flags.shape[1])
    beliefs = _beliefs(containers, day=days[0], last_day=last_day)
    standing = full_days(beliefs, flags, first=beliefs.record.index(days[0]))
    ids = [container.id for container in containers]
    return Ahead(
        fills={day: _fills(beliefs, containers, day=day, when_full=False) for day in days},
        full_days=dict(zip(ids, standing, strict=True)),
    )


def last_reports(containers: Sequence[Container]) -> dict[UUID, FillReport]:
    """Return the latest report of each container that has one, by container id."""
    rows = _reports(containers).order_by("container_id", "-at", "-id").distinct("container_id")
    return {row.container_id: row for row in rows}


def waiting_since(containers: Sequence[Container]) -> dict[UUID, datetime]:
    """Return when each place was last emptied, by place id; else when its first was placed.

    Only the given containers count, so that it is one maker's coming that is waited for.
    """
    emptied = _reports(containers).filter(origin=FillReport.Origin.EMPTIED)
    last = dict(emptied.values_list("container__agreement__place_id").annotate(Max("at")))
    placed: dict[UUID, datetime] = {}
    for container in sorted(containers, key=lambda row: row.placed_at):
        placed.setdefault(container.agreement.place_id, container.placed_at)
    return {**placed, **last}


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


def _beliefs(containers: Sequence[Container], *, day: date, last_day: date) -> Beliefs:
    histories = histories_of(containers, day=day, last_day=last_day)
    return believe(
        histories, habits_of({row.community_id for row in containers}), last_day=last_day
    )


def _fills(
    beliefs: Beliefs, containers: Sequence[Container], *, day: date, when_full: bool
) -> dict[UUID, ExpectedFill]:
    densities = [bulk_density_of(row.agreement.main_item_id) for row in containers]
    fills = expect_fills(beliefs, day=day, bulk_densities=densities, ahead=when_full)
    return dict(zip([row.id for row in containers], fills, strict=True))


def _reports(containers: Sequence[Container]) -> QuerySet[FillReport]:
    return FillReport.objects.filter(
        community_id__in={row.community_id for row in containers},
        container_id__in={row.id for row in containers},
    )
