from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.observations import ObservationSerializer, VerdictReasonSerializer
from api.references import ReferenceSerializer
from network.lots.models import Account, Inspection, Lot, Movement, Scale, Weighing
from network.lots.queries.quality import sampled_contamination
from network.lots.queries.seen import children_of, movements_of, parents_of
from network.lots.services import GROSS_G_MAX, PARTS_MAX, STORES
from network.materials import choices

# No lot is heavier: what a column of grams can hold is more than any workshop has.
MASS_G_MAX = 2_000_000_000


class ScaleSerializer(serializers.ModelSerializer[Scale]):
    """A scale, as its plate states it; not for trade unless it is verified for that."""

    maker = ReferenceSerializer(read_only=True)
    maker_id = serializers.UUIDField(write_only=True)
    max_g = serializers.IntegerField(min_value=1, max_value=GROSS_G_MAX)
    interval_g = serializers.IntegerField(min_value=1, max_value=GROSS_G_MAX)
    repeatability_g = serializers.IntegerField(min_value=0, max_value=10_000, default=0)

    class Meta:
        model = Scale
        fields = [
            "id",
            "maker",
            "maker_id",
            "name",
            "max_g",
            "interval_g",
            "repeatability_g",
            "for_trade",
        ]
        read_only_fields = ["id"]


class LotReferenceSerializer(serializers.Serializer[Lot]):
    """A lot by its id and code."""

    id = serializers.UUIDField()
    code = serializers.CharField()


class BalanceSerializer(serializers.Serializer[Account]):
    """Grams in one kind of account; below zero at the container they came from."""

    kind = serializers.ChoiceField(Account.Kind.choices)
    mass_g = serializers.IntegerField(source="balance_g")


class LotSerializer(serializers.Serializer[Lot]):
    """A lot and where its grams are."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    maker = ReferenceSerializer()
    stream = ReferenceSerializer()
    place = ReferenceSerializer(allow_null=True)
    made_at = serializers.DateTimeField()
    balances = BalanceSerializer(source="accounts", many=True)


class AccountSerializer(serializers.Serializer[Account]):
    """One side of a movement."""

    kind = serializers.ChoiceField(Account.Kind.choices)
    holder_id = serializers.UUIDField()
    lot = LotReferenceSerializer()


class MovementSerializer(serializers.Serializer[Any]):
    """A line of the mass ledger; it counts later than it was done when its period was closed."""

    id = serializers.UUIDField()
    reason = serializers.ChoiceField(Movement.Reason.choices)
    mass_g = serializers.IntegerField()
    from_account = AccountSerializer()
    to_account = AccountSerializer()
    at = serializers.DateTimeField()
    counts_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    by = serializers.SerializerMethodField()
    weighing_id = serializers.UUIDField(allow_null=True)
    inspection_id = serializers.UUIDField(allow_null=True)
    reverses_id = serializers.UUIDField(allow_null=True)
    reversed_by_id = serializers.SerializerMethodField()
    note = serializers.CharField(allow_blank=True)
    sealed = serializers.SerializerMethodField()

    @extend_schema_field(serializers.BooleanField())
    def get_sealed(self, movement: Movement) -> bool:
        """Whether the line's period is closed; one that was written just now is in none."""
        return bool(getattr(movement, "sealed", False))

    @extend_schema_field(serializers.CharField(allow_null=True))
    def get_by(self, movement: Movement) -> str | None:
        return movement.by.name if movement.by else None

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_reversed_by_id(self, movement: Movement) -> str | None:
        undone = getattr(movement, "reversed_by", None)
        return str(undone.id) if undone else None


class UncertaintyPartSerializer(serializers.Serializer[Any]):
    """One part of a standard uncertainty; `shared` when other masses err alike by it."""

    name = serializers.CharField()
    standard_mg = serializers.IntegerField()
    shared = serializers.BooleanField()


class WeighingSerializer(serializers.Serializer[Weighing]):
    """A mass with its standard uncertainty (k = 1) and the expanded one (k = 2, about 95 %)."""

    id = serializers.UUIDField()
    stage = serializers.ChoiceField(Weighing.Stage.choices)
    method = serializers.ChoiceField(Weighing.Method.choices)
    estimated = serializers.SerializerMethodField()
    gross_g = serializers.IntegerField()
    tare_g = serializers.IntegerField()
    net_g = serializers.IntegerField()
    uncertainty_mg = serializers.IntegerField()
    expanded_uncertainty_mg = serializers.IntegerField(source="budget.expanded_mg")
    parts = UncertaintyPartSerializer(source="budget.components", many=True)
    warnings = serializers.ListField(child=serializers.CharField(), source="budget.warnings")
    scale = ReferenceSerializer(allow_null=True)
    at = serializers.DateTimeField()

    @extend_schema_field(serializers.BooleanField())
    def get_estimated(self, weighing: Weighing) -> bool:
        return weighing.method != Weighing.Method.WEIGHED


