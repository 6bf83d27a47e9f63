"""How hot, how long and how hard, and pieces under the press."""

from typing import Any

from rest_framework import serializers

from api.languages import SaidField
from api.references import ReferenceSerializer
from api.workshop.common import (
    TIME_S_MAX,
    CautionSerializer,
)
from network.workshop.models import (
    Press,
    Pressing,
)

SIZE_MM_MAX = 10_000


class HeatLimitSerializer(serializers.Serializer[Any]):
    """The highest temperature that may be set in a community."""

    set_c_max = serializers.IntegerField(min_value=0, max_value=1_000)


class PressSerializer(serializers.ModelSerializer[Press]):
    """A heat source and press, as their plates state them."""

    maker = ReferenceSerializer(read_only=True)
    maker_id = serializers.UUIDField(write_only=True)
    rating_n = serializers.IntegerField(min_value=1, max_value=20_000_000)

    class Meta:
        model = Press
        fields = [
            "id",
            "maker",
            "maker_id",
            "name",
            "is_settable",
            "heats_c_max",
            "rating_n",
            "cooling",
        ]
        read_only_fields = ["id"]


class PieceWishSerializer(serializers.Serializer[Any]):
    """The piece to press; the highest temperature allowed is taken when none is sent."""

    press_id = serializers.UUIDField()
    resin = serializers.CharField(max_length=12)
    thickness_um = serializers.IntegerField(min_value=100, max_value=200_000)
    width_mm = serializers.IntegerField(min_value=1, max_value=SIZE_MM_MAX)
    length_mm = serializers.IntegerField(min_value=1, max_value=SIZE_MM_MAX)
    pressure_kpa = serializers.IntegerField(min_value=1, max_value=20_000)
    set_c = serializers.IntegerField(
        min_value=0, max_value=1_000, required=False, allow_null=True, default=None
    )
    wall_c = serializers.IntegerField(min_value=0, max_value=200, required=False, default=20)


class TimeSpanSerializer(serializers.Serializer[Any]):
    """A time as reckoned, and the range in which it may really be."""

    s = serializers.IntegerField()
    low_s = serializers.IntegerField()
    high_s = serializers.IntegerField()


class MouldSideSerializer(serializers.Serializer[Any]):
    """What a side of the mould is cut to, for the least, usual and most shrinkage."""

    piece_mm = serializers.IntegerField()
    least_mm = serializers.DecimalField(max_digits=8, decimal_places=1)
    usual_mm = serializers.DecimalField(max_digits=8, decimal_places=1)
    most_mm = serializers.DecimalField(max_digits=8, decimal_places=1)


class TrialStepSerializer(serializers.Serializer[Any]):
    code = serializers.CharField()
    text = serializers.CharField()
    set_c = serializers.IntegerField(allow_null=True)


class PressPlanSerializer(serializers.Serializer[Any]):
    """All that is to be known before a piece goes under the press, with its cautions."""

    resin = serializers.CharField()
    set_c = serializers.IntegerField()
    lowest_c = serializers.IntegerField()
    highest_c = serializers.IntegerField()
    limit_c = serializers.IntegerField()
    melt = TimeSpanSerializer()
    hold = TimeSpanSerializer()
    press_at_s = serializers.ListField(child=serializers.IntegerField())
    force_n = serializers.IntegerField()
    rating_n = serializers.IntegerField()
    pressure_kpa_max = serializers.IntegerField()
    moulds = MouldSideSerializer(many=True)
    rests_on_pressings = serializers.IntegerField()
    trial = TrialStepSerializer(many=True)
    cautions = CautionSerializer(many=True)
    notes = serializers.ListField(child=SaidField())


class PressingPlanSerializer(serializers.Serializer[Any]):
    """What was reckoned when the piece was begun."""

    set_c = serializers.IntegerField()
    melt = TimeSpanSerializer()
    hold = TimeSpanSerializer()
    press_at_s = serializers.ListField(child=serializers.IntegerField())
    force_n = serializers.IntegerField()
    rests_on_pressings = serializers.IntegerField()


class PressingSerializer(serializers.Serializer[Pressing]):
    """One piece under the press: what was set, its plan, and how it went."""

    id = serializers.UUIDField()
    batch = ReferenceSerializer()
    press = ReferenceSerializer()
    is_trial = serializers.BooleanField()
    resin = serializers.CharField(source="resin_id")
    set_c = serializers.IntegerField()
    thickness_um = serializers.IntegerField()
    width_mm = serializers.IntegerField()
    length_mm = serializers.IntegerField()
    pressure_kpa = serializers.IntegerField()
    plan = PressingPlanSerializer()
    melted_s = serializers.IntegerField(allow_null=True)
    cooled_s = serializers.IntegerField(allow_null=True)
    outcome = serializers.ChoiceField(Pressing.Outcome.choices, allow_blank=True)
    note = serializers.CharField(allow_blank=True)
    at = serializers.DateTimeField()


class NewPressingSerializer(PieceWishSerializer):
    """A piece that is begun."""

    batch_id = serializers.UUIDField()
    is_trial = serializers.BooleanField(required=False, default=False)
    at = serializers.DateTimeField(required=False)


class PressingFinishSerializer(serializers.Serializer[Any]):
    """How a piece came out, and its times as measured."""

    outcome = serializers.ChoiceField(Pressing.Outcome.choices)
    melted_s = serializers.IntegerField(
        min_value=1, max_value=TIME_S_MAX, required=False, allow_null=True, default=None
    )
    cooled_s = serializers.IntegerField(
        min_value=1, max_value=TIME_S_MAX, required=False, allow_null=True, default=None
    )
    note = serializers.CharField(required=False, allow_blank=True, default="", max_length=240)
