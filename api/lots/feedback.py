"""What goes back to a place after each visit."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.lots.serializers import FindingSerializer
from api.observations import VerdictReasonSerializer
from api.pickups.photos import PhotoSerializer
from network.lots.models import Inspection
from network.lots.queries.feedback import (
    OUTCOMES,
    Feedback,
    Line,
    Month,
    Visit,
    feedback_for,
)
from network.pickups.queries import photos_of


class FeedbackLineSerializer(serializers.Serializer[Line]):
    """One container at a visit; `mass_g` is null where it stayed at the place unweighed."""

    container_tag = serializers.CharField(allow_blank=True)
    outcome = serializers.ChoiceField(OUTCOMES)
    mass_g = serializers.IntegerField(allow_null=True)
    estimated = serializers.BooleanField()
    verdict = serializers.ChoiceField(Inspection.Verdict.choices, allow_null=True)
    reasons = VerdictReasonSerializer(many=True)
    findings = serializers.SerializerMethodField()
    note = serializers.CharField(allow_blank=True)
    photos = serializers.SerializerMethodField()

    @extend_schema_field(FindingSerializer(many=True))
    def get_findings(self, line: Line) -> list[dict[str, Any]]:
        return [{"kind": kind, "mass_g": mass_g} for kind, mass_g in line.findings]

    @extend_schema_field(PhotoSerializer(many=True))
    def get_photos(self, line: Line) -> Any:
        return PhotoSerializer(self.context["photos"].get(line.subject_id, []), many=True).data


class VisitSerializer(serializers.Serializer[Visit]):
    """What came of one day's visit."""

    at = serializers.DateTimeField()
    lines = FeedbackLineSerializer(many=True)
    mass_g = serializers.IntegerField()


class TrendMonthSerializer(serializers.Serializer[Month]):
    """A month's kilograms, and the contamination found where a sample was looked at."""

    month = serializers.SerializerMethodField()
    mass_g = serializers.IntegerField()
    contamination_percent = serializers.FloatField(allow_null=True)

    @extend_schema_field(serializers.RegexField(r"^\d{4}-\d{2}$"))
    def get_month(self, month: Month) -> str:
        return f"{month.first_day:%Y-%m}"


class AdviceSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    text = serializers.CharField()


class FeedbackSerializer(serializers.Serializer[Feedback]):
    """Visits, newest first; the trend, oldest first; what to do next time."""

    visits = VisitSerializer(many=True)
    trend = TrendMonthSerializer(many=True)
    next_time = serializers.SerializerMethodField()

    @extend_schema_field(AdviceSerializer(many=True))
    def get_next_time(self, feedback: Feedback) -> list[dict[str, str]]:
        return [{"code": code, "text": text} for code, text in feedback.next_time]


class PlaceFeedbackView(CommunityView):
    """What was collected at a place, what was found in it, and what to do next time."""

    @extend_schema(operation_id="place_feedback", responses=FeedbackSerializer)
    def get(self, request: Request, community: str, place_id: UUID) -> Response:
        feedback = feedback_for(self.actor, place_id)
        lines = [line for visit in feedback.visits for line in visit.lines]
        photos = photos_of(self.actor, [line.subject_id for line in lines])
        return Response(FeedbackSerializer(feedback, context={"photos": photos}).data)
