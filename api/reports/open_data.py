"""Open data: what may be published, in one file for a portal."""

import django_filters as filters
from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.base import CommunityView
from api.reports.files import WhateverIsAccepted, attached
from api.reports.filters import asked_of
from network.lots.models import Movement
from network.places.queries.calendars import local_day
from network.reports.open_data import LICENCES, open_data_zip, open_rows

ZIP = "application/zip"


class OpenDataFilter(filters.FilterSet):
    """The year, and the licence under which the community gives it."""

    year = filters.NumberFilter(required=True, min_value=0, max_value=9999, decimal_places=0)
    licence = filters.ChoiceFilter(choices=[(name, name) for name in LICENCES], required=True)

    class Meta:
        model = Movement
        fields: list[str] = []


class OpenDataView(CommunityView):
    """A year's diverted mass by quarter, district and stream as a Data Package, for a portal.

    Sums of few places are withheld, and so is what they could be worked out by.
    """

    queryset = Movement.objects.none()
    filterset_class = OpenDataFilter
    pagination_class = None
    content_negotiation_class = WhateverIsAccepted

    @extend_schema(operation_id="report_open_data", filters=True, responses={(200, ZIP): bytes})
    def get(self, request: Request, community: str) -> HttpResponse:
        wanted = asked_of(OpenDataFilter, request.query_params)
        year, licence = int(wanted["year"]), wanted["licence"]
        today = local_day(self.community, timezone.now())
        rows = open_rows(self.actor, community=self.community, year=year, today=today)
        package = open_data_zip(
            rows, community=self.community, year=year, licence=licence, made_on=today
        )
        return attached(package, ZIP, f"open-data-{year}.zip")
