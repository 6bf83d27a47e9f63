"""The public map: each place as precisely as it agreed to."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from network.places.queries import public_places
from network.places.queries.public import PublicPlace

PUBLIC_GEOJSON = {
    "type": "object",
    "properties": {
        "type": {"type": "string", "const": "FeatureCollection"},
        "features": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    "type": {"type": "string", "const": "Feature"},
                    "geometry": {
                        "type": ["object", "null"],
                        "properties": {
                            "type": {"type": "string", "const": "Point"},
                            "coordinates": {"type": "array", "items": {"type": "number"}},
                        },
                        "required": ["type", "coordinates"],
                    },
                    "properties": {
                        "type": "object",
                        "properties": {
                            "kind": {"type": "string"},
                            "precision": {"type": "string"},
                            "name": {"type": "string"},
                            "address": {"type": "string"},
                            "district": {"type": "string"},
                        },
                        "required": ["kind", "precision", "name", "address", "district"],
                    },
                },
                "required": ["type", "geometry", "properties"],
            },
        },
    },
    "required": ["type", "features"],
}


class PublicMapView(CommunityView):
    """The places that take part, as RFC 7946 has it; without a geometry where only a district is.

    A place that is shown by its street or district has no name here.
    """

    @extend_schema(
        operation_id="public_map_read", responses={(200, "application/json"): PUBLIC_GEOJSON}
    )
    def get(self, request: Request, community: str) -> Response:
        features = [_feature(place) for place in public_places(self.community)]
        return Response({"type": "FeatureCollection", "features": features})


def _feature(place: PublicPlace) -> dict[str, object]:
    shown = {**vars(place)}
    point = shown.pop("point")
    geometry = None if point is None else {"type": "Point", "coordinates": list(point)}
    return {"type": "Feature", "geometry": geometry, "properties": shown}
