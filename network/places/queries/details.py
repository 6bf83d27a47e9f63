"""One place with all that belongs to it, read at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Prefetch

from network.materials.models import RuleVersion
from network.materials.queries import latest_rules, rules_of
from network.people.core.actor import Actor
from network.places.core.calendar import (
    LOOK_AHEAD_DAYS,
    ONE_DAY,
    Shut,
    next_open_day,
    why_shut,
)
from network.places.core.fill import ExpectedFill, starting_rate
from network.places.core.first_pickup import (
    Condition,
    Prospect,
    first_pickup_depends_on,
    running_days_to,
)
from network.places.models import (
    AccessWindow,
    Agreement,
    CalendarSpan,
    Container,
    FillReport,
    Place,
)
from network.places.queries.calendars import calendars_for, local_day
from network.places.queries.fills import (
    agreements_emptied,
    bulk_density_of,
    expected_fills,
    last_reports,
    level_percent,
)
from network.places.queries.histories import habits_of
from network.places.queries.seen import agreements_seen_by, place_seen_by


@dataclass(frozen=True, kw_only=True)
class LastReport:
    """How full a container was when last something was known of it."""

    percent: int
    at: datetime


@dataclass(frozen=True, kw_only=True)
class ContainerDetail:
    """A container with what was last said of it and what is expected in it; None once retired."""

    container: Container
    last_report: LastReport | None
    expected: ExpectedFill | None


@dataclass(frozen=True, kw_only=True)
class AgreementDetail:
    """An agreement with the containers in use, and what its first pickup waits for until it was.

    `newer_rules` are the stream's rules of now, where the place has still to agree to them.
    """

    agreement: Agreement
    newer_rules: RuleVersion | None
    containers: Sequence[ContainerDetail]
    first_pickup_depends_on: Sequence[Condition]


@dataclass(frozen=True, kw_only=True)
class PlaceDetail:
    """A place with its calendar and the agreements that the actor may see.

    `shut_today` says why nobody can come on the day it is asked for, None when someone can;
    `next_open_day` is that day or the first after it on which someone can, None within a year.
    """

    place: Place
    windows: Sequence[AccessWindow]
    spans: Sequence[CalendarSpan]
    shut_today: Shut | None
    next_open_day: date | None
    agreements: Sequence[AgreementDetail]


def place_detail(actor: Actor, place_id: UUID, *, at: datetime) -> PlaceDetail:
    """Return a place as it stands at a time; raises NotFound."""
    place = place_seen_by(actor, place_id)
    agreements = list(
        agreements_seen_by(actor)
        .filter(place=place)
        .prefetch_related(Prefetch("containers", Container.objects.filter(retired_at=None)))
        .order_by("starts_on", "id")
    )
    containers = [row for agreement in agreements for row in agreement.containers.all()]
    today = local_day(place.community, at)
    details = container_details(containers, day=today)
    year_ahead = today + LOOK_AHEAD_DAYS * ONE_DAY
    calendar = calendars_for([place], today, year_ahead)[place.id]
    begun = agreements_emptied([agreement.id for agreement in agreements])
    return PlaceDetail(
        place=place,
        windows=list(place.windows.all()),
        spans=list(place.spans.all()),
        shut_today=why_shut(calendar, today),
        next_open_day=next_open_day(calendar, today),
        agreements=[
            _agreement_detail(
                place,
                agreement,
                [details[row.id] for row in agreement.containers.all()],
                waits=agreement.status != Agreement.Status.ENDED and agreement.id not in begun,
            )
            for agreement in agreements
        ],
    )


def container_details(containers: Sequence[Container], *, day: date) -> dict[UUID, ContainerDetail]:
    """Return containers with what is known of and expected in them, by id."""
    reports = last_reports(containers)
    fills = expected_fills([row for row in containers if row.retired_at is None], day=day)
    return {
        row.id: ContainerDetail(
            container=row,
            last_report=_last_report(reports.get(row.id)),
            expected=fills.get(row.id),
        )
        for row in containers
    }


def _last_report(report: FillReport | None) -> LastReport | None:
    return None if report is None else LastReport(percent=level_percent(report), at=report.at)


def _agreement_detail(
    place: Place, agreement: Agreement, containers: list[ContainerDetail], *, waits: bool
) -> AgreementDetail:
    return AgreementDetail(
        agreement=agreement,
        newer_rules=_newer_rules(agreement),
        containers=containers,
        first_pickup_depends_on=(
            first_pickup_depends_on(_prospect(place, agreement, containers)) if waits else ()
        ),
    )


def _newer_rules(agreement: Agreement) -> RuleVersion | None:
    if agreement.status == Agreement.Status.ENDED:
        return None
    latest = latest_rules(agreement.stream)
    return latest if latest.number > agreement.rule_version.number else None


def _prospect(place: Place, agreement: Agreement, containers: list[ContainerDetail]) -> Prospect:
    in_use = [row for row in containers if row.expected is not None]
    masses = [row.expected.mass for row in in_use if row.expected]
    rules = rules_of(agreement.rule_version)
    volume_ml = sum(row.container.volume_ml for row in in_use)
    density = bulk_density_of(agreement.main_item_id)
    habits = habits_of({place.community_id}).get(place.kind)
    return Prospect(
        maker=agreement.stream.maker.name,
        is_admitted=place.status == Place.Status.ADMITTED,
        has_container=bool(in_use),
        smallest_g=rules.smallest_g,
        expected_g=sum(mass.mass_g for mass in masses if mass) if all(masses) else None,
        running_days_to_worthwhile=running_days_to(
            rules.smallest_g,
            rate=starting_rate(habits, place.kind, volume_ml),
            bulk_density=density,
        ),
    )
