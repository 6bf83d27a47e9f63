"""What somebody declared, saw or measured, as every room's forms send it."""

from typing import Any

from rest_framework import serializers

from network.lots.models import Inspection
from network.materials import choices
from network.places.models import Container

MASS_G_MAX = 100_000_000


class FloatTestSerializer(serializers.Serializer[Any]):
    """What a piece without a mark did in a liquid of known density."""

    medium_g_cm3 = serializers.DecimalField(max_digits=6, decimal_places=4, min_value=0)
    floated = serializers.BooleanField()


class FoundSerializer(serializers.Serializer[Any]):
    """Something that does not belong, with its grams in the sample where it was weighed."""

    what = serializers.ChoiceField(choices.FINDINGS)
    mass_g = serializers.IntegerField(
        min_value=0, max_value=MASS_G_MAX, required=False, allow_null=True
    )


class ObservationSerializer(serializers.Serializer[Any]):
    """What is known of an amount; a part that is left out is unknown."""

    resins = serializers.ListField(
        child=serializers.CharField(max_length=40), max_length=100, required=False
    )
    unmarked = serializers.BooleanField(required=False)
    float_tests: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=FloatTestSerializer(), required=False, max_length=100
    )
    items = serializers.ListField(
        child=serializers.CharField(max_length=40), max_length=100, required=False
    )
    colours = serializers.ListField(
        child=serializers.ChoiceField(choices.COLOURS), max_length=100, required=False
    )
    forming = serializers.ListField(
        child=serializers.ChoiceField(choices.FORMING), max_length=100, required=False
    )
    met = serializers.ListField(
        child=serializers.ChoiceField(choices.STATES), max_length=100, required=False
    )
    unmet = serializers.ListField(
        child=serializers.ChoiceField(choices.STATES), max_length=100, required=False
    )
    found: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=FoundSerializer(), required=False, max_length=100
    )
    sample_g = serializers.IntegerField(
        min_value=1, max_value=MASS_G_MAX, required=False, allow_null=True
    )
    mass_g = serializers.IntegerField(
        min_value=0, max_value=MASS_G_MAX, required=False, allow_null=True
    )
    container = serializers.ChoiceField(Container.Kind.choices, required=False)


class VerdictReasonSerializer(serializers.Serializer[Any]):
    """One rule that was not kept: its code and params, and its words for people."""

    code = serializers.CharField()
    outcome = serializers.ChoiceField(Inspection.Verdict.choices)
    params = serializers.DictField(child=serializers.CharField())
    words = serializers.CharField()
    next_time = serializers.CharField()
