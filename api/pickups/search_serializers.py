from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from network.pickups.models import AIMS, Alternative, Watched


class PlanSumsSerializer(serializers.Serializer[Any]):
    """What a plan comes to; `full_days` are days, one for each container, on which one is full."""

    places = serializers.IntegerField()
    shifts = serializers.IntegerField()
    distance_m = serializers.IntegerField()
    duration_s = serializers.IntegerField()
    mass_g = serializers.IntegerField()
    cost = serializers.CharField()
    worth = serializers.CharField()
    full_days = serializers.CharField()


class AlternativeSerializer(serializers.Serializer[Alternative]):
    """A plan for the same shifts, made for something else, by what it comes to."""

    aim = serializers.ChoiceField(AIMS)
    sums = PlanSumsSerializer(source="outcome")


class SearchSerializer(serializers.Serializer[Watched]):
    """How far a search for plans is; `best_cost` is null until one is found."""

    aim = serializers.ChoiceField(AIMS, help_text="What the plan looked for now is made for.")
    iterations = serializers.IntegerField()
    iterations_max = serializers.IntegerField()
    best_cost = serializers.DecimalField(
        max_digits=14,
        decimal_places=2,
        allow_null=True,
        help_text="Of the best so far: its routes, and the worth of the visits that it leaves out.",
    )
    stopping = serializers.SerializerMethodField()
    finished = serializers.SerializerMethodField()

    @extend_schema_field(serializers.BooleanField())
    def get_stopping(self, search: Watched) -> bool:
        return search.stop_wished_at is not None

    @extend_schema_field(serializers.BooleanField())
    def get_finished(self, search: Watched) -> bool:
        return search.finished_at is not None


class ChoiceSerializer(serializers.Serializer[Any]):
    """Which of a proposal's alternatives is to be in force."""

    aim = serializers.ChoiceField(AIMS)
