"""The rest of a day as a planning problem: the vans where they are, with what is on board."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet, Sum

from network.geo import Point
from network.people.models import Organisation
from network.pickups.core import problem as core
from network.pickups.horizon import Horizon, horizon_of
from network.pickups.models import Pickup, PickupLine, Route
from network.pickups.on_duty import done_at, duty_of, with_duty
from network.pickups.plan_data import Groundwork
from network.pickups.planning import (
    Scene,
    set_scene,
    shift_of,
    van_of,
    vehicles_of,
    workshop_of,
)
from network.pickups.queries import STANDING, STANDING_ROUTES, free_containers
from network.pickups.request_data import PlanRequest, RestOfDay, ShiftWish, request_from_data
from network.places.models import Container


@dataclass(frozen=True, kw_only=True)
class RestGroundwork:
    """The problem of the rest of a day, and the order of stops that stands for each shift."""

    groundwork: Groundwork
    in_force: dict[str, list[str]]


def lay_rest_of_day(maker: Organisation, request: PlanRequest, *, now: datetime) -> RestGroundwork:
    """Return the problem of what is still to come that day, from where each van is now.

    Every visit still to come must be made, and so must those asked for anew. Raises WrongState
    where a shift is over.
    """
    rest = rest_of(request)
    routes = {route.id: route for route in _routes(rest)}
    to_come = stops_to_come(routes.values())
    horizon, workshop = horizon_of(maker, request), workshop_of(maker)
    shifts, vans, points = [], [], {}
    vehicles = {vehicle.id: vehicle for vehicle in vehicles_of(request)}
    for index, wish in enumerate(request.shifts):
        route_id = rest.route_ids[index]
        shift = shift_of(index, wish, horizon, workshop, now=now)
        van = van_of(vehicles[wish.vehicle_id])
        if route_id is not None:
            route = routes[route_id]
            van = _with_load(van, route)
            shift, point = _from_where_it_is(shift, route, horizon, now=now)
            shift = _with_what_is_behind(shift, route, horizon, to_come)
            points.update(point)
        shifts.append(shift)
        vans.append(van)
    scene = Scene(
        containers=_containers(maker, to_come, request),
        vans=tuple(vans),
        shifts=tuple(shifts),
        required={stop.place_id for stop in to_come} | request.must_visit,
        points=points,
    )
    return RestGroundwork(
        groundwork=set_scene(maker, request, scene, horizon=horizon),
        in_force={
            str(index): [str(stop.place_id) for stop in to_come if stop.route_id == route_id]
            for index, route_id in enumerate(rest.route_ids)
            if route_id is not None
        },
    )


def rest_of(request: PlanRequest) -> RestOfDay:
    """Return what a request for the rest of a day says of its routes."""
    if request.rest_of_day is None:
        raise ValueError("this request is not for the rest of a day")
    return request.rest_of_day


def stops_to_come(routes: Iterable[Route]) -> list[Pickup]:
    """Return the visits of some routes that nobody has begun, in their order."""
    rows = Pickup.objects.filter(route__in=list(routes), status=Pickup.Status.PLANNED)
    return list(rows.select_related("place").order_by("route_id", "position", "id"))


def end_of_shift(route: Route) -> datetime:
    """Return until when the van of a route may be out: the shift it was planned in."""
    zone = ZoneInfo(route.community.timezone)
    ends = [datetime.combine(route.day, wish.ends, tzinfo=zone) for wish in _wishes_of(route)]
    return max([*ends, route.ends_at])


def limits_of(route: Route) -> dict[str, Any]:
    """Return what bounds the time of a route's driver, by the shift it was planned in."""
    wishes = sorted(_wishes_of(route), key=lambda wish: wish.starts)
    return wishes[-1].limits if wishes else {}


def _wishes_of(route: Route) -> list[ShiftWish]:
    """The shifts of its van that day which the route may have been planned in."""
    if route.proposal is None:
        return []
    leaves = route.starts_at.astimezone(ZoneInfo(route.community.timezone)).time()
    return [
        wish
        for wish in request_from_data(route.proposal.request).shifts
        if (wish.vehicle_id, wish.day) == (route.vehicle_id, route.day) and wish.starts <= leaves
    ]


def _routes(rest: RestOfDay) -> QuerySet[Route]:
    wanted = {route_id for route_id in rest.route_ids if route_id} | rest.broken_ids
    return Route.objects.filter(id__in=wanted, status__in=STANDING_ROUTES).select_related(
        "vehicle", "community"
    )


def _containers(
    maker: Organisation, to_come: Sequence[Pickup], request: PlanRequest
) -> list[Container]:
    """What those stops would empty, and what stands free at the places asked for anew."""
    booked = PickupLine.objects.filter(
        pickup__in=to_come, outcome=PickupLine.Outcome.OPEN
    ).values_list("container_id", flat=True)
    of_stops = Container.objects.filter(id__in=booked).select_related(
        "agreement__place", "agreement__stream", "agreement__main_item"
    )
    anew = free_containers(maker).filter(agreement__place_id__in=request.must_visit)
    return sorted([*of_stops, *anew], key=lambda container: container.tag)


def _with_load(van: core.Van, route: Route) -> core.Van:
    """The van with the room that what is on board leaves; sending it out has been paid for."""
    taken = PickupLine.objects.filter(pickup__route=route, outcome=PickupLine.Outcome.COLLECTED)
    sums = taken.aggregate(mass_g=Sum("weighing__net_g"), volume_ml=Sum("expected_volume_ml"))
    out = route.status == Route.Status.UNDER_WAY
    return replace(
        van,
        payload_g=max(0, van.payload_g - (sums["mass_g"] or 0)),
        volume_ml=max(0, van.volume_ml - (sums["volume_ml"] or 0)),
        cost_per_shift=Decimal(0) if out else van.cost_per_shift,
    )


def _from_where_it_is(
    shift: core.Shift, route: Route, horizon: Horizon, *, now: datetime
) -> tuple[core.Shift, dict[str, Point]]:
    """The shift from the place where the van was last, once the visit there is done."""
    last = (
        route.pickups.filter(arrived_at__isnull=False)
        .select_related("place")
        .order_by("-arrived_at", "-position")
        .first()
    )
    if last is None or last.arrived_at is None:
        return shift, {}
    free_at = now
    if last.status in STANDING:
        free_at = max(now, done_at(last, last.arrived_at))
    # A visit that lasts until the shift's end leaves a second, in which nothing can be done.
    start_s = min(max(shift.start_s, horizon.seconds(free_at)), shift.end_s - 1)
    name = f"van:{route.vehicle_id}"
    point = Point(longitude=last.place.longitude, latitude=last.place.latitude)
    return replace(shift, start_s=start_s, start_depot_id=name), {name: point}


def _with_what_is_behind(
    shift: core.Shift, route: Route, horizon: Horizon, to_come: Sequence[Pickup]
) -> core.Shift:
    """The shift with what its driver has driven and been out today, where that is bound."""
    duty = duty_of(route) if shift.has_limits else None
    if duty is None:
        return shift
    legs = (stop.leg_s for stop in to_come if stop.route_id == route.id)
    return with_duty(shift, duty, since_s=horizon.seconds(duty.since), leg_s=next(legs, None) or 0)
