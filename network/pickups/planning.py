"""From the rows of the database to a planning problem: what stands where, and when one can come."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from network.errors import WrongState
from network.geo import Point
from network.people.models import Organisation
from network.pickups.core import problem as core
from network.pickups.core.prize import VisitWorth
from network.pickups.core.travel import Travel
from network.pickups.distances import distances_of
from network.pickups.horizon import Horizon, Span, horizon_of
from network.pickups.last_visits import last_vans, visited_on
from network.pickups.models import Pickup, Vehicle
from network.pickups.plan_data import Content, Groundwork
from network.pickups.queries import free_containers, workshop_for
from network.pickups.request_data import PlanRequest, ShiftWish
from network.pickups.worth import Prizes, could_come
from network.places.models import Agreement, Container, Place
from network.places.queries import Ahead, Fills, expected_ahead, open_windows_for

UNLOAD_S = 900


@dataclass(frozen=True, kw_only=True)
class Scene:
    """What differs between a plan from the workshop and one from where the vans are.

    `points` are depots other than the workshop, by id.
    """

    containers: Sequence[Container]
    vans: tuple[core.Van, ...]
    shifts: tuple[core.Shift, ...]
    required: Collection[UUID]
    points: Mapping[str, Point]


def lay_groundwork(maker: Organisation, request: PlanRequest, *, now: datetime) -> Groundwork:
    """Return the planning problem of a request as things stand now.

    Raises WrongState when the maker has no workshop to start from or a shift is over.
    """
    horizon, workshop = horizon_of(maker, request), workshop_of(maker)
    scene = Scene(
        containers=list(free_containers(maker).order_by("tag")),
        vans=tuple(van_of(vehicle) for vehicle in vehicles_of(request)),
        shifts=tuple(
            shift_of(index, shift, horizon, workshop, now=now)
            for index, shift in enumerate(request.shifts)
        ),
        required=_asked(maker) | request.must_visit,
        points={},
    )
    return set_scene(maker, request, scene, horizon=horizon)


def vehicles_of(request: PlanRequest) -> QuerySet[Vehicle]:
    """Return the vans of a request's shifts."""
    return Vehicle.objects.filter(id__in={s.vehicle_id for s in request.shifts}).order_by("id")


def set_scene(
    maker: Organisation, request: PlanRequest, scene: Scene, *, horizon: Horizon
) -> Groundwork:
    """Return the problem of a scene, with what is expected in the containers and its worth."""
    workshop, containers = workshop_of(maker), scene.containers
    places = {c.agreement.place_id: c.agreement.place for c in containers}
    windows = _windows(places, horizon)
    coming = could_come(containers, windows, scene.shifts, horizon=horizon)
    ahead = expected_ahead(containers, horizon.dates, coming)
    contents = _contents(containers, ahead.fills, horizon)
    distances = distances_of(maker)
    travel = distances.travel(_points([workshop, *places.values()], scene.points))
    prizes = _prizes(request, scene, travel, ahead, horizon)
    worths = _worths(places, containers, prizes, days=horizon.days)
    problem = core.Problem(
        days=horizon.days,
        currency=maker.community.currency,
        depots=(_depot(workshop), *(_standing_at(name, p) for name, p in scene.points.items())),
        vans=scene.vans,
        shifts=scene.shifts,
        places=_places(
            places,
            containers,
            contents,
            horizon=horizon,
            windows=windows,
            request=request,
            worths=worths,
            standing_full=prizes.standing_full(containers),
            required=scene.required,
            vans=last_vans(maker, places),
        ),
        travel=travel,
    )
    return Groundwork(
        problem=problem,
        first_day=horizon.first_day,
        starts_at=horizon.starts_at,
        timezone=horizon.timezone,
        names=_names(vehicles_of(request), places.values(), containers, workshop),
        contents=_by_place(contents, containers),
        school_ids=frozenset(str(p.id) for p in places.values() if p.kind == Place.Kind.SCHOOL),
        worths={str(place_id): by_day for place_id, by_day in worths.items()},
        distances=distances.basis.to_data(),
    )


def _windows(places: Mapping[UUID, Place], horizon: Horizon) -> dict[UUID, list[Span]]:
    rows = list(places.values())
    return open_windows_for(rows, first_day=horizon.first_day, last_day=horizon.last_day)


