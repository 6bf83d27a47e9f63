"""Stock, what it is made of, and washing, taking labels off, sorting and shredding."""

from typing import Any

from rest_framework import serializers

from api.lots.serializers import MASS_G_MAX, LotReferenceSerializer
from api.references import ReferenceSerializer
from api.workshop.common import (
    TIME_S_MAX,
    flow_field,
    mass_field,
)
from network.materials import choices
from network.materials.models import Item
from network.workshop.models import (
    LotMaterial,
    ProcessRun,
    State,
)

WATER_ML_MAX = 100_000_000
ENERGY_WH_MAX = 10_000_000


class LotMaterialSerializer(serializers.Serializer[Any]):
    """What a lot is made of; an empty or null part is not known."""

    resin = serializers.CharField(allow_blank=True)
    forming = serializers.ChoiceField(Item.Forming.choices)
    colour = ReferenceSerializer(allow_null=True)
    melt_flow = serializers.DecimalField(max_digits=7, decimal_places=3, allow_null=True)
    melt_flow_condition = serializers.ChoiceField(
        LotMaterial.FlowCondition.choices, allow_blank=True
    )


class LotMaterialChangeSerializer(serializers.Serializer[Any]):
    """What is now known of a lot, in place of what was said before."""

    resin = serializers.CharField(required=False, allow_blank=True, default="", max_length=12)
    forming = serializers.ChoiceField(Item.Forming.choices, default="unknown")
    colour_id = serializers.UUIDField(required=False, allow_null=True, default=None)
    melt_flow = flow_field()
    melt_flow_condition = serializers.ChoiceField(
        LotMaterial.FlowCondition.choices, required=False, allow_blank=True, default=""
    )


class StockSerializer(serializers.Serializer[Any]):
    """Grams of a lot in one state, with what is known of it."""

    lot = LotReferenceSerializer()
    stream = ReferenceSerializer(source="lot.stream")
    state = serializers.ChoiceField(State.choices)
    mass_g = serializers.IntegerField()
    resin = serializers.CharField(source="facts.resin", allow_blank=True)
    forming = serializers.ChoiceField(Item.Forming.choices, source="facts.forming")
    colour = ReferenceSerializer(allow_null=True)


class ProcessInputSerializer(serializers.Serializer[Any]):
    lot = LotReferenceSerializer()
    state = serializers.ChoiceField(State.choices)
    mass_g = serializers.IntegerField()


class ProcessOutputSerializer(serializers.Serializer[Any]):
    lot = LotReferenceSerializer()
    mass_g = serializers.IntegerField()
    colour = ReferenceSerializer(source="lot.material.colour", allow_null=True)
    resin = serializers.CharField(source="lot.material.resin_id", allow_null=True)


class ProcessRunSerializer(serializers.Serializer[ProcessRun]):
    """A wash, delabelling, sorting or shredding: what went in is what came out of it."""

    id = serializers.UUIDField()
    maker = ReferenceSerializer()
    kind = serializers.ChoiceField(ProcessRun.Kind.choices)
    at = serializers.DateTimeField()
    inputs = ProcessInputSerializer(many=True)
    outputs = ProcessOutputSerializer(many=True)
    residue_g = serializers.IntegerField()
    loss_g = serializers.IntegerField()
    duration_s = serializers.IntegerField(allow_null=True)
    water_ml = serializers.IntegerField(allow_null=True)
    energy_wh = serializers.IntegerField(allow_null=True)
    note = serializers.CharField(allow_blank=True)


class TakenSerializer(serializers.Serializer[Any]):
    """Grams of a lot that go in; all that is there in that state when no mass is sent."""

    lot_id = serializers.UUIDField()
    state = serializers.ChoiceField(State.choices)
    mass_g = mass_field(required=False, allow_null=True, default=None)


class MadeSerializer(serializers.Serializer[Any]):
    """Grams that come out as a lot of their own; what is not said is as what went in."""

    mass_g = mass_field()
    colour_id = serializers.UUIDField(required=False, allow_null=True, default=None)
    resin = serializers.CharField(required=False, allow_blank=True, default="", max_length=12)
    forming = serializers.ChoiceField(choices.FORMING, required=False, allow_blank=True, default="")
    melt_flow = flow_field()
    melt_flow_condition = serializers.ChoiceField(
        LotMaterial.FlowCondition.choices, required=False, allow_blank=True, default=""
    )


class NewProcessRunSerializer(serializers.Serializer[Any]):
    """A process as it was done; what neither came out nor is residue is lost."""

    kind = serializers.ChoiceField(ProcessRun.Kind.choices)
    inputs: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=TakenSerializer(), min_length=1, max_length=50
    )
    outputs: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=MadeSerializer(), required=False, default=list, max_length=30
    )
    residue_g = mass_field(0, default=0)
    duration_s = serializers.IntegerField(
        min_value=0, max_value=TIME_S_MAX, required=False, allow_null=True, default=None
    )
    water_ml = serializers.IntegerField(
        min_value=0, max_value=WATER_ML_MAX, required=False, allow_null=True, default=None
    )
    energy_wh = serializers.IntegerField(
        min_value=0, max_value=ENERGY_WH_MAX, required=False, allow_null=True, default=None
    )
    note = serializers.CharField(required=False, allow_blank=True, default="", max_length=240)
    at = serializers.DateTimeField(required=False)


class YieldSerializer(serializers.Serializer[Any]):
    """The share that comes out of a process, with its 95 % interval and what it rests on."""

    kind = serializers.ChoiceField(ProcessRun.Kind.choices)
    share = serializers.FloatField(source="learned.share")
    low = serializers.FloatField(source="learned.low")
    high = serializers.FloatField(source="learned.high")
    runs = serializers.IntegerField(source="learned.runs")
    prior_share = serializers.FloatField(source="learned.prior_share")


class PromiseSerializer(serializers.Serializer[Any]):
    """What an amount is expected to give, and the low end, which may be promised."""

    mass_g = serializers.IntegerField()
    kinds = serializers.ListField(child=serializers.CharField())
    expected_g = serializers.IntegerField()
    promised_g = serializers.IntegerField()


class YieldsSerializer(serializers.Serializer[Any]):
    """A maker's yields, and what they promise of an amount where one was asked about."""

    yields = YieldSerializer(many=True)
    promise = PromiseSerializer(allow_null=True)


class YieldsQuestionSerializer(serializers.Serializer[Any]):
    """Whose yields, and what they promise of a mass put through some processes."""

    maker = serializers.UUIDField(required=False)
    mass_g = serializers.IntegerField(min_value=1, max_value=MASS_G_MAX, required=False)
    kinds = serializers.CharField(
        required=False,
        allow_blank=True,
        default="",
        max_length=80,
        help_text="Processes, with commas between.",
    )
