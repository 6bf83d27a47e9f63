"""Scales, lots and the ledger."""

from typing import Any
from uuid import UUID

import orjson
from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.lots.filters import LotFilter, MovementFilter
from api.lots.serializers import (
    BalancesSerializer,
    LotDetailSerializer,
    LotInspectSerializer,
    LotMergeSerializer,
    LotOutSerializer,
    LotSerializer,
    LotSplitSerializer,
    LotWeighedSerializer,
    LotWeighSerializer,
    MovementSerializer,
    ReversalSerializer,
    ScaleSerializer,
)
from network.lots import services
from network.lots.models import Lot, Movement, Scale
from network.lots.queries.balances import balances_seen_by
from network.lots.queries.seen import (
    lot_seen_by,
    lots_seen_by,
    movement_seen_by,
    movements_seen_by,
    scales_seen_by,
    standing_accounts,
)
from network.lots.queries.shown import as_json


def _sent(serializer: BaseSerializer[Any]) -> dict[str, Any]:
    """Return what was sent, checked; what has no time was done now."""
    serializer.is_valid(raise_exception=True)
    return {"at": timezone.now(), **serializer.validated_data}


class ScalesView(ListModelMixin, CommunityView):
    """The makers' scales."""

    serializer_class = ScaleSerializer
    queryset = Scale.objects.none()

    def get_queryset(self) -> QuerySet[Scale]:
        return scales_seen_by(self.actor)

    @extend_schema(operation_id="scales_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(operation_id="scale_add", responses={201: ScaleSerializer})
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = ScaleSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        scale = services.add_scale(
            self.actor, scale_id=idempotency_key(request), **sent.validated_data
        )
        return Response(ScaleSerializer(scale).data, status=201)


class LotsView(ListModelMixin, CommunityView):
    """Lots, newest first."""

    serializer_class = LotSerializer
    queryset = Lot.objects.none()
    filterset_class = LotFilter

    def get_queryset(self) -> QuerySet[Lot]:
        return lots_seen_by(self.actor)

    @extend_schema(operation_id="lots_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)


class LotView(CommunityView):
    """A lot with everything that happened to it."""

    @extend_schema(operation_id="lot_read", responses=LotDetailSerializer)
    def get(self, request: Request, community: str, lot_id: UUID) -> Response:
        return self.answer(lot_id, status=200)

    def answer(self, lot_id: UUID, *, status: int = 201) -> Response:
        """Return a lot as it stands now."""
        lot = lot_seen_by(self.actor, lot_id)
        return Response(LotDetailSerializer(lot).data, status=status)


# Made once: to make its fields anew takes longer than to state what they say.
_WEIGHED = LotWeighedSerializer()


class LotWeighView(CommunityView):
    """Weighs a lot again, at the workshop."""

    http_method_names = ["post", "options"]

    @extend_schema(
        operation_id="lot_weigh", request=LotWeighSerializer, responses={201: LotWeighedSerializer}
    )
    @write_once
    def post(self, request: Request, community: str, lot_id: UUID) -> Response:
        sent = _sent(LotWeighSerializer(data=request.data))
        weighing = services.weigh_again(
            self.actor, weighing_id=idempotency_key(request), lot_id=lot_id, **sent
        )
        lot = weighing.lot
        told = {
            "id": lot.id,
            "code": lot.code,
            "weighing": weighing,
            "balances": standing_accounts(lot.id),
        }
        return Response(_WEIGHED.to_representation(told), status=201)


class LotInspectView(LotView):
    """Inspects a lot by the rules agreed."""

    http_method_names = ["post", "options"]

    @extend_schema(
        operation_id="lot_inspect",
        request=LotInspectSerializer,
        responses={201: LotDetailSerializer},
    )
    @write_once
    def post(self, request: Request, community: str, lot_id: UUID) -> Response:
        sent = _sent(LotInspectSerializer(data=request.data))
        findings = [(found["kind"], found["mass_g"]) for found in sent.pop("findings")]
        services.inspect(
            self.actor,
            inspection_id=idempotency_key(request),
            lot_id=lot_id,
            findings=findings,
            **sent,
        )
        return self.answer(lot_id)


class LotSplitView(LotView):
    """Divides a lot into parts that are lots of their own."""

    http_method_names = ["post", "options"]

    @extend_schema(
        operation_id="lot_split", request=LotSplitSerializer, responses={201: LotDetailSerializer}
    )
    @write_once
    def post(self, request: Request, community: str, lot_id: UUID) -> Response:
        sent = _sent(LotSplitSerializer(data=request.data))
        parts_g = [part["mass_g"] for part in sent.pop("parts")]
        services.split_lot(
            self.actor, first_id=idempotency_key(request), lot_id=lot_id, parts_g=parts_g, **sent
        )
        return self.answer(lot_id)


class LotLoseView(LotView):
    """Records grams that are gone."""

    http_method_names = ["post", "options"]

    @extend_schema(
        operation_id="lot_lose", request=LotOutSerializer, responses={201: LotDetailSerializer}
    )
    @write_once
    def post(self, request: Request, community: str, lot_id: UUID) -> Response:
        sent = _sent(LotOutSerializer(data=request.data))
        services.record_loss(
            self.actor, movement_id=idempotency_key(request), lot_id=lot_id, **sent
        )
        return self.answer(lot_id)


class LotPassOnView(LotView):
    """Records grams that were handed to another recycler."""

    http_method_names = ["post", "options"]

    @extend_schema(
        operation_id="lot_pass_on", request=LotOutSerializer, responses={201: LotDetailSerializer}
    )
    @write_once
    def post(self, request: Request, community: str, lot_id: UUID) -> Response:
        sent = _sent(LotOutSerializer(data=request.data))
        services.pass_on(self.actor, movement_id=idempotency_key(request), lot_id=lot_id, **sent)
        return self.answer(lot_id)


class LotMergeView(LotView):
    """Puts lots of one stream together into a new one."""

    http_method_names = ["post", "options"]

    @extend_schema(
        operation_id="lot_merge", request=LotMergeSerializer, responses={201: LotDetailSerializer}
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = _sent(LotMergeSerializer(data=request.data))
        whole = services.merge_lots(self.actor, lot_id=idempotency_key(request), **sent)
        return self.answer(whole.id)


class MovementsView(CommunityView):
    """The lines of the ledger, newest first."""

    serializer_class = MovementSerializer
    queryset = Movement.objects.none()
    filterset_class = MovementFilter

    @extend_schema(operation_id="movements_list", responses=MovementSerializer(many=True))
    def get(self, request: Request, community: str) -> Response:
        lines = self.filter_queryset(movements_seen_by(self.actor))
        page = self.paginate_queryset(as_json(lines))
        return self.get_paginated_response([orjson.Fragment(row["line"]) for row in page or ()])


class MovementReverseView(CommunityView):
    """Undoes a line of the ledger by a new one."""

    @extend_schema(
        operation_id="movement_reverse",
        request=ReversalSerializer,
        responses={201: MovementSerializer},
    )
    @write_once
    def post(self, request: Request, community: str, movement_id: UUID) -> Response:
        sent = _sent(ReversalSerializer(data=request.data))
        undone = services.reverse_movement(
            self.actor, movement_id=idempotency_key(request), reverses_id=movement_id, **sent
        )
        line = movement_seen_by(self.actor, undone.id)
        return Response(MovementSerializer(line).data, status=201)


class BalancesView(CommunityView):
    """Where all grams are."""

    @extend_schema(operation_id="balances_read", responses=BalancesSerializer)
    def get(self, request: Request, community: str) -> Response:
        rows = balances_seen_by(self.actor)
        whole = {"rows": rows, "sum_g": sum(row.mass_g for row in rows)}
        return Response(BalancesSerializer(whole).data)
