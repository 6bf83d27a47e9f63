"""The ledger as events that other systems of traceability read."""

from django.http import StreamingHttpResponse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.base import CommunityView
from api.reports.files import WhateverIsAccepted
from api.reports.filters import PeriodFilter, period_of
from network.lots.models import Movement
from network.reports.epcis import epcis_document

JSON_LD = "application/ld+json"


class EpcisView(CommunityView):
    """The lots and transformations of a period as EPCIS 2.0 (JSON-LD), sent as they are read."""

    queryset = Movement.objects.none()
    filterset_class = PeriodFilter
    pagination_class = None
    content_negotiation_class = WhateverIsAccepted

    @extend_schema(operation_id="report_epcis", filters=True, responses={(200, JSON_LD): dict})
    def get(self, request: Request, community: str) -> StreamingHttpResponse:
        pieces = epcis_document(
            self.actor,
            community=self.community,
            period=period_of(request.query_params),
            made_at=timezone.now(),
        )
        return StreamingHttpResponse(
            pieces,
            content_type=JSON_LD,
            headers={"Content-Disposition": 'attachment; filename="events.jsonld"'},
        )
