"""Diverted mass, to look at and to take along."""

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.reports.files import CSV, PDF, XLSX, WhateverIsAccepted, attached
from api.reports.filters import DivertedFilter, PeriodFilter, period_of, selection_of
from api.reports.serializers import DivertedReportSerializer
from network.lots.models import Movement
from network.reports.exports import to_csv, to_xlsx
from network.reports.filing import diverted_pdf
from network.reports.queries import Report, diverted


class DivertedView(CommunityView):
    """Diverted mass by month, stream, kind of place, district and place, as JSON."""

    queryset = Movement.objects.none()
    filterset_class = DivertedFilter
    pagination_class = None

    def report(self, request: Request) -> Report:
        """Return the report that the query asks for."""
        return diverted(
            self.actor,
            community=self.community,
            selection=selection_of(request.query_params),
        )

    @extend_schema(operation_id="report_diverted", filters=True, responses=DivertedReportSerializer)
    def get(self, request: Request, community: str) -> Response:
        report = self.report(request)
        whole = {
            "method": report.method,
            "selection": report.selection,
            "rows": report.rows,
            "total": report.total,
            "uncertainty": report.uncertainty,
            "generated_at": timezone.now(),
        }
        return Response(DivertedReportSerializer(whole).data)


class DivertedCsvView(DivertedView):
    """The same as CSV (RFC 4180)."""

    content_negotiation_class = WhateverIsAccepted

    @extend_schema(
        operation_id="report_diverted_csv", filters=True, responses={(200, "text/csv"): str}
    )
    def get(self, request: Request, community: str) -> HttpResponse:  # type: ignore[override]  # a file
        text = to_csv(self.report(request))
        return attached(text.encode(), CSV, "diverted.csv")


class DivertedXlsxView(DivertedView):
    """The same as a workbook, with the method on its second sheet."""

    content_negotiation_class = WhateverIsAccepted

    @extend_schema(
        operation_id="report_diverted_xlsx", filters=True, responses={(200, XLSX): bytes}
    )
    def get(self, request: Request, community: str) -> HttpResponse:  # type: ignore[override]  # a file
        book = to_xlsx(self.report(request), generated_at=timezone.now())
        return attached(book, XLSX, "diverted.xlsx")


class DivertedPdfView(CommunityView):
    """The community's report of a period on four pages of paper, to be filed."""

    queryset = Movement.objects.none()
    filterset_class = PeriodFilter
    pagination_class = None
    content_negotiation_class = WhateverIsAccepted

    @extend_schema(operation_id="report_diverted_pdf", filters=True, responses={(200, PDF): bytes})
    def get(self, request: Request, community: str) -> HttpResponse:
        paper = diverted_pdf(
            self.actor,
            community=self.community,
            period=period_of(request.query_params),
            made_at=timezone.now(),
        )
        return attached(paper, PDF, "diverted.pdf")
