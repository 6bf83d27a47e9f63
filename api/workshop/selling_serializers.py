"""Pieces made and what they must cost."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.languages import SaidField
from api.lots.serializers import MASS_G_MAX
from api.references import ReferenceSerializer
from api.workshop.common import (
    PIECES_MAX,
    TIME_S_MAX,
    mass_field,
    money_field,
)
from network.workshop.models import (
    PriceSheet,
    ProductRun,
)
from network.workshop.queries.pricing import OVER, STAGES


class ProductSerializer(serializers.Serializer[ProductRun]):
    """Pieces made of a batch, with what was cut off, thrown away and lost."""

    id = serializers.UUIDField()
    maker = ReferenceSerializer(source="batch.maker")
    batch = ReferenceSerializer()
    name = serializers.CharField()
    pieces = serializers.IntegerField()
    mass_g = serializers.IntegerField()
    offcut_g = serializers.IntegerField()
    residue_g = serializers.IntegerField()
    loss_g = serializers.IntegerField()
    additive_g = serializers.IntegerField()
    made_at = serializers.DateTimeField()
    passport_slug = serializers.SerializerMethodField()

    @extend_schema_field(serializers.CharField(allow_null=True))
    def get_passport_slug(self, product: ProductRun) -> str | None:
        passport = getattr(product, "passport", None)
        return passport.slug if passport else None


class NewProductSerializer(serializers.Serializer[Any]):
    """Pieces counted and weighed, and what was cut off, thrown away and lost with them."""

    batch_id = serializers.UUIDField()
    name = serializers.CharField(max_length=80)
    pieces = serializers.IntegerField(min_value=1, max_value=1_000_000)
    mass_g = mass_field()
    offcut_g = mass_field(0, default=0)
    residue_g = mass_field(0, default=0)
    loss_g = mass_field(0, default=0)
    at = serializers.DateTimeField(required=False)


class StageTimeSerializer(serializers.Serializer[Any]):
    """Work of a stage on some pieces at once; unattended work goes on beside the rest."""

    name = serializers.ChoiceField([(one, one) for one in STAGES])
    duration_s = serializers.IntegerField(min_value=0, max_value=TIME_S_MAX)
    pieces = serializers.IntegerField(min_value=1, max_value=PIECES_MAX)
    is_attended = serializers.BooleanField(default=True)


class MeasuredTimeSerializer(StageTimeSerializer):
    """What a stage took by the maker's own records; not whole where some run was not timed."""

    is_whole = serializers.BooleanField()


class MeasuredTimesSerializer(serializers.Serializer[Any]):
    """What was measured on the way to a run of pieces."""

    stages = MeasuredTimeSerializer(many=True)


class PriceQuestionSerializer(serializers.Serializer[Any]):
    """What goes into a price, in the community's currency; of a piece before rejects."""

    day_rate = money_field()
    overhead_per_day = money_field(default=Decimal(0))
    day_s = serializers.IntegerField(min_value=60, max_value=24 * 3600, default=8 * 3600)
    stages: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=StageTimeSerializer(), required=False, default=list, max_length=20
    )
    pieces_per_day = serializers.DecimalField(
        max_digits=9, decimal_places=2, required=False, allow_null=True, default=None, min_value=0
    )
    yield_share = serializers.DecimalField(
        max_digits=5, decimal_places=4, min_value=0, max_value=1, default=Decimal(1)
    )
    material = money_field(default=Decimal(0))
    energy_kwh = money_field(default=Decimal(0))
    energy_price_per_kwh = money_field(default=Decimal(0))
    consumables = money_field(default=Decimal(0))
    packaging = money_field(default=Decimal(0))
    over = serializers.ChoiceField(OVER, default="margin")
    over_share = serializers.DecimalField(
        max_digits=6, decimal_places=4, min_value=0, default=Decimal(0)
    )
    piece_mass_g = serializers.IntegerField(
        min_value=1, max_value=MASS_G_MAX, required=False, allow_null=True, default=None
    )
    new_material_per_kg = money_field(required=False, allow_null=True, default=None)


class PriceMoveSerializer(serializers.Serializer[Any]):
    """By how many per cent the price moves when this input is a tenth higher (a yield lower)."""

    name = serializers.CharField()
    percent = serializers.DecimalField(max_digits=8, decimal_places=1)


class PriceSerializer(serializers.Serializer[Any]):
    """What a piece costs and what to ask for it, with the parts of the cost and what moves it."""

    currency = serializers.CharField()
    pieces_per_day = serializers.DecimalField(max_digits=12, decimal_places=2)
    slowest = serializers.CharField(allow_blank=True)
    unit_cost = serializers.DecimalField(max_digits=14, decimal_places=2)
    unit_price = serializers.DecimalField(max_digits=14, decimal_places=2)
    parts = serializers.DictField(child=serializers.DecimalField(max_digits=14, decimal_places=2))
    moves = PriceMoveSerializer(many=True)
    new_material = serializers.DecimalField(max_digits=14, decimal_places=2, allow_null=True)
    note = SaidField()


class PriceSheetSerializer(serializers.Serializer[PriceSheet]):
    """A price that was kept, with all that went into it."""

    id = serializers.UUIDField()
    maker = ReferenceSerializer()
    name = serializers.CharField()
    product = ReferenceSerializer(allow_null=True)
    currency = serializers.CharField()
    inputs = PriceQuestionSerializer()
    result = serializers.SerializerMethodField()
    created_at = serializers.DateTimeField()

    @extend_schema_field(PriceSerializer)
    def get_result(self, sheet: PriceSheet) -> Any:
        return PriceSerializer({"currency": sheet.currency, **sheet.result}).data


class NewPriceSheetSerializer(PriceQuestionSerializer):
    """A price to keep."""

    maker_id = serializers.UUIDField()
    name = serializers.CharField(max_length=80)
    product_id = serializers.UUIDField(required=False, allow_null=True, default=None)
