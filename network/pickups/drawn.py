"""A plan's routes as they lie on the map."""

from uuid import UUID

from network.geo import Point
from network.people.core.actor import Actor
from network.pickups.distances import distances_of
from network.pickups.plan_data import Data, groundwork_from_data
from network.pickups.queries import proposal_for


def drawn_proposal(actor: Actor, proposal_id: UUID) -> Data:
    """Return a ready plan's ways and stops as a GeoJSON FeatureCollection, by shift.

    The ways are those known now. Without a plan it is empty. Raises NotFound.
    """
    proposal = proposal_for(actor, proposal_id)
    features: list[Data] = []
    if proposal.plan and proposal.problem:
        groundwork = groundwork_from_data(proposal.problem)
        problem, distances = groundwork.problem, distances_of(proposal.maker)
        points = {each.id: Point(each.longitude, each.latitude) for each in problem.depots}
        points |= {each.id: Point(each.longitude, each.latitude) for each in problem.places}
        for route in proposal.plan["routes"]:
            shift = problem.shift_by_id[route["shift"]]
            stops = [stop["place"] for stop in route["stops"]]
            ids = [shift.start_depot_id, *(place["id"] for place in stops), shift.end_depot_id]
            line = distances.line([points[each] for each in ids])
            about = {"shift": int(route["shift"])}
            features.append(_feature("LineString", line, about))
            features += [
                _feature(
                    "Point",
                    list(points[place["id"]]),
                    {**about, "number": number, "name": place["name"], "id": place["id"]},
                )
                for number, place in enumerate(stops, start=1)
            ]
    return {"type": "FeatureCollection", "features": features}


def _feature(kind: str, coordinates: object, properties: Data) -> Data:
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": properties, "geometry": geometry}
