"""Stock, what it is made of, and washing, taking labels off, sorting and shredding."""

from uuid import UUID

import django_filters as filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.workshop.common import OfMakerFilter, asked, done
from api.workshop.processing_serializers import (
    LotMaterialChangeSerializer,
    LotMaterialSerializer,
    NewProcessRunSerializer,
    ProcessRunSerializer,
    StockSerializer,
    YieldsQuestionSerializer,
    YieldsSerializer,
)
from network.lots.models import Account
from network.workshop import services
from network.workshop.models import (
    ProcessRun,
    State,
)
from network.workshop.queries import seen
from network.workshop.queries.stock import described, lot_facts, stock_seen_by
from network.workshop.queries.yields import promise, yields_of


class RunFilter(OfMakerFilter):
    """Runs of a maker, or of a kind of process."""

    kind = filters.ChoiceFilter(choices=ProcessRun.Kind.choices)


class StockFilter(filters.FilterSet):
    """Stock of a stream, or in a state."""

    stream = filters.UUIDFilter(field_name="lot__stream_id")
    state = filters.ChoiceFilter(choices=State.choices, field_name="kind")


class StockView(ListModelMixin, CommunityView):
    """What lies in the workshop, lot by lot and state by state."""

    serializer_class = StockSerializer
    queryset = Account.objects.none()
    filterset_class = StockFilter

    def get_queryset(self) -> QuerySet[Account]:
        return stock_seen_by(self.actor)

    @extend_schema(operation_id="stock_list")
    def get(self, request: Request, community: str) -> Response:
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        rows = described(page or [])
        return self.get_paginated_response(StockSerializer(rows, many=True).data)


class LotMaterialView(CommunityView):
    """What a lot is made of."""

    @extend_schema(operation_id="lot_material_read", responses=LotMaterialSerializer)
    def get(self, request: Request, community: str, lot_id: UUID) -> Response:
        return self.answer(lot_id)

    @extend_schema(
        operation_id="lot_material_set",
        request=LotMaterialChangeSerializer,
        responses=LotMaterialSerializer,
    )
    @write_once
    def put(self, request: Request, community: str, lot_id: UUID) -> Response:
        sent = asked(LotMaterialChangeSerializer(data=request.data))
        services.describe_lot(self.actor, lot_id=lot_id, **sent)
        return self.answer(lot_id)

    def answer(self, lot_id: UUID) -> Response:
        """Return what is known of a lot now."""
        facts, colour = lot_facts(self.actor, lot_id)
        whole = {
            "resin": facts.resin,
            "forming": facts.forming,
            "colour": colour,
            "melt_flow": facts.melt_flow,
            "melt_flow_condition": facts.melt_flow_condition,
        }
        return Response(LotMaterialSerializer(whole).data)


class ProcessRunsView(ListModelMixin, CommunityView):
    """Washing, taking labels off, sorting and shredding, newest first."""

    serializer_class = ProcessRunSerializer
    queryset = ProcessRun.objects.none()
    filterset_class = RunFilter

    def get_queryset(self) -> QuerySet[ProcessRun]:
        return seen.runs_seen_by(self.actor)

    @extend_schema(operation_id="process_runs_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="process_record",
        request=NewProcessRunSerializer,
        responses={201: ProcessRunSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = done(NewProcessRunSerializer(data=request.data))
        taken = [services.Taken(**one) for one in sent.pop("inputs")]
        made = [services.Made(**one) for one in sent.pop("outputs")]
        run = services.record_process(
            self.actor, run_id=idempotency_key(request), taken=taken, made=made, **sent
        )
        run = seen.runs_seen_by(self.actor).get(id=run.id)
        return Response(ProcessRunSerializer(run).data, status=201)


class YieldsView(CommunityView):
    """What a maker's processes yield, and what may be promised of an amount."""

    @extend_schema(
        operation_id="yields_read",
        parameters=[YieldsQuestionSerializer],
        responses=YieldsSerializer,
    )
    def get(self, request: Request, community: str) -> Response:
        given = asked(YieldsQuestionSerializer(data=request.query_params))
        maker_id, mass_g = given.get("maker"), given.get("mass_g")
        kinds = [kind for kind in given["kinds"].split(",") if kind]
        whole = {
            "yields": yields_of(self.actor, maker_id),
            "promise": promise(self.actor, maker_id, mass_g=mass_g, kinds=kinds)
            if mass_g
            else None,
        }
        return Response(YieldsSerializer(whole).data)
