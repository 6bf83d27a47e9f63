"""Where a product came from, for all to see, and what became of a place's material."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.renderers import SvgRenderer
from api.workshop.passports_serializers import (
    BecameSerializer,
    PassportSerializer,
    PublishSerializer,
    StorySerializer,
)
from network.workshop import services
from network.workshop.queries.passports import (
    passport_code,
    passport_page,
    story_of,
    what_became_of,
)
from network.workshop.queries.seen import product_seen_by


class PassportView(APIView):
    """The public page of a product."""

    @extend_schema(operation_id="passport_read", responses=PassportSerializer)
    def get(self, request: Request, slug: str) -> Response:
        return Response(PassportSerializer(passport_page(slug)).data)


class PassportCodeView(APIView):
    """The QR code of a product's public page."""

    renderer_classes = (SvgRenderer, JSONRenderer)

    @extend_schema(
        operation_id="passport_code_read",
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
    )
    def get(self, request: Request, slug: str) -> Response:
        origin = request.build_absolute_uri("/").rstrip("/")
        drawing = passport_code(slug, origin=origin).encode()
        return Response(drawing, content_type="image/svg+xml")


class ProductStoryView(CommunityView):
    """Where the material of a run of pieces came from, with the ledger's grams."""

    @extend_schema(operation_id="product_story_read", responses=StorySerializer)
    def get(self, request: Request, community: str, product_id: UUID) -> Response:
        story = story_of(product_seen_by(self.actor, product_id))
        return Response(StorySerializer(story).data)


class ProductPassportView(CommunityView):
    """Publishes the page of a run of pieces."""

    @extend_schema(
        operation_id="passport_publish",
        request=PublishSerializer,
        responses={201: PassportSerializer},
    )
    @write_once
    def post(self, request: Request, community: str, product_id: UUID) -> Response:
        sent = PublishSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        passport = services.publish_passport(
            self.actor,
            passport_id=idempotency_key(request),
            product_id=product_id,
            at=sent.validated_data.get("at") or timezone.now(),
        )
        return Response(PassportSerializer(passport_page(passport.slug)).data, status=201)


class PlaceBecameView(CommunityView):
    """What became of what a place set aside."""

    @extend_schema(operation_id="place_became_read", responses=BecameSerializer)
    def get(self, request: Request, community: str, place_id: UUID) -> Response:
        return Response(BecameSerializer(what_became_of(self.actor, place_id)).data)
