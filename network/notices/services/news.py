"""What an event means, for whom: one function for each event, which reads how things stand now."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from network.events import Event
from network.lots.models import Inspection, Weighing
from network.materials.models import RuleVersion
from network.notices.core import letters
from network.notices.core.letters import EmptiedContainer, Letter, VisitFacts
from network.notices.models import Notice
from network.notices.queries import people_in
from network.notices.services.weeks import week_facts
from network.people.core.actor import CONTACT, MAKER, ORGANISER
from network.people.models import Community, User
from network.pickups.models import Pickup, PickupLine
from network.pickups.visits import visits_of
from network.places.models import Agreement, Place
from network.places.queries import rules_for_places

Kind = Notice.Kind


@dataclass(frozen=True, kw_only=True)
class News:
    """One letter, the thing it is about, and who gets it."""

    kind: Notice.Kind
    subject_id: UUID
    letter: Letter
    people: list[User]


def news_of(event: Event, *, community: Community, subject_id: UUID, at: datetime) -> list[News]:
    """Return what people are told of an event; nothing where its subject has gone."""
    write = _NEWS.get(event)
    return [] if write is None else list(write(community, subject_id, at))


def _route_booked(community: Community, route_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(route_id=route_id, status__in=_STILL_TO_COME):
        yield _booked(community, pickup)


def _pickup_added(community: Community, pickup_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(id=pickup_id, status__in=_STILL_TO_COME):
        yield _booked(community, pickup)


def _pickup_retimed(community: Community, pickup_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(id=pickup_id, status__in=_STILL_TO_COME):
        yield _to_contacts(Kind.PICKUP_MOVED, pickup, letters.retimed(_facts(pickup)))


def _booked(community: Community, pickup: Pickup) -> News:
    history = _pickups(community).filter(place_id=pickup.place_id, maker_id=pickup.maker_id)
    (visit,) = (visit for visit in visits_of(history) if visit.pickup.id == pickup.id)
    facts = _facts(pickup)
    if visit.earlier is None:
        return _to_contacts(Kind.PICKUP_BOOKED, pickup, letters.booked(facts))
    letter = letters.moved(facts, earlier=_facts(visit.earlier))
    return _to_contacts(Kind.PICKUP_MOVED, pickup, letter)


def _route_called_off(community: Community, route_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(route_id=route_id, status=Pickup.Status.CALLED_OFF):
        yield _to_contacts(Kind.PICKUP_CALLED_OFF, pickup, letters.called_off(_facts(pickup)))


def _pickup_called_off(community: Community, pickup_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(id=pickup_id, status=Pickup.Status.CALLED_OFF):
        yield _to_contacts(Kind.PICKUP_CALLED_OFF, pickup, letters.called_off(_facts(pickup)))


def _route_started(community: Community, route_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(route_id=route_id, status__in=_STILL_TO_COME):
        yield _to_contacts(Kind.PICKUP_ON_ITS_WAY, pickup, letters.on_its_way(_facts(pickup)))


def _pickup_done(community: Community, pickup_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(id=pickup_id):
        lines = pickup.lines.select_related("container", "weighing").order_by("container__tag")
        letter = letters.done(_facts(pickup), [_emptied(line) for line in lines])
        yield _to_contacts(Kind.PICKUP_DONE, pickup, letter)


def _pickup_missed(community: Community, pickup_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(id=pickup_id):
        yield _to_contacts(Kind.PICKUP_MISSED, pickup, letters.missed(_facts(pickup)))


def _pickup_asked(community: Community, pickup_id: UUID, _at: datetime) -> Iterator[News]:
    for pickup in _pickups(community).filter(id=pickup_id, status=Pickup.Status.ASKED):
        letter = letters.asked(place=pickup.place.name, link="/making", note=pickup.asked_note)
        makers = people_in(community.id, role=MAKER, organisation_id=pickup.maker_id)
        yield News(kind=Kind.PICKUP_ASKED, subject_id=pickup.id, letter=letter, people=makers)


def _inspected(community: Community, inspection_id: UUID, _at: datetime) -> Iterator[News]:
    looks = Inspection.objects.filter(community=community, id=inspection_id)
    for look in looks.select_related("agreement__place"):
        place = look.agreement.place
        letter = letters.feedback(
            place=place.name,
            place_link=f"/places/{place.id}/visits",
            verdict=look.verdict,
            reasons=[reason["words"] for reason in look.reasons] or [look.note] * bool(look.note),
            next_time=[reason["next_time"] for reason in look.reasons if reason["next_time"]],
        )
        yield _about_place(Kind.FEEDBACK, look.id, place, letter)


def _rules_published(community: Community, version_id: UUID, _at: datetime) -> Iterator[News]:
    versions = RuleVersion.objects.filter(community=community, id=version_id)
    for version in versions.select_related("stream__maker"):
        under_others = Agreement.objects.filter(
            community=community, stream=version.stream, status=Agreement.Status.RUNNING
        ).exclude(rule_version=version)
        for agreement in under_others.select_related("place", "rule_version"):
            new, old = rules_for_places(version), rules_for_places(agreement.rule_version)
            added = [words for words in new if words not in old]
            dropped = [words for words in old if words not in new]
            if added or dropped:  # a limit that only the workshop works by changes nothing here
                letter = letters.rules_changed(
                    place=agreement.place.name,
                    link=f"/places/{agreement.place_id}/rules/{agreement.id}",
                    maker=version.stream.maker.name,
                    stream=version.stream.name,
                    added=added,
                    dropped=dropped,
                )
                yield _about_place(Kind.RULES_CHANGED, agreement.id, agreement.place, letter)


def _place_admitted(community: Community, place_id: UUID, _at: datetime) -> Iterator[News]:
    for place in Place.objects.filter(community=community, id=place_id):
        letter = letters.admitted(
            place=place.name, link=f"/places/{place.id}", community=community.name
        )
        yield _about_place(Kind.PLACE_ADMITTED, place.id, place, letter)


def _place_refused(community: Community, place_id: UUID, _at: datetime) -> Iterator[News]:
    for place in Place.objects.filter(community=community, id=place_id):
        letter = letters.refused(
            place=place.name,
            link=f"/places/{place.id}",
            community=community.name,
            reason=place.status_reason,
        )
        yield _about_place(Kind.PLACE_REFUSED, place.id, place, letter)


def _week_ended(community: Community, _subject_id: UUID, at: datetime) -> Iterator[News]:
    organisers = people_in(community.id, role=ORGANISER)
    if organisers:
        letter = letters.week(week_facts(community, at=at))
        yield News(
            kind=Kind.WEEK_SUMMARY, subject_id=community.id, letter=letter, people=organisers
        )


_STILL_TO_COME = (Pickup.Status.PLANNED, Pickup.Status.UNDER_WAY)
_NEWS: Mapping[Event, Callable[[Community, UUID, datetime], Iterator[News]]] = {
    Event.ROUTE_BOOKED: _route_booked,
    Event.ROUTE_CALLED_OFF: _route_called_off,
    Event.ROUTE_STARTED: _route_started,
    Event.PICKUP_DONE: _pickup_done,
    Event.PICKUP_MISSED: _pickup_missed,
    Event.PICKUP_ASKED: _pickup_asked,
    Event.PICKUP_ADDED: _pickup_added,
    Event.PICKUP_RETIMED: _pickup_retimed,
    Event.PICKUP_CALLED_OFF: _pickup_called_off,
    Event.INSPECTED: _inspected,
    Event.RULES_PUBLISHED: _rules_published,
    Event.PLACE_ADMITTED: _place_admitted,
    Event.PLACE_REFUSED: _place_refused,
    Event.WEEK_ENDED: _week_ended,
}


def _pickups(community: Community) -> QuerySet[Pickup]:
    rows = Pickup.objects.filter(community=community)
    return rows.select_related("place", "maker", "route", "community").order_by("position", "id")


def _facts(pickup: Pickup) -> VisitFacts:
    return VisitFacts(
        place=pickup.place.name,
        place_link=f"/places/{pickup.place_id}/visits",
        maker=pickup.maker.name,
        zone=ZoneInfo(pickup.community.timezone),
        arrives_at=pickup.planned_arrival,
        reason=pickup.reason,
    )


def _emptied(line: PickupLine) -> EmptiedContainer:
    weighing = line.weighing
    return EmptiedContainer(
        tag=line.container.tag,
        mass_g=weighing.net_g if weighing else None,
        is_estimate=weighing is not None and weighing.method != Weighing.Method.WEIGHED,
        reason=line.reason,
    )


def _to_contacts(kind: Notice.Kind, pickup: Pickup, letter: Letter) -> News:
    return _about_place(kind, pickup.id, pickup.place, letter)


def _about_place(kind: Notice.Kind, subject_id: UUID, place: Place, letter: Letter) -> News:
    contacts = people_in(place.community_id, role=CONTACT, organisation_id=place.organisation_id)
    return News(kind=kind, subject_id=subject_id, letter=letter, people=contacts)
