"""What a piece is, how much to look at, and which colour it has."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.languages import SaidField
from api.lots.serializers import MASS_G_MAX
from api.references import ReferenceSerializer
from api.workshop.common import (
    PIECES_MAX,
    CautionSerializer,
    lab_field,
)
from network.materials import catalogue, choices
from network.workshop.models import (
    NamedColour,
)
from network.workshop.queries.identifying import BY, DECISIONS, LIQUIDS, NextTest

_CLUES = catalogue.clue_tables()
BENDS = [(one, one.replace("_", " ")) for one in _CLUES["bend"].outcomes]
FEELS = [(one, one.replace("_", " ")) for one in _CLUES["feel"].outcomes]


class LiquidSerializer(serializers.Serializer[Any]):
    """A liquid as its bottle or bucket says."""

    kind = serializers.ChoiceField(LIQUIDS)
    percent = serializers.DecimalField(
        max_digits=5, decimal_places=2, min_value=0, max_value=100, required=False, allow_null=True
    )
    by = serializers.ChoiceField(BY, required=False, default="mass")
    temperature_c = serializers.DecimalField(
        max_digits=4,
        decimal_places=1,
        min_value=-20,
        max_value=40,
        required=False,
        default=Decimal(20),
    )


class LiquidTestSerializer(serializers.Serializer[Any]):
    """What the piece did in a liquid."""

    liquid = LiquidSerializer()
    floated = serializers.BooleanField()


class EvidenceSerializer(serializers.Serializer[Any]):
    """All that is known of a piece; what was not looked at is left out. Never by flame or smell."""

    stream_id = serializers.UUIDField(required=False, allow_null=True, default=None)
    mark = serializers.CharField(required=False, allow_blank=True, default="", max_length=20)
    item = serializers.CharField(required=False, allow_blank=True, default="", max_length=40)
    bend = serializers.ChoiceField(BENDS, required=False)
    feel = serializers.ChoiceField(FEELS, required=False)
    forming = serializers.ChoiceField(choices.FORMING, required=False)
    float_tests: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=LiquidTestSerializer(), required=False, default=list, max_length=20
    )


class ResinChanceSerializer(serializers.Serializer[Any]):
    symbol = serializers.CharField()
    name = SaidField()
    probability = serializers.FloatField()
    is_dangerous = serializers.BooleanField()


class NextTestSerializer(serializers.Serializer[NextTest]):
    """A harmless test not yet done, and how many bits it is expected to tell."""

    code = serializers.CharField()
    text = serializers.CharField()
    bits = serializers.FloatField()
    adults_only = serializers.BooleanField()
    cautions = CautionSerializer(many=True)


class IdentificationSerializer(serializers.Serializer[Any]):
    """How likely each resin is, likeliest first; what is decided and why; what to test next."""

    resins = ResinChanceSerializer(many=True)
    decision = serializers.ChoiceField(DECISIONS)
    resin = serializers.CharField(allow_blank=True)
    why = SaidField()
    certainty_min = serializers.FloatField()
    open_bits = serializers.FloatField()
    next_tests = NextTestSerializer(many=True)
    never = SaidField()


class LookSerializer(serializers.Serializer[Any]):
    slug = serializers.CharField()
    question = SaidField()
    outcomes = serializers.ListField(child=serializers.CharField())
    rests_on = serializers.CharField()


class TestLiquidSerializer(serializers.Serializer[Any]):
    """A liquid for float tests, with its caution."""

    slug = serializers.CharField()
    name = serializers.CharField()
    density_g_cm3 = serializers.FloatField()
    adults_only = serializers.BooleanField()
    caution = serializers.CharField(allow_blank=True)
    rests_on = serializers.CharField()


class HarmlessTestsSerializer(serializers.Serializer[Any]):
    """The looks and liquids that tell resins apart without harm."""

    looks = LookSerializer(many=True)
    liquids = TestLiquidSerializer(many=True)
    never = SaidField()


class StepCautionsSerializer(serializers.Serializer[Any]):
    """What to heed at one step of the work."""

    step = serializers.CharField()
    cautions = CautionSerializer(many=True)


class CertaintySerializer(serializers.Serializer[Any]):
    """How sure an identification must be before a piece of the stream is not set aside."""

    certainty_min = serializers.DecimalField(
        max_digits=4, decimal_places=3, min_value=0, max_value=1
    )


class SamplingQuestionSerializer(serializers.Serializer[Any]):
    """A contamination limit and a chance to catch it, as shares; the whole where it is known."""

    limit = serializers.FloatField()
    chance = serializers.FloatField(default=0.95)
    item = serializers.CharField(required=False, allow_blank=True, default="", max_length=40)
    whole_g = serializers.IntegerField(
        min_value=1, max_value=MASS_G_MAX, required=False, allow_null=True
    )
    whole_pieces = serializers.IntegerField(
        min_value=1, max_value=PIECES_MAX, required=False, allow_null=True
    )
    looked_at = serializers.IntegerField(
        min_value=1, max_value=PIECES_MAX, required=False, allow_null=True
    )
    found = serializers.IntegerField(min_value=0, max_value=PIECES_MAX, required=False, default=0)


class SeenSerializer(serializers.Serializer[Any]):
    """What a look says of the whole, with 95 % intervals: Bayes from Jeffreys' prior, and exact."""

    share = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    exact_low = serializers.FloatField()
    exact_high = serializers.FloatField()
    chance_it_would_have_caught = serializers.FloatField()


