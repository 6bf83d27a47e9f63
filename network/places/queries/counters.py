"""Shared devices of places, and the little that is shown on them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from network.people.core.actor import CONTACT, Actor
from network.places.models import Agreement, Container, Counter
from network.places.queries.fills import last_reports, level_percent
from network.tokens import hash_of


@dataclass(frozen=True, kw_only=True)
class CounterContainer:
    """A container that stands there, with what was last said of it; None if nothing was."""

    container: Container
    percent: int | None


def counters_seen_by(actor: Actor) -> QuerySet[Counter]:
    """Return the shared devices that were not taken back: of one's own places, or all."""
    here = Counter.objects.filter(community_id=actor.community_id, revoked_at__isnull=True)
    if not actor.is_organiser:
        here = here.filter(place__organisation_id__in=actor.held_for(CONTACT))
    return here.select_related("place")


def usable_counter(token: str, *, at: datetime) -> Counter | None:
    """Return the shared device that shows a token; None for one that opens nothing."""
    found = Counter.objects.select_related("place", "community").filter(
        token_sha256=hash_of(token), revoked_at__isnull=True, expires_at__gt=at
    )
    return found.first()


def containers_at(counter: Counter) -> QuerySet[Container]:
    """Return the containers in use at the place of a shared device."""
    return Container.objects.filter(
        community_id=counter.community_id,
        agreement__place_id=counter.place_id,
        agreement__status=Agreement.Status.RUNNING,
        retired_at__isnull=True,
    ).select_related("agreement__stream", "agreement__place__community")


def counter_containers(counter: Counter) -> Sequence[CounterContainer]:
    """Return what a shared device shows: each container and how full it was last."""
    containers = list(containers_at(counter).order_by("tag"))
    reports = last_reports(containers)
    return [
        CounterContainer(
            container=container,
            percent=level_percent(reports[container.id]) if container.id in reports else None,
        )
        for container in containers
    ]
