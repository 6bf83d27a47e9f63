"""Containers: placing, retiring, and saying how full they are."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import count
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from network.errors import (
    AlreadyBooked,
    DifferentBody,
    InvalidInput,
    NotAllowed,
    WrongState,
)
from network.ids import new_id
from network.people.core.actor import CONTACT, DRIVER, MAKER, ORGANISER, Actor
from network.people.models import Community
from network.places.core.inputs import ContainersInput, container_faults
from network.places.core.tags import tag_of
from network.places.models import Agreement, Container, FillReport
from network.places.queries import agreement_seen_by, container_seen_by

PERCENT_MAX = 150  # a heaped bag is more than full; past half again it is a second bag
# Phones' clocks differ from ours by a little; what they call now is not refused for that.
CLOCK_SKEW = timedelta(minutes=5)


@transaction.atomic
def add_containers(
    actor: Actor,
    *,
    agreement_id: UUID,
    containers: ContainersInput,
    at: datetime | None = None,
) -> list[Container]:
    """Place further containers for an agreement, as its maker or an organiser.

    Raises NotFound, NotAllowed, WrongState for an agreement that has ended, InvalidInput.
    """
    agreement = agreement_seen_by(actor, agreement_id)
    actor.require(MAKER, ORGANISER, organisation_id=agreement.stream.maker_id)
    if agreement.status == Agreement.Status.ENDED:
        raise WrongState("This agreement has ended.")
    faults = tuple(container_faults([containers]))
    if faults:
        raise InvalidInput("These containers cannot be added.", fields=faults)
    return place_containers(agreement, [containers], at=at or timezone.now())


@transaction.atomic
def retire_container(actor: Actor, *, container_id: UUID, at: datetime | None = None) -> Container:
    """Take a container out of use, as its maker or an organiser; what it held stays on record.

    Raises NotFound, NotAllowed, WrongState, AlreadyBooked while a pickup is to empty it.
    """
    container = locked_container(actor, container_id)
    actor.require(MAKER, ORGANISER, organisation_id=container.agreement.stream.maker_id)
    if container.retired_at is not None:
        raise WrongState("This container was retired before.")
    # Pickups are a later room, which this one may not import; the lines they hang on a container
    # are reached through it. Booking locks the container too, so none is added meanwhile.
    if Container.objects.filter(id=container.id, lines__outcome="open").exists():
        raise AlreadyBooked("A pickup is to empty this container. Finish or call it off first.")
    container.retired_at = at or timezone.now()
    container.save(update_fields=["retired_at"])
    return container


def report_fill(
    actor: Actor,
    *,
    container_id: UUID,
    percent: int,
    at: datetime | None = None,
    report_id: UUID | None = None,
) -> FillReport:
    """Say how full a container is; the same id again returns the first report and adds nothing.

    The place's contact, the maker or its driver may. Raises NotFound, NotAllowed, WrongState for a
    retired container, InvalidInput, DifferentBody for a known id that said something else.
    """
    container = container_seen_by(actor, container_id)
    origin = _origin(actor, container)
    return say_how_full(actor, container, origin, percent=percent, at=at, report_id=report_id)


def record_emptied(
    actor: Actor,
    *,
    container_id: UUID,
    percent: int,
    at: datetime | None = None,
    report_id: UUID | None = None,
) -> FillReport:
    """Record that a pickup emptied a container that was so full, as the maker or its driver.

    From then on it counts as empty, and what came out teaches the rate at which it fills. Raises
    as `report_fill` does.
    """
    container = container_seen_by(actor, container_id)
    actor.require(DRIVER, MAKER, organisation_id=container.agreement.stream.maker_id)
    origin = FillReport.Origin.EMPTIED
    return say_how_full(actor, container, origin, percent=percent, at=at, report_id=report_id)


def place_containers(
    agreement: Agreement, containers: Sequence[ContainersInput], *, at: datetime
) -> list[Container]:
    """Make containers with tags of their own; for services that have checked the actor."""
    makes = [make for make in containers for _ in range(make.count)]
    if not makes:
        return []
    tags = _free_tags(agreement.community_id, len(makes))
    return Container.objects.bulk_create(
        Container(
            community_id=agreement.community_id,
            agreement=agreement,
            tag=tag,
            kind=make.kind,
            volume_ml=make.volume_ml,
            tare_g=make.tare_g,
            placed_at=at,
        )
        for make, tag in zip(makes, tags, strict=True)
    )


def locked_container(actor: Actor, container_id: UUID) -> Container:
    """Return a container that an actor may see, its row locked until the transaction ends."""
    container = container_seen_by(actor, container_id)
    Container.objects.select_for_update().get(id=container.id)
    return container_seen_by(actor, container_id)


def _free_tags(community_id: UUID, number: int) -> list[str]:
    """Return tags that are not in use; a lock on the community keeps two from taking the same."""
    Community.objects.select_for_update(no_key=True).get(id=community_id)
    used = set(Container.objects.filter(community_id=community_id).values_list("tag", flat=True))
    free = (tag for tag in map(tag_of, count(len(used))) if tag not in used)
    return [next(free) for _ in range(number)]


def _origin(actor: Actor, container: Container) -> FillReport.Origin:
    agreement = container.agreement
    if agreement.stream.maker_id in actor.held_for(DRIVER, MAKER):
        return FillReport.Origin.DRIVER
    if agreement.place.organisation_id in actor.held_for(CONTACT):
        return FillReport.Origin.CONTACT
    raise NotAllowed("Only the place's contact, the maker or its driver says how full it is.")


def say_how_full(
    actor: Actor,
    container: Container,
    origin: FillReport.Origin,
    *,
    percent: int,
    at: datetime | None,
    report_id: UUID | None,
) -> FillReport:
    """Keep a report, unasked; for services that have checked who says it."""
    now = timezone.now()
    _check_report(container, percent=percent, at=at or now, now=now)
    report = FillReport(
        id=report_id or new_id(),
        community_id=container.community_id,
        container=container,
        percent=percent,
        origin=origin,
        at=min(at or now, now),
        by_id=actor.user_id,
    )
    try:
        with transaction.atomic():
            report.save(force_insert=True)
    except IntegrityError:
        return _said_before(report)
    return report


def _said_before(report: FillReport) -> FillReport:
    first = FillReport.objects.filter(id=report.id, community_id=report.community_id).first()
    if first is None or _said(first) != _said(report):
        raise DifferentBody
    return first


def _said(report: FillReport) -> tuple[object, ...]:
    return report.container_id, report.percent, report.origin, report.by_id


def _check_report(container: Container, *, percent: int, at: datetime, now: datetime) -> None:
    if container.retired_at is not None:
        raise WrongState("This container was retired. Use the tag of the one that is there now.")
    if not 0 <= percent <= PERCENT_MAX:
        raise InvalidInput.of(
            "percent", f"It is not between 0 and {PERCENT_MAX}.", "100 is full to the brim."
        )
    if at > now + CLOCK_SKEW:
        raise InvalidInput.of("at", "That is in the future.", "Check the day and the time.")
    if at < container.placed_at:
        raise InvalidInput.of(
            "at",
            f"The container was put there later, on {container.placed_at:%Y-%m-%d}.",
            "Check the day, or whether the tag is the right one.",
        )
