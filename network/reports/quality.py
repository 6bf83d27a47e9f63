"""Quality and people: contamination with intervals, who takes part, who has gone quiet."""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import numpy as np
from django.db.models import Q, QuerySet, Sum

from network.lots.models import Inspection
from network.lots.month_models import VisitLine
from network.materials import catalogue
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.places.core.clock import running_mask
from network.places.models import Agreement, Place
from network.places.queries.calendars import calendars_for, local_day
from network.reports.core.quality import (
    Contamination,
    Difference,
    Look,
    change_between,
    contamination_of,
    pieces_in,
    worst_first,
)
from network.reports.core.regularity import Participation, Regularity, regularity_of
from network.reports.periods import within
from network.reports.queries import Named, Selection

# What is usual for a place is learnt from so many days back.
LEARNT_DAYS = 730
# The days of each place, in order.
Visits = Mapping[UUID, Sequence[date]]


@dataclass(frozen=True, kw_only=True)
class QualityRow:
    """The contamination of a place, stream or rule version, and how often it was turned away."""

    about: Named
    contamination: Contamination
    turned_away: int
    looked_at: int


@dataclass(frozen=True, kw_only=True)
class RuleChange:
    """A stream's contamination before and after a new rule version, and the change."""

    stream: Named
    version: int
    before: Contamination
    after: Contamination
    difference: Difference


@dataclass(frozen=True, kw_only=True)
class PlaceRegularity:
    """How regularly a place gives."""

    place: Named
    last_day: date
    regularity: Regularity


@dataclass(frozen=True, kw_only=True)
class QualityReport:
    """What samples and visits say; places with too few samples stand last and are not ranked."""

    places: Sequence[QualityRow]
    streams: Sequence[QualityRow]
    rule_changes: Sequence[RuleChange]
    participation: Sequence[Participation]
    quiet: Sequence[PlaceRegularity]
    regular: Sequence[PlaceRegularity]


def quality(
    actor: Actor, *, community: Community, selection: Selection, at: datetime
) -> QualityReport:
    """Return the quality and the participation of a period, for an organiser."""
    actor.require(ORGANISER)
    today = local_day(community, at)
    looks = _looks(community, selection)
    agreements = list(_agreements(community).values_list("place_id", "starts_on", "ends_on"))
    first_day = selection.first_day or min((agreed[1] for agreed in agreements), default=today)
    learnt_from = today - timedelta(days=LEARNT_DAYS)
    visits = _visits(community, min(first_day.replace(day=1), learnt_from))
    regular = _regularity(community, visits, since=learnt_from, today=today)
    return QualityReport(
        places=_rows(looks, "agreement__place"),
        streams=_rows(looks, "agreement__stream"),
        rule_changes=_rule_changes(looks),
        participation=_participation(
            agreements,
            visits,
            first_day=first_day,
            last_day=min(selection.last_day or today, today),
        ),
        quiet=[one for one in regular if one.regularity.is_quiet],
        regular=[one for one in regular if not one.regularity.is_quiet],
    )


def _looks(community: Community, selection: Selection) -> list[dict[str, Any]]:
    here = Inspection.objects.filter(community=community)
    looks = within(here, "at", period=selection, zone=ZoneInfo(community.timezone))
    rows = looks.annotate(found_g=Sum("findings__mass_g")).values(
        "sample_g",
        "found_g",
        "verdict",
        "agreement__place_id",
        "agreement__place__name",
        "agreement__stream_id",
        "agreement__stream__name",
        "agreement__main_item_id",
        "rule_version__number",
    )
    return [dict(row) for row in rows]


def _rows(looks: Sequence[Mapping[str, Any]], path: str) -> list[QualityRow]:
    groups: dict[tuple[UUID, str], list[Mapping[str, Any]]] = defaultdict(list)
    for look in looks:
        groups[look[f"{path}_id"], look[f"{path}__name"]].append(look)
    found = []
    for (row_id, name), of_it in groups.items():
        sampled = _sampled(of_it)
        if sampled:
            about = Named(id=row_id, name=name)
            found.append(((about, of_it), contamination_of(sampled)))
    return [
        QualityRow(
            about=about,
            contamination=contamination,
            turned_away=sum(look["verdict"] == Inspection.Verdict.TURNED_AWAY for look in of_it),
            looked_at=len(of_it),
        )
        for (about, of_it), contamination in worst_first(found)
    ]


