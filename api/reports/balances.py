"""The balance of the flow, to look at and to take along."""

from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.references import ReferenceSerializer
from api.reports.files import CSV, XLSX, WhateverIsAccepted, attached
from api.reports.filters import BalanceFilter, asked_of
from api.reports.serializers import (
    MassesSerializer,
    MethodSerializer,
    PeriodSerializer,
    UncertaintySerializer,
)
from network.lots.models import Account, Movement
from network.reports.balance_files import balance_csv, balance_xlsx
from network.reports.balances import POINT_NAMES, FlowReport, balance
from network.reports.queries import Selection


class FlowStockSerializer(serializers.Serializer[Any]):
    """opening + in = out + closing, in g."""

    kind = serializers.ChoiceField(Account.Kind.choices)
    opening_g = serializers.IntegerField()
    in_g = serializers.IntegerField()
    out_g = serializers.IntegerField()
    closing_g = serializers.IntegerField()


class FlowExitSerializer(serializers.Serializer[Any]):
    """What left for good, where to and why, in g."""

    kind = serializers.ChoiceField(Account.Kind.choices)
    reason = serializers.ChoiceField(Movement.Reason.choices)
    mass_g = serializers.IntegerField()


class FlowBalanceSerializer(serializers.Serializer[Any]):
    """collected + opening = gone + closing, in g; `difference_g` is what does not add up."""

    collected_g = serializers.IntegerField()
    opening_g = serializers.IntegerField()
    gone_g = serializers.IntegerField()
    closing_g = serializers.IntegerField()
    difference_g = serializers.IntegerField()
    stocks = FlowStockSerializer(many=True)
    exits = FlowExitSerializer(many=True)


class StreamBalanceSerializer(serializers.Serializer[Any]):
    """The balance of one stream."""

    stream = ReferenceSerializer()
    balance = FlowBalanceSerializer()


class CountedSerializer(serializers.Serializer[Any]):
    """The mass at one point, by its method; without an uncertainty where none is known."""

    point = serializers.ChoiceField(POINT_NAMES)
    method = MethodSerializer()
    mass_g = serializers.IntegerField()
    uncertainty = UncertaintySerializer(allow_null=True)


class FlowBarSerializer(serializers.Serializer[Any]):
    """A bar of the picture; x and widths in parts of its width of 1000."""

    name = serializers.CharField()
    layer = serializers.IntegerField()
    mass_g = serializers.IntegerField()
    x = serializers.FloatField()
    width = serializers.FloatField()
    opening_width = serializers.FloatField()
    closing_width = serializers.FloatField()


class FlowBandSerializer(serializers.Serializer[Any]):
    """A band of the picture: its left edge at each layer it begins at, passes and ends at."""

    # `source` is a name of the framework's own.
    source_name = serializers.CharField(source="source")
    target_name = serializers.CharField(source="target")
    mass_g = serializers.IntegerField()
    width = serializers.FloatField()
    layers = serializers.ListField(child=serializers.IntegerField())
    xs = serializers.ListField(child=serializers.FloatField())


class FlowPictureSerializer(serializers.Serializer[Any]):
    """The flow in layers from top to bottom, every band as wide as its mass."""

    layers = serializers.IntegerField()
    bars = FlowBarSerializer(many=True)
    bands = FlowBandSerializer(many=True)


class FlowReportSerializer(serializers.Serializer[Any]):
    """The flow of a period as a balance, in all and by stream, and at each point."""

    period = PeriodSerializer(source="selection")
    balance = FlowBalanceSerializer()
    streams = StreamBalanceSerializer(many=True)
    points = CountedSerializer(many=True)
    coverage = MassesSerializer()
    picture = FlowPictureSerializer()


class BalanceView(CommunityView):
    """The balance of the flow: what came in and was there is what went out and is there."""

    queryset = Movement.objects.none()
    filterset_class = BalanceFilter
    pagination_class = None

    def report(self, request: Request) -> FlowReport:
        """Return the balance that the query asks for."""
        wanted = asked_of(BalanceFilter, request.query_params)
        selection = Selection(
            first_day=wanted["from"], last_day=wanted["to"], stream_id=wanted["stream"]
        )
        return balance(self.actor, community=self.community, selection=selection)

    @extend_schema(operation_id="report_balance", filters=True, responses=FlowReportSerializer)
    def get(self, request: Request, community: str) -> Response:
        return Response(FlowReportSerializer(self.report(request)).data)


class BalanceCsvView(BalanceView):
    """The same as CSV (RFC 4180)."""

    content_negotiation_class = WhateverIsAccepted

    @extend_schema(
        operation_id="report_balance_csv", filters=True, responses={(200, "text/csv"): str}
    )
    def get(self, request: Request, community: str) -> HttpResponse:  # type: ignore[override]  # a file
        return attached(balance_csv(self.report(request)).encode(), CSV, "balance.csv")


class BalanceXlsxView(BalanceView):
    """The same as a workbook, with the methods on its last sheet."""

    content_negotiation_class = WhateverIsAccepted

    @extend_schema(operation_id="report_balance_xlsx", filters=True, responses={(200, XLSX): bytes})
    def get(self, request: Request, community: str) -> HttpResponse:  # type: ignore[override]  # a file
        book = balance_xlsx(self.report(request), generated_at=timezone.now())
        return attached(book, XLSX, "balance.xlsx")
