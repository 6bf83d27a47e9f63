"""Quality and people: contamination with intervals, who takes part, who has gone quiet."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.references import ReferenceSerializer
from api.reports.filters import PeriodFilter, asked_of
from network.lots.models import Movement
from network.reports.quality import quality
from network.reports.queries import Selection


class SampledShareSerializer(serializers.Serializer[Any]):
    """A share by mass from 0 to 1 with its 95 % interval, and how many samples it rests on."""

    share = serializers.FloatField(source="share.share")
    low = serializers.FloatField(source="share.low")
    high = serializers.FloatField(source="share.high")
    looks = serializers.IntegerField()
    pieces = serializers.IntegerField()
    is_too_little = serializers.BooleanField()


class QualityRowSerializer(serializers.Serializer[Any]):
    """What samples say of a place or stream, and how often it was turned away."""

    about = ReferenceSerializer()
    contamination = SampledShareSerializer()
    turned_away = serializers.IntegerField()
    looked_at = serializers.IntegerField()


class DifferenceSerializer(serializers.Serializer[Any]):
    """After less before, with its 95 % interval; clear when that does not hold zero."""

    change = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    is_clear = serializers.BooleanField()


class RuleChangeSerializer(serializers.Serializer[Any]):
    """A stream before and after a new version of its rules."""

    stream = ReferenceSerializer()
    version = serializers.IntegerField()
    before = SampledShareSerializer()
    after = SampledShareSerializer()
    difference = DifferenceSerializer()


class ParticipationSerializer(serializers.Serializer[Any]):
    """Of the places that could give in a month, how many did."""

    month = serializers.DateField()
    could = serializers.IntegerField()
    gave = serializers.IntegerField()
    share = serializers.FloatField(allow_null=True)


class PlaceRegularitySerializer(serializers.Serializer[Any]):
    """Days between visits, closed days left out; no limit while there are too few visits."""

    place = ReferenceSerializer()
    last_day = serializers.DateField()
    visits = serializers.IntegerField(source="regularity.visits")
    usual_gap_days = serializers.FloatField(source="regularity.usual_gap_days", allow_null=True)
    since_days = serializers.IntegerField(source="regularity.since_days")
    quiet_after_days = serializers.IntegerField(
        source="regularity.quiet_after_days", allow_null=True
    )


class QualityReportSerializer(serializers.Serializer[Any]):
    """What samples and visits say; those with too few samples stand last and are not ranked."""

    places = QualityRowSerializer(many=True)
    streams = QualityRowSerializer(many=True)
    rule_changes = RuleChangeSerializer(many=True)
    participation = ParticipationSerializer(many=True)
    quiet = PlaceRegularitySerializer(many=True)
    regular = PlaceRegularitySerializer(many=True)


class QualityView(CommunityView):
    """Contamination, participation and who has gone quiet; `quiet` is as of today."""

    queryset = Movement.objects.none()
    filterset_class = PeriodFilter
    pagination_class = None

    @extend_schema(operation_id="report_quality", filters=True, responses=QualityReportSerializer)
    def get(self, request: Request, community: str) -> Response:
        wanted = asked_of(PeriodFilter, request.query_params)
        report = quality(
            self.actor,
            community=self.community,
            selection=Selection(first_day=wanted["from"], last_day=wanted["to"]),
            at=timezone.now(),
        )
        return Response(QualityReportSerializer(report).data)
