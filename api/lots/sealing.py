"""Closing a period, and proving that one line is in it."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.pagination import NumberPagination
from network.lots import services
from network.lots.models import Seal
from network.lots.queries.seals import (
    HASH_CHARACTERS,
    INDEX_MAX,
    LINE_CHARACTERS_MAX,
    STEPS_MAX,
    proof_holds,
    proof_of,
    seals_seen_by,
)

_HEX = f"^[0-9a-f]{{{HASH_CHARACTERS}}}$"


class SealSerializer(serializers.Serializer[Seal]):
    """A closed period; `first_day` is null for the first, which begins with the ledger."""

    id = serializers.UUIDField(read_only=True)
    number = serializers.IntegerField(read_only=True)
    first_day = serializers.DateField(read_only=True, allow_null=True)
    last_day = serializers.DateField()
    lines = serializers.IntegerField(read_only=True)
    late_lines = serializers.IntegerField(read_only=True)
    sums_g = serializers.DictField(child=serializers.IntegerField(), read_only=True)
    root_hash = serializers.CharField(source="root", read_only=True)
    former = serializers.CharField(read_only=True)
    hash = serializers.CharField(read_only=True)
    sealed_at = serializers.DateTimeField(read_only=True)
    by = serializers.SerializerMethodField()

    def get_by(self, seal: Seal) -> str | None:
        return seal.by.name if seal.by else None


class ProofSerializer(serializers.Serializer[Any]):
    """What proves that a line is in a seal: hash the line, then join the path from below."""

    seal = serializers.IntegerField(source="seal.number")
    hash = serializers.CharField(source="seal.hash")
    root_hash = serializers.CharField(source="seal.root")
    lines = serializers.IntegerField(source="seal.lines")
    index = serializers.IntegerField()
    line = serializers.CharField()
    path = serializers.ListField(child=serializers.CharField())


class ProofCheckSerializer(serializers.Serializer[Any]):
    """A proof to check; the line is its text, to the last character."""

    seal = serializers.IntegerField(min_value=1, max_value=INDEX_MAX)
    index = serializers.IntegerField(min_value=0, max_value=INDEX_MAX)
    line = serializers.CharField(max_length=LINE_CHARACTERS_MAX, trim_whitespace=False)
    path = serializers.ListField(child=serializers.RegexField(_HEX), max_length=STEPS_MAX)


class ProofAnswerSerializer(serializers.Serializer[Any]):
    """Whether the line is in the seal, at that place."""

    holds = serializers.BooleanField()


class SealsView(ListModelMixin, CommunityView):
    """The closed periods, newest first."""

    serializer_class = SealSerializer
    pagination_class = NumberPagination
    queryset = Seal.objects.none()

    def get_queryset(self) -> QuerySet[Seal]:
        return seals_seen_by(self.actor)

    @extend_schema(operation_id="seals_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(operation_id="seal_add", responses={201: SealSerializer})
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = SealSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        seal = services.seal_period(
            self.actor, seal_id=idempotency_key(request), **sent.validated_data
        )
        return Response(SealSerializer(seal).data, status=201)


class MovementProofView(CommunityView):
    """The proof that a line of the ledger is in the seal of its period."""

    @extend_schema(operation_id="movement_proof", responses=ProofSerializer)
    def get(self, request: Request, community: str, movement_id: UUID) -> Response:
        return Response(ProofSerializer(proof_of(self.actor, movement_id)).data)


class SealProofCheckView(CommunityView):
    """Checks a proof that somebody holds; it shows nothing else of the ledger."""

    @extend_schema(
        operation_id="seal_proof_check",
        request=ProofCheckSerializer,
        responses=ProofAnswerSerializer,
    )
    def post(self, request: Request, community: str) -> Response:
        sent = ProofCheckSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        proof = sent.validated_data
        holds = proof_holds(
            self.community,
            seal_number=proof["seal"],
            index=proof["index"],
            line=proof["line"],
            path=proof["path"],
        )
        return Response(ProofAnswerSerializer({"holds": holds}).data)
