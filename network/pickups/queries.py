"""Reads of pickups: a contact sees visits to its places, a maker its vans, proposals and routes."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import TypeVar
from uuid import UUID, uuid5

from django.db.models import Count, Exists, F, OuterRef, Prefetch, Q, QuerySet, Sum
from django.utils import timezone

from network.materials.models import RuleVersion
from network.people.core.actor import CONTACT, DRIVER, MAKER, Actor
from network.people.models import CommunityRow, Organisation
from network.pickups.cautions import Caution, route_cautions, stop_cautions
from network.pickups.distances import way_of_route
from network.pickups.models import Photo, Pickup, PickupLine, Proposal, Question, Route, Vehicle
from network.pickups.visits import Visit, visits_of
from network.places.core.fill import ExpectedFill
from network.places.models import Agreement, Container, Place
from network.places.queries import expected_fills, local_day, open_windows_for
from network.rows import one_of

_CHANGES_REMEMBERED = timedelta(days=365)
STANDING = (Pickup.Status.PLANNED, Pickup.Status.UNDER_WAY)
STANDING_ROUTES = (Route.Status.PLANNED, Route.Status.UNDER_WAY)

R = TypeVar("R", bound=CommunityRow)


def vehicles_seen_by(actor: Actor) -> QuerySet[Vehicle]:
    """Return the vans of the makers someone works for; an organiser sees all."""
    return Vehicle.objects.filter(_of_own_makers(actor)).select_related("maker", "community")


def proposals_seen_by(actor: Actor) -> QuerySet[Proposal]:
    """Return the proposals of the makers someone acts for."""
    mine = Q(community_id=actor.community_id, maker_id__in=actor.held_for(MAKER))
    return Proposal.objects.filter(mine).select_related("maker")


def routes_seen_by(actor: Actor) -> QuerySet[Route]:
    """Return the routes of the makers someone works for; an organiser sees all."""
    rows = Route.objects.filter(_of_own_makers(actor))
    return rows.select_related("maker", "vehicle", "driver", "community")


def routes_with_counts(actor: Actor) -> QuerySet[Route]:
    """Return the routes someone may see, each with `stops`, its number of visits."""
    standing = ~Q(pickups__status=Pickup.Status.CALLED_OFF)
    return routes_seen_by(actor).annotate(stops=Count("pickups", filter=standing))


@dataclass(frozen=True, kw_only=True)
class Drives:
    """What finished routes took: the distance as planned, the time as driven where both ends are.

    In m and s.
    """

    routes: int
    distance_m: int
    duration_s: int


def drives_between(actor: Actor, *, first_day: date | None, last_day: date | None) -> Drives:
    """Return what the finished routes of these days took; None is open, both days count."""
    routes = Route.objects.filter(_of_own_makers(actor), status=Route.Status.DONE)
    if first_day:
        routes = routes.filter(day__gte=first_day)
    if last_day:
        routes = routes.filter(day__lte=last_day)
    timed = Q(started_at__isnull=False, finished_at__isnull=False)
    found = routes.order_by().aggregate(
        routes=Count("id"),
        distance_m=Sum("planned_distance_m", default=0),
        planned_s=Sum("planned_duration_s", filter=~timed, default=0),
        driven=Sum(F("finished_at") - F("started_at"), filter=timed, default=timedelta(0)),
    )
    return Drives(
        routes=found["routes"],
        distance_m=found["distance_m"],
        duration_s=found["planned_s"] + round(found["driven"].total_seconds()),
    )


def pickups_seen_by(actor: Actor) -> QuerySet[Pickup]:
    """Return the visits to someone's own places and by its makers; an organiser sees all."""
    own_places = Q(
        community_id=actor.community_id, place__organisation_id__in=actor.held_for(CONTACT)
    )
    lines = _lines_with_photos().select_related("container", "weighing", "look")
    return (
        Pickup.objects.filter(_of_own_makers(actor) | own_places)
        .select_related("maker", "place", "route")
        .prefetch_related(Prefetch("lines", lines))
    )


def visits_since(
    actor: Actor, day: date, *, place_id: UUID | None = None, vehicle_id: UUID | None = None
) -> list[Visit]:
    """Return the visits someone may see, from one day on, in order; each as it was last booked.

    Of one place or on one van only, if that is named.
    """
    seen = pickups_seen_by(actor).prefetch_related(None).filter(planned_arrival__isnull=False)
    if place_id is not None:
        seen = seen.filter(place_id=place_id)
    # A visit keeps its name through its changes, so those before the day count as well.
    latest: dict[UUID, Visit] = {}
    for visit in visits_of(seen.filter(day__gte=day - _CHANGES_REMEMBERED)):
        route = visit.pickup.route
        if vehicle_id is None or (route is not None and route.vehicle_id == vehicle_id):
            latest[visit.root_id] = visit
    recent = [visit for visit in latest.values() if visit.pickup.day and visit.pickup.day >= day]
    return sorted(recent, key=lambda visit: (visit.pickup.planned_arrival, visit.pickup.id))


