"""Bringing in earlier weights: a file is read, mapped, saved whole, and undone whole."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.places.requests import ImportFileSerializer
from api.places.serializers import ImportFaultSerializer
from network.lots import services
from network.lots.models import HistoryImport
from network.lots.queries.history import history_by_id, history_seen_by
from network.lots.services import ColumnsWish

# As many columns and rows as are read of a file, and as many names as are mapped by hand.
COLUMNS_MAX = 100
HEADER_MAX = 20
NAMES_MAX = 500
SAMPLE_ROWS = 8
_UNITS = ["kg", "g", "t", "lb"]
_SIGNS = [".", ","]
_ORDERS = ["day_first", "month_first"]


def _column(**options: Any) -> serializers.IntegerField:
    return serializers.IntegerField(min_value=0, max_value=COLUMNS_MAX - 1, **options)


class NameMeaningSerializer(serializers.Serializer[Any]):
    """What a name in a file means."""

    text = serializers.CharField(max_length=240)
    id = serializers.UUIDField()


class HistoryColumnsSerializer(serializers.Serializer[Any]):
    """What the columns of a file mean, and how they are written; columns count from 0."""

    maker_id = serializers.UUIDField()
    header = serializers.IntegerField(min_value=0, max_value=HEADER_MAX)
    day = _column()
    place = _column()
    mass = _column()
    stream = _column(allow_null=True, required=False, default=None)
    unit = serializers.ChoiceField(_UNITS)
    decimal = serializers.ChoiceField(_SIGNS)
    day_order = serializers.ChoiceField(_ORDERS)
    saved_as = serializers.ChoiceField(list(services.SAVED_AS))
    scale_id = serializers.UUIDField(allow_null=True, required=False, default=None)
    default_stream_id = serializers.UUIDField(allow_null=True, required=False, default=None)
    places = serializers.ListField(child=NameMeaningSerializer(), max_length=NAMES_MAX)
    streams = serializers.ListField(child=NameMeaningSerializer(), max_length=NAMES_MAX)


class GuessedColumnsSerializer(serializers.Serializer[Any]):
    """What is guessed or was chosen of the columns; what is not there is still to be chosen."""

    maker_id = serializers.UUIDField(required=False)
    header = serializers.IntegerField()
    day = serializers.IntegerField(required=False)
    place = serializers.IntegerField(required=False)
    mass = serializers.IntegerField(required=False)
    stream = serializers.IntegerField(required=False, allow_null=True)
    unit = serializers.ChoiceField(_UNITS)
    decimal = serializers.ChoiceField(_SIGNS, required=False)
    day_order = serializers.ChoiceField(_ORDERS)
    saved_as = serializers.ChoiceField(list(services.SAVED_AS))
    scale_id = serializers.UUIDField(required=False, allow_null=True)
    default_stream_id = serializers.UUIDField(required=False, allow_null=True)
    places = serializers.SerializerMethodField()
    streams = serializers.SerializerMethodField()

    @extend_schema_field(NameMeaningSerializer(many=True))
    def get_places(self, columns: Any) -> list[dict[str, str]]:
        return _meanings(columns, "places")

    @extend_schema_field(NameMeaningSerializer(many=True))
    def get_streams(self, columns: Any) -> list[dict[str, str]]:
        return _meanings(columns, "streams")


class UnknownNameSerializer(serializers.Serializer[Any]):
    """A name in the file that means nothing yet, and the known one that is near it."""

    text = serializers.CharField()
    near_id = serializers.UUIDField(allow_null=True)


class HistoryRowSerializer(serializers.Serializer[Any]):
    """One weight as it was understood."""

    row_number = serializers.IntegerField()
    day = serializers.DateField()
    place_id = serializers.UUIDField()
    stream_id = serializers.UUIDField()
    mass_g = serializers.IntegerField()


class HistoryPreviewSerializer(serializers.Serializer[Any]):
    """What a file would add, and what stands in the way."""

    rows = HistoryRowSerializer(many=True)
    # The framework's own `errors` are those of reading; nothing is read by this serializer.
    errors = ImportFaultSerializer(many=True)  # type: ignore[assignment]
    warnings = ImportFaultSerializer(many=True)
    unknown_places = UnknownNameSerializer(many=True)
    unknown_streams = UnknownNameSerializer(many=True)


class HistoryImportSerializer(serializers.ModelSerializer[HistoryImport]):
    """A file in a list of those read so far."""

    class Meta:
        model = HistoryImport
        fields = ["id", "status", "file_name", "created_at"]


class HistoryImportDetailSerializer(serializers.ModelSerializer[HistoryImport]):
    """A file with its first rows, what its columns mean, and what it would add or has added."""

    sample = serializers.SerializerMethodField()
    columns = GuessedColumnsSerializer()
    preview = serializers.SerializerMethodField()

    class Meta:
        model = HistoryImport
        fields = ["id", "status", "file_name", "created_at", "sample", "columns", "preview"]

    def get_sample(self, found: HistoryImport) -> list[list[str]]:
        return list(found.cells[: SAMPLE_ROWS + int(found.columns["header"])])

    @extend_schema_field(HistoryPreviewSerializer(allow_null=True))
    def get_preview(self, found: HistoryImport) -> Any:
        return HistoryPreviewSerializer(found.preview).data if found.preview else None


class UndoSerializer(serializers.Serializer[Any]):
    """Why it is undone."""

    note = serializers.CharField(max_length=200)


def _meanings(columns: Any, name: str) -> list[dict[str, str]]:
    return [{"text": text, "id": row_id} for text, row_id in columns.get(name, {}).items()]


class HistoryImportsView(ListModelMixin, CommunityView):
    """The files of earlier weights that were read so far."""

    serializer_class = HistoryImportSerializer
    queryset = HistoryImport.objects.none()
    parser_classes = (MultiPartParser,)

    def get_queryset(self) -> QuerySet[HistoryImport]:
        return history_seen_by(self.actor)

    @extend_schema(operation_id="history_imports_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="history_import_begin",
        request={"multipart/form-data": ImportFileSerializer},
        responses={201: HistoryImportDetailSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = ImportFileSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        file = sent.validated_data["file"]
        begun = services.begin_history(
            self.actor,
            import_id=idempotency_key(request),
            file_name=file.name,
            content=file.read(),
        )
        return Response(HistoryImportDetailSerializer(begun).data, status=201)


class HistoryImportView(CommunityView):
    """One file, and saying what its columns mean."""

    @extend_schema(operation_id="history_import_read", responses=HistoryImportDetailSerializer)
    def get(self, request: Request, community: str, import_id: UUID) -> Response:
        found = history_by_id(self.actor, import_id)
        return Response(HistoryImportDetailSerializer(found).data)

    @extend_schema(
        operation_id="history_import_map",
        request=HistoryColumnsSerializer,
        responses=HistoryImportDetailSerializer,
    )
    @write_once
    def put(self, request: Request, community: str, import_id: UUID) -> Response:
        sent = HistoryColumnsSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        data = dict(sent.validated_data)
        for name in ("places", "streams"):
            data[name] = {one["text"]: one["id"] for one in data[name]}
        mapped = services.map_history(self.actor, import_id=import_id, wish=ColumnsWish(**data))
        return Response(HistoryImportDetailSerializer(mapped).data)


class HistoryImportSaveView(CommunityView):
    """Writes all rows of a file to the ledger, once; none while errors stand."""

    @extend_schema(
        operation_id="history_import_save", request=None, responses=HistoryImportDetailSerializer
    )
    @write_once
    def post(self, request: Request, community: str, import_id: UUID) -> Response:
        saved = services.save_history(self.actor, import_id=import_id)
        return Response(HistoryImportDetailSerializer(saved).data)


class HistoryImportUndoView(CommunityView):
    """Undoes a saved file whole, by reversing lines."""

    @extend_schema(
        operation_id="history_import_undo",
        request=UndoSerializer,
        responses=HistoryImportDetailSerializer,
    )
    @write_once
    def post(self, request: Request, community: str, import_id: UUID) -> Response:
        sent = UndoSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        undone = services.undo_history(self.actor, import_id=import_id, **sent.validated_data)
        return Response(HistoryImportDetailSerializer(undone).data)
