"""What an event is to a machine: a type, the thing it happened to, and the maker it is about."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from network.events import Event
from network.lots.models import Inspection
from network.materials.models import RuleVersion
from network.notices.services.news import news_of
from network.people.models import Community
from network.pickups.models import Pickup

TYPES = (
    "pickup.asked",
    "pickup.booked",
    "pickup.moved",
    "pickup.called_off",
    "pickup.on_its_way",
    "pickup.done",
    "pickup.missed",
    "inspection.done",
    "rules.published",
    "place.admitted",
    "place.refused",
    "period.sealed",
)


@dataclass(frozen=True, kw_only=True)
class Happening:
    """One thing to tell; of no maker where it is the organiser's business alone."""

    type: str
    subject_id: UUID
    maker_id: UUID | None


def happenings_of(
    event: Event, *, community: Community, subject_id: UUID, at: datetime
) -> list[Happening]:
    """Return what machines are told of an event; nothing where its subject has gone."""
    find = _FOUND.get(event)
    return [] if find is None else list(find(event, community, subject_id, at))


def _visits(
    event: Event, community: Community, subject_id: UUID, at: datetime
) -> Iterator[Happening]:
    """Tell of each visit what its place is told, also where nobody is there to be told."""
    news = news_of(event, community=community, subject_id=subject_id, at=at)
    ids = {one.subject_id for one in news}
    makers = dict(Pickup.objects.filter(id__in=ids).values_list("id", "maker_id"))
    for one in news:
        yield Happening(
            type=one.kind.value.replace("_", ".", 1),
            subject_id=one.subject_id,
            maker_id=makers[one.subject_id],
        )


def _inspected(
    _event: Event, community: Community, subject_id: UUID, _at: datetime
) -> Iterator[Happening]:
    looks = Inspection.objects.filter(community=community, id=subject_id)
    for look in looks.select_related("agreement__stream"):
        maker_id = look.agreement.stream.maker_id
        yield Happening(type="inspection.done", subject_id=look.id, maker_id=maker_id)


def _published(
    _event: Event, community: Community, subject_id: UUID, _at: datetime
) -> Iterator[Happening]:
    versions = RuleVersion.objects.filter(community=community, id=subject_id)
    for version in versions.select_related("stream"):
        maker_id = version.stream.maker_id
        yield Happening(type="rules.published", subject_id=version.id, maker_id=maker_id)


def _organisers(
    event: Event, _community: Community, subject_id: UUID, _at: datetime
) -> Iterator[Happening]:
    kind = event.value.replace("_", ".", 1)
    yield Happening(type=kind, subject_id=subject_id, maker_id=None)


Find = Callable[[Event, Community, UUID, datetime], Iterator[Happening]]
_FOUND: Mapping[Event, Find] = {
    Event.ROUTE_BOOKED: _visits,
    Event.ROUTE_STARTED: _visits,
    Event.ROUTE_CALLED_OFF: _visits,
    Event.PICKUP_ASKED: _visits,
    Event.PICKUP_ADDED: _visits,
    Event.PICKUP_RETIMED: _visits,
    Event.PICKUP_CALLED_OFF: _visits,
    Event.PICKUP_DONE: _visits,
    Event.PICKUP_MISSED: _visits,
    Event.INSPECTED: _inspected,
    Event.RULES_PUBLISHED: _published,
    Event.PLACE_ADMITTED: _organisers,
    Event.PLACE_REFUSED: _organisers,
    Event.PERIOD_SEALED: _organisers,
}