def _of_own_makers(actor: Actor) -> Q:
    here = Q(community_id=actor.community_id)
    if actor.is_organiser:
        return here
    return here & Q(maker_id__in=actor.held_for(DRIVER, MAKER))


def _lines_with_photos() -> QuerySet[PickupLine]:
    photos = Photo.objects.select_related("community").order_by("taken_at", "id")
    return PickupLine.objects.prefetch_related(Prefetch("photos", photos)).order_by(
        "container__tag"
    )


def photos_seen_by(actor: Actor) -> QuerySet[Photo]:
    """Return the photos of the visits that someone may see."""
    seen = pickups_seen_by(actor).prefetch_related(None)
    photos = Photo.objects.filter(line__pickup__in=seen)
    return photos.select_related("community", "line").order_by("taken_at", "id")


def photo_for(actor: Actor, photo_id: UUID) -> Photo:
    """Return a photo that someone may see; raises NotFound."""
    return one_of(photos_seen_by(actor), photo_id)


def photos_of(actor: Actor, subject_ids: Iterable[UUID]) -> dict[UUID, list[Photo]]:
    """Return the photos someone may see, by the lot that was taken or the look that refused it."""
    wanted = list(subject_ids)
    photos: dict[UUID, list[Photo]] = defaultdict(list)
    either = Q(line__lot_id__in=wanted) | Q(line__look_id__in=wanted, line__lot__isnull=True)
    for photo in photos_seen_by(actor).filter(either):
        subject_id = photo.line.lot_id or photo.line.look_id
        if subject_id is not None:
            photos[subject_id].append(photo)
    return photos


def vehicle_for(actor: Actor, vehicle_id: UUID, *, lock: bool = False) -> Vehicle:
    """Return a van that someone may see; raises NotFound."""
    return _one(vehicles_seen_by(actor), vehicle_id, lock=lock)


def proposal_for(actor: Actor, proposal_id: UUID, *, lock: bool = False) -> Proposal:
    """Return a proposal that someone may see; raises NotFound."""
    return _one(proposals_seen_by(actor), proposal_id, lock=lock)


def question_for(actor: Actor, question_id: UUID) -> Question:
    """Return what was asked of a proposal that someone may see; raises NotFound."""
    asked = Question.objects.filter(proposal__in=proposals_seen_by(actor))
    return one_of(asked.select_related("proposal"), question_id)


def route_for(actor: Actor, route_id: UUID, *, lock: bool = False) -> Route:
    """Return a route that someone may see; raises NotFound."""
    return _one(routes_seen_by(actor), route_id, lock=lock)


def pickup_for(actor: Actor, pickup_id: UUID) -> Pickup:
    """Return a pickup that someone may see; raises NotFound."""
    return _one(pickups_seen_by(actor), pickup_id)


def _one(rows: QuerySet[R], row_id: UUID, *, lock: bool = False) -> R:
    if lock:
        rows = rows.select_for_update(of=("self",), no_key=True)
    return one_of(rows, row_id)


def workshop_for(maker: Organisation) -> Place | None:
    """Return the place that a maker's vans start from, where it has one."""
    return (
        Place.objects.filter(
            community_id=maker.community_id,
            organisation=maker,
            kind=Place.Kind.WORKSHOP,
            status=Place.Status.ADMITTED,
        )
        .order_by("id")
        .first()
    )


@dataclass(frozen=True, kw_only=True)
class NextVisit:
    """When a place is visited next; a day and time only once it is planned."""

    pickup_id: UUID
    day: date | None
    planned_arrival: datetime | None
    status: str


