"""The ledger's lines, to take along."""

from django.http import StreamingHttpResponse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.base import CommunityView
from api.reports.files import CSV, WhateverIsAccepted
from api.reports.filters import PeriodFilter, period_of
from network.lots.models import Movement
from network.reports.lines import lines_csv


class LinesCsvView(CommunityView):
    """The lines of the ledger that count in a period as CSV (RFC 4180), sent as they are read."""

    queryset = Movement.objects.none()
    filterset_class = PeriodFilter
    pagination_class = None
    content_negotiation_class = WhateverIsAccepted

    @extend_schema(
        operation_id="report_lines_csv", filters=True, responses={(200, "text/csv"): str}
    )
    def get(self, request: Request, community: str) -> StreamingHttpResponse:
        pieces = lines_csv(
            self.actor, community=self.community, period=period_of(request.query_params)
        )
        return StreamingHttpResponse(
            pieces,
            content_type=CSV,
            headers={"Content-Disposition": 'attachment; filename="lines.csv"'},
        )