def _sampled(looks: Iterable[Mapping[str, Any]]) -> list[Look]:
    """Return the samples in pieces, by the unit mass of what is mostly set aside there."""
    return [
        pieces_in(look["sample_g"], look["found_g"] or 0, _piece_g(look))
        for look in looks
        if look["sample_g"]
    ]


def _piece_g(look: Mapping[str, Any]) -> float:
    """Return the mass of a piece; where none is known a sample counts as one piece."""
    item = catalogue.items().get(look["agreement__main_item_id"])
    if item is None or item.unit_mass is None:
        return float(look["sample_g"])
    return float(item.unit_mass.value)


def _rule_changes(looks: Sequence[Mapping[str, Any]]) -> list[RuleChange]:
    """Compare each rule version with the one before it that was sampled too."""
    versions: dict[tuple[UUID, str], dict[int, list[Mapping[str, Any]]]] = defaultdict(
        lambda: defaultdict(list)
    )
    for look in looks:
        stream = look["agreement__stream_id"], look["agreement__stream__name"]
        versions[stream][look["rule_version__number"]].append(look)
    changes = []
    for (stream_id, name), by_version in sorted(versions.items(), key=lambda one: one[0][1]):
        sampled = [(number, _sampled(by_version[number])) for number in sorted(by_version)]
        known = [(number, contamination_of(found)) for number, found in sampled if found]
        changes += [
            RuleChange(
                stream=Named(id=stream_id, name=name),
                version=number,
                before=before,
                after=after,
                difference=change_between(before, after),
            )
            for (_, before), (number, after) in pairwise(known)
        ]
    return changes


def _visits(community: Community, since: date) -> Visits:
    """Return the days on which something was taken from each place, in order."""
    starts_at = datetime.combine(since, time.min, tzinfo=ZoneInfo(community.timezone))
    visits = (
        VisitLine.objects.filter(community=community, standing=True, made_at__gte=starts_at)
        .values_list("place_id", "day")
        .distinct()
        .order_by("day")
    )
    found: dict[UUID, list[date]] = defaultdict(list)
    for place_id, day in visits:
        found[place_id].append(day)
    return found


def _regularity(
    community: Community, visits: Visits, *, since: date, today: date
) -> list[PlaceRegularity]:
    """Return the regularity of each place that still sets something aside, longest quiet first.

    Days on which a place is closed do not count.
    """
    recent = {
        place_id: days[bisect_left(days, since) :]
        for place_id, days in visits.items()
        if days[-1] >= since
    }
    places = list(
        Place.objects.filter(
            community=community, id__in=recent, agreements__status=Agreement.Status.RUNNING
        ).distinct()
    )
    calendars = calendars_for(places, since, today)
    rows = []
    for place in places:
        days = recent[place.id]
        # How many days it worked before each: two of them say how many it did between. A phone's
        # clock may be ahead, and its visit be tomorrow's.
        running = running_mask(calendars[place.id], since, (today - since).days + 1)
        worked = np.concatenate([[0], np.cumsum(running)])
        gaps = np.diff(worked[[(day - since).days for day in [*days, today]]]).tolist()
        rows.append(
            PlaceRegularity(
                place=Named(id=place.id, name=place.name),
                last_day=days[-1],
                regularity=regularity_of(gaps[:-1], since_days=gaps[-1]),
            )
        )
    return sorted(rows, key=lambda row: (-row.regularity.since_days, row.place.name))


def _participation(
    agreements: Sequence[tuple[UUID, date, date | None]],
    visits: Visits,
    *,
    first_day: date,
    last_day: date,
) -> list[Participation]:
    """Return for each month how many of the places with a running agreement gave anything."""
    gave: dict[date, set[UUID]] = defaultdict(set)
    for place_id, days in visits.items():
        for day in days:
            gave[day.replace(day=1)].add(place_id)
    rows = []
    month = first_day.replace(day=1)
    while agreements and month <= last_day:
        following = (month + timedelta(days=32)).replace(day=1)
        could = {
            place_id
            for place_id, starts_on, ends_on in agreements
            if starts_on < following and (ends_on is None or ends_on >= month)
        }
        rows.append(Participation(month=month, could=len(could), gave=len(could & gave[month])))
        month = following
    return rows


def _agreements(community: Community) -> QuerySet[Agreement]:
    began = Q(status=Agreement.Status.RUNNING) | Q(status=Agreement.Status.ENDED)
    return Agreement.objects.filter(began, community=community)
