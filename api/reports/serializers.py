from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.references import ReferenceSerializer
from network.places.models import Place
from network.reports.queries import DIMENSIONS, Masses, Named, Row


class MethodSerializer(serializers.Serializer[Any]):
    """How the figures were counted; shown wherever they are."""

    code = serializers.CharField()
    version = serializers.IntegerField()
    name = serializers.CharField()
    statement = serializers.CharField()
    calculation_point = serializers.CharField()
    sources = serializers.ListField(child=serializers.CharField())


class MassesSerializer(serializers.Serializer[Masses]):
    """collected = on the way + turned away + residue + diverted = weighed + estimated, in g.

    `late_g` is what of diverted was written down after its own period was closed.
    """

    collected_g = serializers.IntegerField()
    on_the_way_g = serializers.IntegerField()
    turned_away_g = serializers.IntegerField()
    residue_g = serializers.IntegerField()
    diverted_g = serializers.IntegerField()
    late_g = serializers.IntegerField()
    weighed_g = serializers.IntegerField()
    estimated_g = serializers.IntegerField()
    pickups = serializers.IntegerField()


class ReportRowSerializer(MassesSerializer):
    """One group's sums; a dimension that was not asked for is left out."""

    month = serializers.RegexField(r"^\d{4}-\d{2}$", required=False)
    stream = ReferenceSerializer(required=False)
    kind = serializers.ChoiceField(Place.Kind.choices, required=False)
    district = ReferenceSerializer(required=False, allow_null=True)
    place = ReferenceSerializer(required=False)


class UncertaintySerializer(serializers.Serializer[Any]):
    """The uncertainty of the total: standard (k = 1) and expanded."""

    standard_g = serializers.IntegerField()
    expanded_g = serializers.IntegerField()
    k = serializers.IntegerField()
    note = serializers.CharField()


class _Period(serializers.Serializer[Any]):
    to = serializers.DateField(source="last_day", allow_null=True)


class PeriodSerializer(_Period):
    """The first and last day, both counted; null is open."""

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add `from`, which is a word of the language and cannot be a name in a class."""
        first = serializers.DateField(source="first_day", allow_null=True)
        return {"from": first, **super().get_fields()}


class DivertedReportSerializer(serializers.Serializer[Any]):
    """Diverted mass with its method and uncertainty."""

    method = MethodSerializer()
    period = PeriodSerializer(source="selection")
    by = serializers.ListField(
        child=serializers.ChoiceField(list(DIMENSIONS)), source="selection.by"
    )
    rows = serializers.SerializerMethodField()
    total = MassesSerializer()
    uncertainty = UncertaintySerializer()
    generated_at = serializers.DateTimeField()

    @extend_schema_field(ReportRowSerializer(many=True))
    def get_rows(self, report: Any) -> list[dict[str, Any]]:
        return [_row(row) for row in report["rows"]]


def _row(row: Row) -> dict[str, Any]:
    """Return a row as its serializer states it; by hand, since there can be very many."""
    groups = {
        name: {"id": value.id, "name": value.name} if isinstance(value, Named) else value
        for name, value in row.group.items()
    }
    return {**groups, **vars(row.masses)}