class SamplingPlanSerializer(serializers.Serializer[Any]):
    """How much to look at; grams are estimated from the item's unit mass."""

    pieces = serializers.IntegerField()
    grams = serializers.IntegerField(allow_null=True)
    whole_pieces = serializers.IntegerField(allow_null=True)
    whole_is_estimated = serializers.BooleanField()
    chance = serializers.FloatField()
    seen = SeenSerializer(allow_null=True)


class ColourSerializer(serializers.Serializer[NamedColour]):
    """A colour by the maker's own name, with its L*a*b* (D65) where measured."""

    id = serializers.UUIDField()
    maker = ReferenceSerializer()
    name = serializers.CharField()
    lab = serializers.SerializerMethodField()

    @extend_schema_field(lab_field(allow_null=True))
    def get_lab(self, colour: NamedColour) -> list[str] | None:
        if colour.lab_l is None:
            return None
        return [str(part) for part in (colour.lab_l, colour.lab_a, colour.lab_b)]


class NewColourSerializer(serializers.Serializer[Any]):
    """A colour to name."""

    maker_id = serializers.UUIDField()
    name = serializers.CharField(max_length=40)
    lab = lab_field(required=False, allow_null=True, default=None)


class ColourChangeSerializer(serializers.Serializer[Any]):
    """What a colour was measured as, in place of what was measured before."""

    lab = lab_field()


class PatchSerializer(serializers.Serializer[Any]):
    """A patch of a photo: its mean in 8-bit sRGB, and the standard deviation of its pixels."""

    rgb = serializers.ListField(
        child=serializers.FloatField(min_value=0, max_value=255), min_length=3, max_length=3
    )
    spread = serializers.ListField(
        child=serializers.FloatField(min_value=0, max_value=128),
        min_length=3,
        max_length=3,
        default=[0.0, 0.0, 0.0],
    )


class PhotoSerializer(serializers.Serializer[Any]):
    """The sample and a neutral card beside it, and the card's lightness L*; never the photo."""

    sample = PatchSerializer()
    card = PatchSerializer()
    card_lightness = serializers.FloatField(min_value=1, max_value=100, default=50)


class ColourQuestionSerializer(serializers.Serializer[Any]):
    """A measured colour, as L*a*b* or by a photo with a card."""

    maker_id = serializers.UUIDField()
    lab = lab_field(required=False, allow_null=True, default=None)
    photo = PhotoSerializer(required=False, allow_null=True, default=None)


class NearSerializer(serializers.Serializer[Any]):
    colour = ReferenceSerializer()
    difference = serializers.FloatField()


class ColourMatchSerializer(serializers.Serializer[Any]):
    """The measured colour (D65), and the maker's own, nearest first by CIEDE2000."""

    lab = lab_field()
    near = NearSerializer(many=True)
    looks_the_same = serializers.BooleanField()
    uncertainty = serializers.FloatField(allow_null=True)
    is_clear = serializers.BooleanField()