class LotWeighedSerializer(serializers.Serializer[Any]):
    """What the scale said of a lot, and where the lot's grams are now."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    weighing = WeighingSerializer()
    balances = BalanceSerializer(many=True)


class FindingSerializer(serializers.Serializer[Any]):
    """A kind of thing that should not be there, with its grams in the sample."""

    kind = serializers.ChoiceField(choices.FINDINGS)
    mass_g = serializers.IntegerField(min_value=1, max_value=MASS_G_MAX)


class ContaminationSerializer(serializers.Serializer[Any]):
    """The share by mass of what does not belong, with its 95 % interval for the whole."""

    percent = serializers.FloatField()
    low_percent = serializers.FloatField()
    high_percent = serializers.FloatField()


class InspectionSerializer(serializers.Serializer[Inspection]):
    """A look at what came, its findings and the verdict on it."""

    id = serializers.UUIDField()
    stage = serializers.ChoiceField(Inspection.Stage.choices)
    verdict = serializers.ChoiceField(Inspection.Verdict.choices)
    reasons = VerdictReasonSerializer(many=True)
    rule_version_id = serializers.UUIDField()
    sample_g = serializers.IntegerField(allow_null=True)
    findings = FindingSerializer(many=True)
    contamination = serializers.SerializerMethodField()
    note = serializers.CharField(allow_blank=True)
    at = serializers.DateTimeField()

    @extend_schema_field(ContaminationSerializer(allow_null=True))
    def get_contamination(self, inspection: Inspection) -> dict[str, float] | None:
        found = sampled_contamination(inspection)
        if found is None:
            return None
        return {
            "percent": round(100 * found.share, 2),
            "low_percent": round(100 * found.low, 2),
            "high_percent": round(100 * found.high, 2),
        }


class RelativeSerializer(serializers.Serializer[Any]):
    """A lot that another came from or went into, with the grams that did."""

    lot = LotReferenceSerializer()
    mass_g = serializers.IntegerField()


class LotDetailSerializer(LotSerializer):
    """A lot with everything that happened to it."""

    movements = serializers.SerializerMethodField()
    weighings = WeighingSerializer(many=True)
    inspections = InspectionSerializer(many=True)
    parents = serializers.SerializerMethodField()
    children = serializers.SerializerMethodField()

    @extend_schema_field(MovementSerializer(many=True))
    def get_movements(self, lot: Lot) -> Any:
        return MovementSerializer(list(movements_of(lot)), many=True).data

    @extend_schema_field(RelativeSerializer(many=True))
    def get_parents(self, lot: Lot) -> Any:
        return _relatives(parents_of(lot))

    @extend_schema_field(RelativeSerializer(many=True))
    def get_children(self, lot: Lot) -> Any:
        return _relatives(children_of(lot))


def _relatives(masses_g: dict[Lot, int]) -> Any:
    rows = [{"lot": lot, "mass_g": mass_g} for lot, mass_g in masses_g.items()]
    return RelativeSerializer(rows, many=True).data


class _NotedSerializer(serializers.Serializer[Any]):
    """When something was done, now unless said, and what there is to say of it."""

    at = serializers.DateTimeField(required=False)
    note = serializers.CharField(required=False, allow_blank=True, default="", max_length=240)


class LotWeighSerializer(serializers.Serializer[Any]):
    """What the scale showed at the workshop."""

    gross_g = serializers.IntegerField(min_value=1, max_value=GROSS_G_MAX)
    tare_g = serializers.IntegerField(min_value=0, max_value=GROSS_G_MAX)
    scale_id = serializers.UUIDField()
    at = serializers.DateTimeField(required=False)


class LotInspectSerializer(_NotedSerializer):
    """What was seen and found in a lot, and where it goes when it is turned away."""

    observation = ObservationSerializer(required=False, default=dict)
    sample_g = serializers.IntegerField(
        min_value=1, max_value=MASS_G_MAX, required=False, allow_null=True, default=None
    )
    findings: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=FindingSerializer(), required=False, default=list, max_length=100
    )
    taken_out_g = serializers.IntegerField(
        min_value=0, max_value=MASS_G_MAX, required=False, default=0
    )
    turned_away_to = serializers.ChoiceField(
        [Account.Kind.RETURNED, Account.Kind.RESIDUE], required=False, allow_null=True, default=None
    )


class PartSerializer(serializers.Serializer[Any]):
    mass_g = serializers.IntegerField(min_value=1, max_value=MASS_G_MAX)


class LotSplitSerializer(_NotedSerializer):
    """The parts a lot is divided into; what they leave stays in it."""

    parts: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=PartSerializer(), min_length=1, max_length=PARTS_MAX
    )


class LotOutSerializer(_NotedSerializer):
    """Grams that leave the workshop, out of the state they were in."""

    mass_g = serializers.IntegerField(min_value=1, max_value=MASS_G_MAX)
    state = serializers.ChoiceField(
        [(kind.value, kind.label) for kind in STORES], default=Account.Kind.COLLECTED.value
    )


class LotMergeSerializer(_NotedSerializer):
    """The lots that are put together."""

    lot_ids = serializers.ListField(
        child=serializers.UUIDField(), min_length=2, max_length=PARTS_MAX
    )


class ReversalSerializer(serializers.Serializer[Any]):
    """Why a line is undone."""

    note = serializers.CharField(max_length=240)
    at = serializers.DateTimeField(required=False)


class BalanceRowSerializer(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(Account.Kind.choices)
    stream = serializers.SerializerMethodField()
    mass_g = serializers.IntegerField()

    @extend_schema_field(ReferenceSerializer())
    def get_stream(self, row: Any) -> dict[str, str]:
        return {"id": str(row.stream_id), "name": row.stream_name}


class BalancesSerializer(serializers.Serializer[Any]):
    """Grams by kind of account and stream; `sum_g` is zero, since nothing is made or lost."""

    rows = BalanceRowSerializer(many=True)
    sum_g = serializers.IntegerField()
