"""Recipes, the lots they take, and batches."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.lots.serializers import MASS_G_MAX, LotReferenceSerializer
from api.references import ReferenceSerializer
from api.workshop.common import (
    mass_field,
    share_field,
)
from network.workshop.models import (
    Batch,
    BatchCharge,
    Recipe,
    State,
)
from network.workshop.queries.mixing import (
    FLOW_WARNINGS,
    LEFT_OUT,
    MixPlan,
    flow_of_batch,
    flow_warnings,
)

MIX_KINDS = [(one, one.replace("_", " ")) for one in ("as_wished", "smaller", "other_shares")]


class RecipeColourSerializer(serializers.Serializer[Any]):
    """The share of a colour in a step, and how far it may give either way."""

    colour_id = serializers.UUIDField()
    share = share_field()
    give = share_field(default=Decimal(0))


class RecipeStepSerializer(serializers.Serializer[Any]):
    """A part of the recipe that is mixed by itself, so that its colours stay apart."""

    name = serializers.CharField(max_length=40)
    share = share_field()
    colours: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=RecipeColourSerializer(), min_length=1, max_length=20
    )


class RecipeSerializer(serializers.Serializer[Recipe]):
    """A recipe: a resin, a mass, and steps whose shares add up to 1."""

    id = serializers.UUIDField()
    maker = ReferenceSerializer()
    name = serializers.CharField()
    resin = serializers.CharField(source="resin_id")
    mass_g = serializers.IntegerField()
    steps = RecipeStepSerializer(many=True)


class NewRecipeSerializer(serializers.Serializer[Any]):
    """A recipe to save."""

    maker_id = serializers.UUIDField()
    name = serializers.CharField(max_length=80)
    resin = serializers.CharField(max_length=12)
    mass_g = mass_field()
    steps: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=RecipeStepSerializer(), min_length=1, max_length=10
    )


class MixQuestionSerializer(serializers.Serializer[Any]):
    """The recipe's own mass unless another is sent."""

    mass_g = serializers.IntegerField(
        min_value=1, max_value=MASS_G_MAX, required=False, allow_null=True
    )
    with_offcuts = serializers.BooleanField(required=False, default=False)


class ChargePlanSerializer(serializers.Serializer[Any]):
    step = serializers.CharField()
    lot = LotReferenceSerializer()
    state = serializers.ChoiceField(State.choices)
    colour = serializers.CharField()
    mass_g = serializers.IntegerField()


class FlowWarningSerializer(serializers.Serializer[Any]):
    """Why an estimate of flow is to be doubted, or the mix with it."""

    code = serializers.ChoiceField(FLOW_WARNINGS)
    text = serializers.CharField()


class FlowSerializer(serializers.Serializer[Any]):
    """The estimated melt flow in g/10 min, null where there is none, and why to doubt it."""

    flow = serializers.FloatField(allow_null=True)
    condition = serializers.CharField(allow_blank=True)
    blown_share = serializers.FloatField()
    blown_share_max = serializers.FloatField(allow_null=True)
    warnings = serializers.SerializerMethodField()

    @extend_schema_field(FlowWarningSerializer(many=True))
    def get_warnings(self, flow: Any) -> list[dict[str, str]]:
        return flow_warnings(flow)


class MixPlanSerializer(serializers.Serializer[MixPlan]):
    """Which lots to charge; `off_g` is how far its colours lie outside of the recipe."""

    kind = serializers.ChoiceField(MIX_KINDS)
    mass_g = serializers.IntegerField()
    off_g = serializers.IntegerField()
    charges = ChargePlanSerializer(many=True)
    flow = FlowSerializer()


class ShortSerializer(serializers.Serializer[Any]):
    colour = serializers.CharField()
    needs_g = serializers.IntegerField()
    has_g = serializers.IntegerField()


class LeftOutLotSerializer(serializers.Serializer[Any]):
    lot = LotReferenceSerializer()
    code = serializers.ChoiceField(LEFT_OUT)


class MixAnswerSerializer(serializers.Serializer[Any]):
    """The mix as wished, or what is short and the nearest that could be made."""

    mix = MixPlanSerializer(allow_null=True)
    short = ShortSerializer(many=True)
    nearest = MixPlanSerializer(many=True)
    left_out = LeftOutLotSerializer(many=True)


class BatchChargeSerializer(serializers.Serializer[BatchCharge]):
    lot = LotReferenceSerializer()
    state = serializers.ChoiceField(State.choices)
    step = serializers.CharField(allow_blank=True)
    mass_g = serializers.IntegerField()


class BatchSerializer(serializers.Serializer[Batch]):
    """Lots charged together, with what was bought in addition."""

    id = serializers.UUIDField()
    maker = ReferenceSerializer()
    name = serializers.CharField()
    recipe = ReferenceSerializer(allow_null=True)
    charges = BatchChargeSerializer(many=True)
    additive_name = serializers.CharField(allow_blank=True)
    additive_g = serializers.IntegerField()
    made_at = serializers.DateTimeField()


class BatchDetailSerializer(BatchSerializer):
    """A batch with how it would flow, and what to be wary of."""

    flow = serializers.SerializerMethodField()

    @extend_schema_field(FlowSerializer)
    def get_flow(self, batch: Batch) -> Any:
        return FlowSerializer(flow_of_batch(batch)).data


class ChargedSerializer(serializers.Serializer[Any]):
    """Grams of a lot that go in, out of a state."""

    lot_id = serializers.UUIDField()
    state = serializers.ChoiceField(State.choices)
    mass_g = mass_field()
    step = serializers.CharField(required=False, allow_blank=True, default="", max_length=40)


class AdditiveSerializer(serializers.Serializer[Any]):
    """What is bought in addition, such as pigment or new resin."""

    name = serializers.CharField(max_length=80)
    mass_g = mass_field()


class NewBatchSerializer(serializers.Serializer[Any]):
    """A batch: the lots named, or those that the recipe takes when none is."""

    name = serializers.CharField(max_length=80)
    recipe_id = serializers.UUIDField(required=False, allow_null=True, default=None)
    charges: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=ChargedSerializer(), required=False, default=list, max_length=50
    )
    mass_g = mass_field(required=False, allow_null=True, default=None)
    with_offcuts = serializers.BooleanField(required=False, default=False)
    additive = AdditiveSerializer(required=False, allow_null=True, default=None)
    at = serializers.DateTimeField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Refuse a batch of which it is not said what goes in."""
        if not attrs["charges"] and attrs["recipe_id"] is None:
            raise serializers.ValidationError({"charges": "Send charges, or a recipe_id."})
        return attrs
