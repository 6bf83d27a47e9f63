from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.languages import SaidNameField
from api.materials.fields import RulesField
from api.observations import ObservationSerializer, VerdictReasonSerializer
from api.references import ReferenceSerializer
from network.lots.models import Inspection
from network.materials import choices
from network.materials.models import Figure, Item, Resin, RuleVersion, Stream
from network.materials.queries import latest_rules
from network.materials.services import REACH_M_MAX


class FigureSerializer(serializers.ModelSerializer[Figure]):
    """A figure with its range and source; `verified` says that the source was read."""

    value = serializers.DecimalField(14, 6, normalize_output=True, allow_null=True)
    low = serializers.DecimalField(14, 6, normalize_output=True, allow_null=True)
    high = serializers.DecimalField(14, 6, normalize_output=True, allow_null=True)

    class Meta:
        model = Figure
        fields = ["quantity", "value", "low", "high", "unit", "source", "verified", "note"]


class ResinSerializer(serializers.ModelSerializer[Resin]):
    """A resin; one with a `danger` is never melted."""

    name = SaidNameField()
    figures = FigureSerializer(many=True)

    class Meta:
        model = Resin
        fields = [
            "symbol",
            "code",
            "name",
            "danger",
            "danger_source",
            "hand_behaviour",
            "figures",
        ]


class ItemSerializer(serializers.ModelSerializer[Item]):
    """A kind of thing set aside; its usual resins are what to expect, never what a piece is."""

    name = SaidNameField()
    usual_resins = serializers.PrimaryKeyRelatedField[Resin](many=True, read_only=True)
    figures = FigureSerializer(many=True)

    class Meta:
        model = Item
        fields = ["slug", "name", "forming", "usual_resins", "usual_resins_source", "figures"]


class RuleVersionSerializer(serializers.ModelSerializer[RuleVersion]):
    """One version of a stream's rules."""

    rules = RulesField()

    class Meta:
        model = RuleVersion
        fields = ["id", "number", "rules", "note", "created_at"]


class StreamSerializer(serializers.ModelSerializer[Stream]):
    """A stream with the latest version of its rules."""

    maker = ReferenceSerializer()
    rule_version = serializers.SerializerMethodField()

    class Meta:
        model = Stream
        fields = ["id", "name", "summary", "maker", "open_to_places", "reach_m", "rule_version"]

    @extend_schema_field(RuleVersionSerializer)
    def get_rule_version(self, stream: Stream) -> Any:
        return RuleVersionSerializer(latest_rules(stream)).data


class NewRuleVersionSerializer(serializers.Serializer[Any]):
    rules = RulesField()
    note = serializers.CharField(required=False, allow_blank=True, default="", max_length=240)


class StreamChangeSerializer(serializers.Serializer[Any]):
    name = serializers.CharField(max_length=80, required=False)
    summary = serializers.CharField(max_length=240, required=False)
    reach_m = serializers.IntegerField(min_value=1, max_value=REACH_M_MAX, required=False)
    open_to_places = serializers.BooleanField(required=False)


class NewStreamSerializer(serializers.Serializer[Any]):
    maker_id = serializers.UUIDField()
    name = serializers.CharField(max_length=80)
    summary = serializers.CharField(max_length=240)
    reach_m = serializers.IntegerField(min_value=1, max_value=REACH_M_MAX)
    open_to_places = serializers.BooleanField(required=False, default=True)
    rules = RulesField()


class QuestionSerializer(serializers.Serializer[Any]):
    """An observation to be judged, by the latest rules unless a version is named."""

    rule_version_id = serializers.UUIDField(required=False, allow_null=True, default=None)
    stage = serializers.ChoiceField(choices.STAGES)
    observation = ObservationSerializer()


class JudgementSerializer(serializers.Serializer[Any]):
    """The verdict, the gravest reason first; `unknown` names what nobody has looked at."""

    verdict = serializers.ChoiceField(Inspection.Verdict.choices, source="outcome")
    reasons = VerdictReasonSerializer(many=True)
    unknown = serializers.ListField(child=serializers.CharField())
