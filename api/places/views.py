"""Offers and places: finding, registering, changing, admitting, and what is printed for them."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.places import requests
from api.places.filters import PlaceFilter
from api.places.serializers import OfferSerializer, PlaceDetailSerializer, PlaceSerializer
from api.renderers import PdfRenderer
from network.geo import Point
from network.people.core.actor import Actor
from network.people.queries import actor_in
from network.pickups.queries import next_visit_for
from network.places import queries, services
from network.places.models import Place

PLACES_GEOJSON = {
    "type": "object",
    "properties": {
        "type": {"type": "string", "const": "FeatureCollection"},
        "features": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {
                    "type": {"type": "string", "const": "Feature"},
                    "id": {"type": "string", "format": "uuid"},
                    "geometry": {"type": "object"},
                    "properties": {"type": "object"},
                },
                "required": ["type", "id", "geometry", "properties"],
            },
        },
    },
    "required": ["type", "features"],
}
PDF = {(200, "application/pdf"): OpenApiTypes.BINARY}


def place_as_seen(actor: Actor, place_id: UUID) -> dict[str, Any]:
    """Return a place with all that belongs to it, and when it is visited next."""
    detail = queries.place_detail(actor, place_id, at=timezone.now())
    visit = next_visit_for(actor=actor, place_ids=[place_id]).get(place_id)
    whole: dict[str, Any] = PlaceDetailSerializer({**vars(detail), "next_visit": visit}).data
    return whole


class OffersView(CommunityView):
    """The streams that a place at a point could set aside, those within reach first."""

    pagination_class = None
    filter_backends = ()

    @extend_schema(
        operation_id="offers_list",
        parameters=[requests.OfferQuerySerializer],
        responses=OfferSerializer(many=True),
    )
    def get(self, request: Request, community: str) -> Response:
        sent = requests.OfferQuerySerializer(data=request.query_params)
        sent.is_valid(raise_exception=True)
        asked = sent.validated_data
        offers = queries.offers_near(
            self.actor, point=Point(asked["longitude"], asked["latitude"]), kind=asked["kind"]
        )
        return Response(OfferSerializer(offers, many=True).data)


class PlacesView(ListModelMixin, CommunityView):
    """The places that the person who asks may see."""

    serializer_class = PlaceSerializer
    filterset_class = PlaceFilter
    queryset = Place.objects.none()

    def get_queryset(self) -> QuerySet[Place]:
        return queries.places_seen_by(self.actor)

    @extend_schema(operation_id="places_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="place_register",
        request=requests.NewPlaceSerializer,
        responses={201: PlaceDetailSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = requests.NewPlaceSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        place = services.register_place(
            self.actor,
            place=requests.place_input(sent.validated_data),
            organisation=requests.organisation_of(sent.validated_data),
            agreement=requests.first_agreement(sent.validated_data),
            place_id=idempotency_key(request),
        )
        # Who registered a new organisation has become its contact, and so sees the place.
        actor = actor_in(community=self.community, user_id=request.user.pk)
        return Response(place_as_seen(actor, place.id), status=201)


class PlacesMapView(CommunityView):
    """The places as points on a map, as RFC 7946 has it: longitude first."""

    filterset_class = PlaceFilter
    pagination_class = None
    queryset = Place.objects.none()

    def get_queryset(self) -> QuerySet[Place]:
        return queries.places_seen_by(self.actor)

    @extend_schema(
        operation_id="places_map_read", responses={(200, "application/json"): PLACES_GEOJSON}
    )
    def get(self, request: Request, community: str) -> Response:
        places = self.filter_queryset(self.get_queryset()).order_by("id")
        features = [_feature(place) for place in places]
        return Response({"type": "FeatureCollection", "features": features})


def _feature(place: Place) -> dict[str, object]:
    shown = PlaceSerializer(place).data
    point = [shown.pop("longitude"), shown.pop("latitude")]
    return {
        "type": "Feature",
        "id": shown["id"],
        "geometry": {"type": "Point", "coordinates": point},
        "properties": shown,
    }


class PlaceView(CommunityView):
    """One place with its calendar, agreements, containers and next visit."""

    @extend_schema(operation_id="place_read", responses=PlaceDetailSerializer)
    def get(self, request: Request, community: str, place_id: UUID) -> Response:
        detail = place_as_seen(self.actor, place_id)
        services.note_contact_seen(self.actor, place_id=place_id)
        return Response(detail)

    @extend_schema(
        operation_id="place_change",
        request=requests.PlaceFieldsSerializer,
        responses=PlaceDetailSerializer,
    )
    @write_once
    def patch(self, request: Request, community: str, place_id: UUID) -> Response:
        sent = requests.PlaceFieldsSerializer(data=request.data, partial=True)
        sent.is_valid(raise_exception=True)
        services.change_place(
            self.actor, place_id=place_id, changes=requests.place_changes(sent.validated_data)
        )
        return Response(place_as_seen(self.actor, place_id))


class PlaceAdmitView(CommunityView):
    """Admits a place that asked to join."""

    @extend_schema(operation_id="place_admit", request=None, responses=PlaceDetailSerializer)
    @write_once
    def post(self, request: Request, community: str, place_id: UUID) -> Response:
        services.admit_place(self.actor, place_id=place_id)
        return Response(place_as_seen(self.actor, place_id))


class PlaceRefuseView(CommunityView):
    """Refuses a place that asked to join, with the reason it is told."""

    @extend_schema(
        operation_id="place_refuse",
        request=requests.RefusalSerializer,
        responses=PlaceDetailSerializer,
    )
    @write_once
    def post(self, request: Request, community: str, place_id: UUID) -> Response:
        sent = requests.RefusalSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        services.refuse_place(self.actor, place_id=place_id, **sent.validated_data)
        return Response(place_as_seen(self.actor, place_id))


class PlaceCardView(CommunityView):
    """The rules of each stream of a place, to be hung on its wall."""

    renderer_classes = (PdfRenderer,)

    @extend_schema(operation_id="place_card_read", responses=PDF)
    def get(self, request: Request, community: str, place_id: UUID) -> Response:
        return _pdf(queries.card_pdf(self.actor, place_id))


class PlaceLabelsView(CommunityView):
    """Labels for the containers of a place, each with its tag and a code that opens it."""

    renderer_classes = (PdfRenderer,)

    @extend_schema(operation_id="place_labels_read", responses=PDF)
    def get(self, request: Request, community: str, place_id: UUID) -> Response:
        origin = request.build_absolute_uri("/").rstrip("/")
        return _pdf(queries.labels_pdf_for(self.actor, place_id, origin=origin))


def _pdf(content: bytes) -> Response:
    return Response(content, content_type="application/pdf")
