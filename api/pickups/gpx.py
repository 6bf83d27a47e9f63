"""A route as GPX 1.1, for a navigation device."""

from gpxpy.gpx import GPX, GPXRoute, GPXRoutePoint

from network.pickups.queries import RouteDetail, StopDetail
from network.places.models import Place


def route_as_gpx(detail: RouteDetail) -> str:
    """Return a route's stops in the planned order, from the workshop and back to it."""
    points = [_stop_point(stop) for stop in detail.stops]
    if detail.workshop is not None:
        points = [_point(detail.workshop), *points, _point(detail.workshop)]
    route = GPXRoute(name=f"{detail.route.vehicle.name}, {detail.route.day.isoformat()}")
    route.points = points
    gpx = GPX()
    gpx.creator = "Millrace"
    gpx.name = route.name
    gpx.time = detail.route.starts_at
    gpx.routes = [route]
    return gpx.to_xml(version="1.1")


def _point(place: Place) -> GPXRoutePoint:
    return GPXRoutePoint(
        latitude=place.latitude, longitude=place.longitude, name=place.name, type=place.kind
    )


def _stop_point(stop: StopDetail) -> GPXRoutePoint:
    point = _point(stop.pickup.place)
    point.time = stop.pickup.planned_arrival
    point.comment = stop.pickup.place.address
    point.description = stop.pickup.place.access_notes or None
    return point
