"""Who saw and changed what matters, for organisers."""

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.references import ReferenceSerializer
from network.people import queries
from network.people.models import TrailEntry


class TrailEntrySerializer(serializers.ModelSerializer[TrailEntry]):
    """One line; of somebody who was erased only the code is left, the same in all their lines."""

    by = ReferenceSerializer(allow_null=True)
    about = ReferenceSerializer(allow_null=True)

    class Meta:
        model = TrailEntry
        fields = [
            "id",
            "at",
            "act",
            "by",
            "by_code",
            "about",
            "about_code",
            "subject",
            "subject_id",
        ]


class TrailFilter(filters.FilterSet):
    """Of one kind, by or about one person, of one thing, or between two moments."""

    act = filters.ChoiceFilter(choices=TrailEntry.Act.choices)
    by = filters.UUIDFilter(field_name="by_id")
    about = filters.UUIDFilter(field_name="about_id")
    subject_id = filters.UUIDFilter()
    since = filters.IsoDateTimeFilter(field_name="at", lookup_expr="gte")
    before = filters.IsoDateTimeFilter(field_name="at", lookup_expr="lt")


class TrailView(ListModelMixin, CommunityView):
    """Who saw and changed what, newest first."""

    serializer_class = TrailEntrySerializer
    filterset_class = TrailFilter
    queryset = TrailEntry.objects.none()

    def get_queryset(self) -> QuerySet[TrailEntry]:
        return queries.trail_seen_by(self.actor)

    @extend_schema(operation_id="trail_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)
