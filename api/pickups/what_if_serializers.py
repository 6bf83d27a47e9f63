from decimal import Decimal
from typing import Any

from rest_framework import serializers

from api.languages import SaidField
from api.pickups.plan_serializers import PlanDifferenceSerializer
from api.pickups.search_serializers import PlanSumsSerializer, SearchSerializer
from api.references import ReferenceSerializer
from network.pickups.models import Question
from network.pickups.services import PAYLOAD_G_MAX, VOLUME_ML_MAX
from network.pickups.what_if import WhatIf


class WhatIfSerializer(serializers.Serializer[Any]):
    """What is supposed to be otherwise; what is left out or null stays as it is."""

    closed_place_id = serializers.UUIDField(
        required=False, allow_null=True, help_text="A place where nobody can come."
    )
    closed_day = serializers.DateField(
        required=False, allow_null=True, help_text="On that day only; else on all days."
    )
    without_vehicle_id = serializers.UUIDField(
        required=False, allow_null=True, help_text="A van that stays at home."
    )
    more_like_vehicle_id = serializers.UUIDField(
        required=False, allow_null=True, help_text="One van more, on the shifts of this one."
    )
    payload_g = serializers.IntegerField(
        min_value=1,
        max_value=PAYLOAD_G_MAX,
        required=False,
        allow_null=True,
        help_text="Of the van more where there is one, else of all; so are the two below.",
    )
    volume_ml = serializers.IntegerField(
        min_value=1, max_value=VOLUME_ML_MAX, required=False, allow_null=True
    )
    cost_per_km = serializers.DecimalField(
        max_digits=9, decimal_places=4, min_value=Decimal(0), required=False, allow_null=True
    )
    ends = serializers.TimeField(
        format="%H:%M",
        input_formats=["%H:%M"],
        required=False,
        allow_null=True,
        help_text="When each van's last shift of a day ends.",
    )
    overflow_cost = serializers.DecimalField(
        max_digits=8,
        decimal_places=2,
        min_value=Decimal(0),
        required=False,
        allow_null=True,
        help_text="What a working day costs on which a container stands full.",
    )

    def supposing(self) -> WhatIf:
        """Return what was sent, checked for its shape."""
        self.is_valid(raise_exception=True)
        return WhatIf(**self.validated_data)


class WhatIfAnswerSerializer(serializers.Serializer[Any]):
    """What the plan would come to, and what that changes."""

    sums = PlanSumsSerializer()
    change = PlanDifferenceSerializer()
    comes_in = ReferenceSerializer(many=True)
    falls_out = ReferenceSerializer(many=True)
    moves = ReferenceSerializer(many=True, help_text="Visited by another van or on another day.")
    hindrances = serializers.ListField(
        child=SaidField(), help_text="What keeps it from being planned so."
    )


class QuestionSerializer(serializers.Serializer[Question]):
    """What would be if, as it was asked: how far its search is, then what comes of it."""

    id = serializers.UUIDField()
    search = SearchSerializer(source="*")
    answer = WhatIfAnswerSerializer(allow_null=True)
    failure = SaidField(help_text="Why it cannot be told; else empty.")