def _prizes(
    request: PlanRequest, scene: Scene, travel: Travel, ahead: Ahead, horizon: Horizon
) -> Prizes:
    return Prizes(
        request=request,
        vans=scene.vans,
        travel=travel,
        ahead=ahead,
        visited_on=visited_on(scene.containers, horizon.timezone),
        first_day=horizon.first_day,
    )


def _worths(
    places: Mapping[UUID, Place], containers: Iterable[Container], prizes: Prizes, *, days: int
) -> dict[UUID, dict[int, VisitWorth]]:
    """What a visit to each place is worth on each day, whether it is open or not."""
    own: dict[UUID, list[Container]] = defaultdict(list)
    for container in containers:
        own[container.agreement.place_id].append(container)
    return {
        place_id: prizes.by_day(place, own[place_id], days=days)
        for place_id, place in places.items()
    }


def _asked(maker: Organisation) -> set[UUID]:
    rows = Pickup.objects.filter(
        community_id=maker.community_id, maker=maker, status=Pickup.Status.ASKED
    )
    return set(rows.values_list("place_id", flat=True))


def workshop_of(maker: Organisation) -> Place:
    """Return the place that a maker's vans start from; raises WrongState when it has none."""
    workshop = workshop_for(maker)
    if workshop is None:
        raise WrongState(f"{maker.name} has no workshop yet: add it as a place first.")
    return workshop


def _contents(
    containers: Sequence[Container], fills: Fills, horizon: Horizon
) -> dict[UUID, Content]:
    """What is expected in each container on each day on which its agreement runs."""
    expected: dict[UUID, dict[int, tuple[int, int]]] = defaultdict(dict)
    for index, day in enumerate(horizon.dates):
        for container in containers:
            if _runs_on(container.agreement, day):
                fill = fills[day][container.id]
                # Where no bulk density is known the mass is not guessed: only the volume counts.
                mass_g = fill.mass.mass_g if fill.mass else 0
                expected[container.id][index] = (mass_g, fill.volume_ml)
    return {
        container.id: Content(
            container_id=str(container.id),
            stream_id=str(container.agreement.stream_id),
            tare_g=container.tare_g,
            expected=expected[container.id],
        )
        for container in containers
    }


def _by_place(
    contents: Mapping[UUID, Content], containers: Iterable[Container]
) -> dict[str, tuple[Content, ...]]:
    found: dict[str, list[Content]] = defaultdict(list)
    for container in containers:
        found[str(container.agreement.place_id)].append(contents[container.id])
    return {place_id: tuple(own) for place_id, own in found.items()}


def _runs_on(agreement: Agreement, day: date) -> bool:
    return agreement.starts_on <= day and (agreement.ends_on is None or day <= agreement.ends_on)


def _depot(workshop: Place) -> core.Depot:
    return core.Depot(
        id=str(workshop.id),
        longitude=workshop.longitude,
        latitude=workshop.latitude,
        unload_s=UNLOAD_S,
    )


def van_of(vehicle: Vehicle) -> core.Van:
    """Return a van as the planner knows it."""
    return core.Van(
        id=str(vehicle.id),
        payload_g=vehicle.payload_g,
        volume_ml=vehicle.volume_ml,
        cost_per_shift=vehicle.cost_per_shift,
        cost_per_km=vehicle.cost_per_km,
        cost_per_hour=vehicle.cost_per_hour,
    )


def shift_of(
    index: int, wish: ShiftWish, horizon: Horizon, workshop: Place, *, now: datetime
) -> core.Shift:
    """A shift that has begun starts now."""
    starts_at, ends_at = wish.span(horizon.timezone)
    if now >= ends_at:
        raise WrongState("A shift is over already: ask for a new proposal.")
    return core.Shift(
        id=str(index),
        van_id=str(wish.vehicle_id),
        day=(wish.day - horizon.first_day).days,
        start_s=horizon.seconds(max(starts_at, now)),
        end_s=horizon.seconds(ends_at),
        start_depot_id=str(workshop.id),
        end_depot_id=str(workshop.id),
        break_s=wish.break_s,
        stretch_s_max=wish.stretch_s_max,
        drive_s_max=wish.drive_s_max,
        work_s_max=wish.work_s_max,
    )


