"""Importing a spreadsheet of places: read, looked at, then saved whole or not at all."""

from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.places.requests import ImportFileSerializer
from api.places.serializers import PlaceImportDetailSerializer, PlaceImportSerializer
from network.places import queries, services
from network.places.models import PlaceImport


class PlaceImportsView(ListModelMixin, CommunityView):
    """The spreadsheets read so far."""

    serializer_class = PlaceImportSerializer
    queryset = PlaceImport.objects.none()
    parser_classes = (MultiPartParser,)

    def get_queryset(self) -> QuerySet[PlaceImport]:
        return queries.imports_seen_by(self.actor)

    @extend_schema(operation_id="place_imports_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="place_import_preview",
        request={"multipart/form-data": ImportFileSerializer},
        responses={201: PlaceImportDetailSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = ImportFileSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        file = sent.validated_data["file"]
        preview = services.preview_import(
            self.actor,
            file_name=file.name,
            content=file.read(),
            import_id=idempotency_key(request),
        )
        return Response(PlaceImportDetailSerializer(preview).data, status=201)


class PlaceImportView(CommunityView):
    """What one spreadsheet would add, or has added."""

    @extend_schema(operation_id="place_import_read", responses=PlaceImportDetailSerializer)
    def get(self, request: Request, community: str, import_id: UUID) -> Response:
        found = queries.import_seen_by(self.actor, import_id)
        return Response(PlaceImportDetailSerializer(found).data)


class PlaceImportSaveView(CommunityView):
    """Saves all places of a spreadsheet, once; none while errors stand."""

    @extend_schema(
        operation_id="place_import_save", request=None, responses=PlaceImportDetailSerializer
    )
    @write_once
    def post(self, request: Request, community: str, import_id: UUID) -> Response:
        saved = services.save_import(self.actor, import_id=import_id)
        return Response(PlaceImportDetailSerializer(saved).data)