def next_visit_for(*, actor: Actor, place_ids: Iterable[UUID]) -> dict[UUID, NextVisit]:
    """Return the next visit of each place that has one: the first that is planned, or else asked.

    Of an asked-for visit nothing but that is known.
    """
    wanted = [Pickup.Status.ASKED, *STANDING]
    rows = (
        pickups_seen_by(actor)
        .filter(place_id__in=list(place_ids), status__in=wanted)
        .prefetch_related(None)
        .order_by("planned_arrival", "id")  # what is not planned has none and comes last
    )
    visits: dict[UUID, NextVisit] = {}
    for pickup in rows:
        visit = NextVisit(
            pickup_id=pickup.id,
            day=pickup.day,
            planned_arrival=pickup.planned_arrival,
            status=pickup.status,
        )
        visits.setdefault(pickup.place_id, visit)
    return visits


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A time in which one can come to a place, in UTC."""

    opens_at: datetime
    closes_at: datetime


@dataclass(frozen=True, kw_only=True)
class StopDetail:
    """All that a driver needs at one stop."""

    pickup: Pickup
    windows: Sequence[Opening]
    rule_versions: Sequence[RuleVersion]
    lines: Sequence[PickupLine]
    cautions: Sequence[Caution]


@dataclass(frozen=True, kw_only=True)
class RouteDetail:
    """A route with its stops in the planned order, from the workshop and back to it."""

    route: Route
    workshop: Place | None
    stops: Sequence[StopDetail]
    cautions: Sequence[Caution]

    @cached_property
    def way(self) -> Sequence[Sequence[float]]:
        """Longitude and latitude of each turn; looked for only when it is asked for."""
        return way_of_route(self.workshop, [stop.pickup for stop in self.stops])


def route_detail(actor: Actor, route_id: UUID) -> RouteDetail:
    """Return a route with all its driver needs, in a fixed number of reads; raises NotFound."""
    route = route_for(actor, route_id)
    pickups = _pickups_of(route)
    places = [pickup.place for pickup in pickups]
    openings = _openings(places, route.day)
    stops = [_stop_of(p, list(p.lines.all()), openings.get(p.place_id, [])) for p in pickups]
    return RouteDetail(
        route=route,
        workshop=workshop_for(route.maker),
        stops=stops,
        cautions=route_cautions(stop.cautions for stop in stops),
    )


def _pickups_of(route: Route) -> list[Pickup]:
    lines = _lines_with_photos().select_related(
        "container__agreement__rule_version__stream", "weighing", "look"
    )
    return list(
        Pickup.objects.filter(community_id=route.community_id, route=route)
        .select_related("place", "maker", "route")
        .prefetch_related(Prefetch("lines", lines))
        .order_by("position", "id")
    )


def _openings(places: Sequence[Place], day: date) -> dict[UUID, list[Opening]]:
    found = open_windows_for(places, first_day=day, last_day=day)
    return {
        place_id: [Opening(opens_at=opens, closes_at=closes) for opens, closes in windows]
        for place_id, windows in found.items()
    }


def _stop_of(pickup: Pickup, lines: Sequence[PickupLine], windows: Sequence[Opening]) -> StopDetail:
    versions = {line.container.agreement.rule_version for line in lines}
    return StopDetail(
        pickup=pickup,
        windows=windows,
        rule_versions=sorted(versions, key=lambda version: version.stream.name),
        lines=lines,
        cautions=stop_cautions(
            gross_masses_g=[line.expected_mass_g + line.container.tare_g for line in lines],
            is_school=pickup.place.kind == Place.Kind.SCHOOL,
        ),
    )


def free_containers(maker: Organisation) -> QuerySet[Container]:
    """Return the containers that a maker may empty and that no standing route is booked to."""
    booked = PickupLine.objects.filter(container=OuterRef("pk"), outcome=PickupLine.Outcome.OPEN)
    return Container.objects.filter(
        ~Exists(booked),
        community_id=maker.community_id,
        retired_at__isnull=True,
        agreement__stream__maker=maker,
        agreement__status=Agreement.Status.RUNNING,
        agreement__place__status=Place.Status.ADMITTED,
    ).select_related("agreement__place", "agreement__stream", "agreement__main_item")


def asks_for_route(actor: Actor, route_id: UUID) -> list[StopDetail]:
    """Return the visits asked of a route's maker, each as the stop that it would be on the route.

    They come after the last planned stop, since the driver chooses when to go there. Places where
    nothing is free to be emptied are left out. Raises NotFound.
    """
    route = route_for(actor, route_id)
    rows = Pickup.objects.filter(
        community_id=route.community_id, maker_id=route.maker_id, status=Pickup.Status.ASKED
    )
    asks = list(rows.select_related("place", "maker").order_by("asked_at", "id"))
    openings = _openings([ask.place for ask in asks], route.day)
    lines = lines_of_asks(route, asks)
    put_last(route, asks)
    return [
        _stop_of(ask, lines[ask.id], openings.get(ask.place_id, []))
        for ask in asks
        if lines[ask.id]
    ]


def put_last(route: Route, asks: Iterable[Pickup]) -> None:
    """Plan each visit after the last stop of a route, now at the earliest; nothing is saved."""
    last = route.pickups.order_by("-position").first()
    after, position = route.starts_at, 0
    if last is not None and last.position is not None:
        after, position = last.planned_departure or after, last.position + 1
    after = max(timezone.now(), after)
    for ask in asks:
        ask.status, ask.position = Pickup.Status.PLANNED, position
        ask.planned_arrival = after
        ask.planned_departure = after + timedelta(seconds=ask.place.service_s)


def lines_of_asks(route: Route, asks: Sequence[Pickup]) -> dict[UUID, list[PickupLine]]:
    """Return what each visit that was asked for would empty, by visit, not yet in the database.

    Each line has the id it will always have, so that a phone without a signal can go by it.
    """
    at_places = free_containers(route.maker).filter(
        agreement__place_id__in=[ask.place_id for ask in asks]
    )
    # What a stop shows of its rules is read along.
    containers = list(at_places.select_related("agreement__rule_version__stream").order_by("tag"))
    today = local_day(route.community, timezone.now())
    fills = expected_fills(containers, day=today, when_full=False)
    return {
        ask.id: [
            _line_of_ask(ask, container, fills[container.id])
            for container in containers
            if container.agreement.place_id == ask.place_id
        ]
        for ask in asks
    }


def _line_of_ask(ask: Pickup, container: Container, fill: ExpectedFill) -> PickupLine:
    return PickupLine(
        id=uuid5(ask.id, str(container.id)),
        community_id=ask.community_id,
        pickup=ask,
        container=container,
        expected_mass_g=fill.mass.mass_g if fill.mass else 0,
        expected_volume_ml=fill.volume_ml,
    )