def _places(
    places: Mapping[UUID, Place],
    containers: Sequence[Container],
    contents: Mapping[UUID, Content],
    *,
    horizon: Horizon,
    windows: Mapping[UUID, Sequence[Span]],
    request: PlanRequest,
    worths: Mapping[UUID, Mapping[int, VisitWorth]],
    standing_full: Mapping[UUID, Decimal],
    required: Collection[UUID],
    vans: Mapping[UUID, str],
) -> tuple[core.Place, ...]:
    never = request.never_visit
    closed: dict[UUID, set[int]] = defaultdict(set)
    for place_id, day in request.closed:
        closed[place_id].add((day - horizon.first_day).days)
    every_day = frozenset(range(horizon.days))
    return tuple(
        core.Place(
            id=str(place_id),
            longitude=place.longitude,
            latitude=place.latitude,
            service_s=place.service_s,
            days=_visit_days(
                [c for c in containers if c.agreement.place_id == place_id],
                contents,
                horizon=horizon,
                windows=windows.get(place_id, []),
                worths=worths[place_id],
                missed_cost=request.missed_hours_cost,
            ),
            required=place_id in required and place_id not in never,
            forbidden_days=every_day if place_id in never else frozenset(closed[place_id]),
            full_days=standing_full[place_id],
            last_van_id=vans.get(place_id),
        )
        for place_id, place in places.items()
    )


def _visit_days(
    containers: Sequence[Container],
    contents: Mapping[UUID, Content],
    *,
    horizon: Horizon,
    windows: Sequence[Span],
    worths: Mapping[int, VisitWorth],
    missed_cost: Decimal,
) -> tuple[core.VisitDay, ...]:
    by_day: dict[int, list[core.Window]] = defaultdict(list)
    for opens, closes in windows:
        window = core.Window(start_s=horizon.seconds(opens), end_s=horizon.seconds(closes))
        by_day[horizon.index(opens)].append(window)
    return tuple(
        core.VisitDay(
            day=day,
            windows=tuple(by_day[day]),
            loads=_loads([contents[c.id] for c in containers], day),
            worth=worths[day].total,
            full_days_avoided=worths[day].full_days,
            preferred=_preferred(containers[0].agreement.place, by_day[day], horizon, day),
            missed_cost=missed_cost,
        )
        for day in sorted(by_day)
        if any(day in contents[c.id].expected for c in containers)
    )


def _preferred(
    place: Place, windows: Iterable[core.Window], horizon: Horizon, day: int
) -> tuple[core.Window, ...]:
    """The parts of a day's windows that lie in the hours which the place prefers."""
    if place.prefers_from is None or place.prefers_until is None:
        return ()
    on, clock = horizon.dates[day], ZoneInfo(horizon.timezone)
    begins_s, ends_s = (
        horizon.seconds(datetime.combine(on, hour, tzinfo=clock))
        for hour in (place.prefers_from, place.prefers_until)
    )
    cuts = ((max(w.start_s, begins_s), min(w.end_s, ends_s)) for w in windows)
    return tuple(core.Window(start_s=start, end_s=end) for start, end in cuts if start < end)


def _loads(contents: Iterable[Content], day: int) -> tuple[core.Load, ...]:
    by_stream: dict[str, tuple[int, int]] = {}
    for content in contents:
        mass_g, volume_ml = content.expected.get(day, (0, 0))
        before_g, before_ml = by_stream.get(content.stream_id, (0, 0))
        by_stream[content.stream_id] = (before_g + mass_g, before_ml + volume_ml)
    return tuple(
        core.Load(stream_id=stream_id, mass_g=mass_g, volume_ml=volume_ml)
        for stream_id, (mass_g, volume_ml) in by_stream.items()
    )


def _standing_at(name: str, point: Point) -> core.Depot:
    return core.Depot(id=name, longitude=point.longitude, latitude=point.latitude)


def _points(places: Iterable[Place], more: Mapping[str, Point]) -> dict[str, Point]:
    points = {str(p.id): Point(longitude=p.longitude, latitude=p.latitude) for p in places}
    return {**points, **more}


def _names(
    vans: Iterable[Vehicle],
    places: Iterable[Place],
    containers: Iterable[Container],
    workshop: Place,
) -> dict[str, str]:
    streams = {c.agreement.stream_id: c.agreement.stream.name for c in containers}
    return {
        str(workshop.id): workshop.name,
        **{str(vehicle.id): vehicle.name for vehicle in vans},
        **{str(place.id): place.name for place in places},
        **{str(stream_id): name for stream_id, name in streams.items()},
    }
