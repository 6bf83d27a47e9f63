"""Pieces made and what they must cost."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.workshop.common import OfBatchFilter, OfMakerFilter, asked, done
from api.workshop.selling_serializers import (
    MeasuredTimesSerializer,
    NewPriceSheetSerializer,
    NewProductSerializer,
    PriceQuestionSerializer,
    PriceSerializer,
    PriceSheetSerializer,
    ProductSerializer,
)
from network.workshop import services
from network.workshop.models import (
    PriceSheet,
    ProductRun,
)
from network.workshop.queries import seen
from network.workshop.queries.pricing import PriceQuestion, StageTime, price
from network.workshop.queries.times import measured_times


class ProductsView(ListModelMixin, CommunityView):
    """Runs of pieces, newest first."""

    serializer_class = ProductSerializer
    queryset = ProductRun.objects.none()
    filterset_class = OfBatchFilter

    def get_queryset(self) -> QuerySet[ProductRun]:
        return seen.products_seen_by(self.actor)

    @extend_schema(operation_id="products_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="product_record",
        request=NewProductSerializer,
        responses={201: ProductSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = done(NewProductSerializer(data=request.data))
        product = services.record_product(self.actor, product_id=idempotency_key(request), **sent)
        return Response(ProductSerializer(product).data, status=201)


class ProductTimesView(CommunityView):
    """How long the stages of a run of pieces took, for its price."""

    @extend_schema(operation_id="product_times_read", responses=MeasuredTimesSerializer)
    def get(self, request: Request, community: str, product_id: UUID) -> Response:
        stages = measured_times(self.actor, product_id)
        return Response(MeasuredTimesSerializer({"stages": stages}).data)


def price_question(given: dict[str, Any]) -> PriceQuestion:
    """Return the question of a price as it was sent."""
    stages = [StageTime(**stage) for stage in given["stages"]]
    return PriceQuestion(**{**given, "stages": stages})


class PriceView(CommunityView):
    """What a piece must cost."""

    @extend_schema(operation_id="price", request=PriceQuestionSerializer, responses=PriceSerializer)
    def post(self, request: Request, community: str) -> Response:
        given = asked(PriceQuestionSerializer(data=request.data))
        return Response(PriceSerializer(price(self.actor, price_question(given))).data)


class PriceSheetsView(ListModelMixin, CommunityView):
    """Prices that were kept, newest first."""

    serializer_class = PriceSheetSerializer
    queryset = PriceSheet.objects.none()
    filterset_class = OfMakerFilter

    def get_queryset(self) -> QuerySet[PriceSheet]:
        return seen.price_sheets_seen_by(self.actor)

    @extend_schema(operation_id="price_sheets_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="price_sheet_save",
        request=NewPriceSheetSerializer,
        responses={201: PriceSheetSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = asked(NewPriceSheetSerializer(data=request.data))
        about = {name: sent.pop(name) for name in ("maker_id", "name", "product_id")}
        sheet = services.save_price_sheet(
            self.actor,
            sheet_id=idempotency_key(request),
            question=price_question(sent),
            inputs=PriceQuestionSerializer(sent).data,
            **about,
        )
        return Response(PriceSheetSerializer(sheet).data, status=201)
