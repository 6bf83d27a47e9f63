"""Photos taken at a visit."""

from typing import Any
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.renderers import JpegRenderer
from network.people.services.trail import Act, note_seen
from network.pickups import services
from network.pickups.models import Photo
from network.pickups.queries import photo_for


class PhotoSerializer(serializers.Serializer[Photo]):
    """A photo of a container at a visit: where its picture is read, and how long it is kept."""

    id = serializers.UUIDField()
    taken_at = serializers.DateTimeField()
    kept_until = serializers.DateTimeField()
    url = serializers.SerializerMethodField()

    @extend_schema_field(serializers.CharField())
    def get_url(self, photo: Photo) -> str:
        return reverse("photo", [photo.community.slug, photo.id])


class PhotoFileSerializer(serializers.Serializer[Any]):
    """A JPEG, PNG or WebP of at most 4 MB, and when it was taken: now, where it is sent at once."""

    file = serializers.FileField(allow_empty_file=True)
    taken_at = serializers.DateTimeField(required=False)


class PickupLinePhotosView(CommunityView):
    """Adds a photo of a container; it is drawn anew, so that no place or device is in it."""

    parser_classes = (MultiPartParser,)

    @extend_schema(
        operation_id="photo_add",
        request={"multipart/form-data": PhotoFileSerializer},
        responses={201: PhotoSerializer},
    )
    @write_once
    def post(self, request: Request, community: str, line_id: UUID) -> Response:
        sent = PhotoFileSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        photo = services.add_photo(
            self.actor,
            photo_id=idempotency_key(request),
            line_id=line_id,
            content=sent.validated_data["file"].read(),
            taken_at=sent.validated_data.get("taken_at"),
        )
        return Response(PhotoSerializer(photo).data, status=201)


class PhotoView(CommunityView):
    """One photo, for those who see its visit."""

    @extend_schema(operation_id="photo_read", responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    def get(self, request: Request, community: str, photo_id: UUID) -> Response:
        photo = photo_for(self.actor, photo_id)
        note_seen(self.actor, Act.PHOTO_SEEN, photo)
        with photo.file.open("rb") as file:
            picture: bytes = file.read()
        return Response(picture)

    @extend_schema(operation_id="photo_remove", request=None, responses={204: None})
    @write_once
    def delete(self, request: Request, community: str, photo_id: UUID) -> Response:
        services.remove_photo(self.actor, photo_id=photo_id)
        return Response(status=204)

    def get_renderers(self) -> list[Any]:
        """Answer a read by a picture, a removal by nothing."""
        return [JpegRenderer()] if self.request.method == "GET" else super().get_renderers()
