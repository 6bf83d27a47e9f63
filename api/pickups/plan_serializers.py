from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.pickups.search_serializers import (
    AlternativeSerializer,
    PlanSumsSerializer,
    SearchSerializer,
)
from api.pickups.serializers import CautionsSerializer, WhySerializer
from api.pickups.travel import DistancesSerializer
from api.references import ReferenceSerializer
from network.pickups.models import AIMS, Proposal, Search, Vehicle
from network.pickups.request_data import (
    DEFAULT_MISSED_HOURS_COST,
    DEFAULT_OVERFLOW_COST,
    DEFAULT_VALUE_PER_KG,
    PlanRequest,
    ShiftWish,
)
from network.pickups.services import PAYLOAD_G_MAX, SHIFTS_MAX, VOLUME_ML_MAX

PLACES_MAX = 500
S_PER_DAY = 86_400


class VehicleSerializer(serializers.ModelSerializer[Vehicle]):
    """A van; `payload_g` is its plated gross mass less kerb mass, driver and fuel."""

    maker = ReferenceSerializer(read_only=True)
    maker_id = serializers.UUIDField(write_only=True, required=False)
    payload_g = serializers.IntegerField(min_value=1, max_value=PAYLOAD_G_MAX)
    volume_ml = serializers.IntegerField(min_value=1, max_value=VOLUME_ML_MAX)
    cost_per_shift = serializers.DecimalField(max_digits=9, decimal_places=2, min_value=Decimal(0))
    cost_per_km = serializers.DecimalField(max_digits=9, decimal_places=4, min_value=Decimal(0))
    cost_per_hour = serializers.DecimalField(max_digits=9, decimal_places=2, min_value=Decimal(0))
    currency = serializers.CharField(source="community.currency", read_only=True)

    class Meta:
        model = Vehicle
        fields = [
            "id",
            "maker",
            "maker_id",
            "name",
            "payload_g",
            "volume_ml",
            "cost_per_shift",
            "cost_per_km",
            "cost_per_hour",
            "currency",
            "retired_at",
        ]
        read_only_fields = ["id", "retired_at"]


class VehicleChangeSerializer(serializers.Serializer[Any]):
    """What changes about a van; what is left out stays as it is."""

    name = serializers.CharField(max_length=80, required=False)
    payload_g = serializers.IntegerField(min_value=1, max_value=PAYLOAD_G_MAX, required=False)
    volume_ml = serializers.IntegerField(min_value=1, max_value=VOLUME_ML_MAX, required=False)
    cost_per_shift = serializers.DecimalField(
        max_digits=9, decimal_places=2, min_value=Decimal(0), required=False
    )
    cost_per_km = serializers.DecimalField(
        max_digits=9, decimal_places=4, min_value=Decimal(0), required=False
    )
    cost_per_hour = serializers.DecimalField(
        max_digits=9, decimal_places=2, min_value=Decimal(0), required=False
    )
    retired = serializers.BooleanField(required=False)


class ShiftSerializer(serializers.Serializer[Any]):
    """A van on one day, from and until a time of the community's clock."""

    vehicle_id = serializers.UUIDField()
    day = serializers.DateField()
    starts = serializers.TimeField(format="%H:%M", input_formats=["%H:%M"])
    ends = serializers.TimeField(format="%H:%M", input_formats=["%H:%M"])
    break_s = serializers.IntegerField(
        min_value=0,
        max_value=S_PER_DAY,
        required=False,
        default=0,
        help_text="How long a break is; a driver's time out without one is bound with it.",
    )
    stretch_s_max = serializers.IntegerField(
        min_value=1,
        max_value=S_PER_DAY,
        required=False,
        allow_null=True,
        default=None,
        help_text="How long a driver may be out without a break, before it and after it.",
    )
    drive_s_max = serializers.IntegerField(
        min_value=1, max_value=S_PER_DAY, required=False, allow_null=True, default=None
    )
    work_s_max = serializers.IntegerField(
        min_value=1,
        max_value=S_PER_DAY,
        required=False,
        allow_null=True,
        default=None,
        help_text="How long a driver may be out at all, the break not counted.",
    )


class ClosedSerializer(serializers.Serializer[Any]):
    """A place where nobody can come on a day."""

    place_id = serializers.UUIDField()
    day = serializers.DateField()


class ProposalRequestSerializer(serializers.Serializer[Any]):
    """What is to be planned; the two amounts of money are what a maker reckons with."""

    shifts: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=ShiftSerializer(), min_length=1, max_length=SHIFTS_MAX
    )
    must_visit = serializers.ListField(
        child=serializers.UUIDField(), max_length=PLACES_MAX, required=False, default=list
    )
    never_visit = serializers.ListField(
        child=serializers.UUIDField(), max_length=PLACES_MAX, required=False, default=list
    )
    closed: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=ClosedSerializer(),
        max_length=PLACES_MAX,
        required=False,
        help_text="Places to leave out on one day.",
    )
    value_per_kg = serializers.DecimalField(
        max_digits=8,
        decimal_places=2,
        min_value=Decimal(0),
        required=False,
        default=DEFAULT_VALUE_PER_KG,
        help_text="What a kilogram is worth to the maker: lost when it no longer fits.",
    )
    overflow_cost = serializers.DecimalField(
        max_digits=8,
        decimal_places=2,
        min_value=Decimal(0),
        required=False,
        default=DEFAULT_OVERFLOW_COST,
        help_text="What a working day costs on which a container stands full.",
    )
    missed_hours_cost = serializers.DecimalField(
        max_digits=8,
        decimal_places=2,
        min_value=Decimal(0),
        required=False,
        default=DEFAULT_MISSED_HOURS_COST,
        help_text="What it costs to come outside the hours that a place prefers.",
    )

    def plan_request(self) -> PlanRequest:
        """Return what was sent, checked for its shape."""
        self.is_valid(raise_exception=True)
        sent = self.validated_data
        return PlanRequest(
            shifts=tuple(ShiftWish(**shift) for shift in sent["shifts"]),
            must_visit=frozenset(sent["must_visit"]),
            never_visit=frozenset(sent["never_visit"]),
            closed=frozenset((one["place_id"], one["day"]) for one in sent.get("closed", [])),
            value_per_kg=sent["value_per_kg"],
            overflow_cost=sent["overflow_cost"],
            missed_hours_cost=sent["missed_hours_cost"],
        )


class PlanViolationSerializer(WhySerializer):
    """A rule that the plan breaks, and where."""

    place = ReferenceSerializer(allow_null=True)


class CostPartsSerializer(serializers.Serializer[Any]):
    """A cost by part: the van going out, its kilometres, its time."""

    shift = serializers.CharField()
    distance = serializers.CharField()
    time = serializers.CharField()
    total = serializers.CharField()


class WorthPartsSerializer(serializers.Serializer[Any]):
    """What a visit is worth: what it saves later, full days avoided, waiting, less missed hours."""

    way_m = serializers.IntegerField(help_text="What one more stop there typically adds.")
    way_s = serializers.IntegerField()
    service_s = serializers.IntegerField()
    way_cost = serializers.CharField()
    time_cost = serializers.CharField()
    typical_cost = serializers.CharField(help_text="Way and time of one stop together.")
    fill_percent = serializers.IntegerField(help_text="Expected, of all that is set up there.")
    saved_later = serializers.CharField(
        help_text="Of the typical cost, by the square of how full it is."
    )
    full_days = serializers.CharField(
        help_text="Days, one for each container, on which coming keeps it from standing full."
    )
    full_days_cost = serializers.CharField()
    waited_days = serializers.IntegerField(
        required=False, help_text="How long nobody has come; plans of before have none."
    )
    waiting_worth = serializers.CharField(
        required=False, help_text="What that adds, so that nobody waits for ever."
    )
    missed_hours_cost = serializers.CharField(
        required=False,
        help_text="What is lost outside the hours that the place prefers; in the total.",
    )
    total = serializers.CharField()


class StopFiguresSerializer(serializers.Serializer[Any]):
    """What a stop adds to its shift, or would add to the best one, and what that is worth."""

    shift = serializers.IntegerField()
    day = serializers.DateField()
    extra_distance_m = serializers.IntegerField()
    extra_duration_s = serializers.IntegerField()
    cost_per_km = serializers.CharField()
    cost_per_hour = serializers.CharField()
    extra_cost = CostPartsSerializer()
    worth = WorthPartsSerializer(allow_null=True)


class PlanStopSerializer(serializers.Serializer[Any]):
    """One stop of a planned route; all masses and volumes are expected, not measured."""

    place = ReferenceSerializer()
    arrival = serializers.DateTimeField()
    departure = serializers.DateTimeField()
    expected_mass_g = serializers.IntegerField()
    expected_volume_ml = serializers.IntegerField()
    leg_distance_m = serializers.IntegerField()
    leg_duration_s = serializers.IntegerField()
    wait_s = serializers.IntegerField()
    break_s = serializers.IntegerField(
        required=False, help_text="The driver's break on arrival; plans of before have none."
    )
    worth = serializers.CharField()
    must_visit = serializers.BooleanField()
    why = WhySerializer(many=True)
    figures = StopFiguresSerializer(allow_null=True)
    cautions = serializers.ListField(child=serializers.CharField())


class PlanRouteSerializer(serializers.Serializer[Any]):
    """One shift's route; `cost_per_kg` is null where nothing is collected."""

    shift = serializers.IntegerField()
    vehicle = ReferenceSerializer()
    day = serializers.DateField()
    starts_at = serializers.DateTimeField()
    ends_at = serializers.DateTimeField()
    from_workshop = serializers.BooleanField(
        allow_null=True, help_text="False where the van goes on from where it is."
    )
    stops = PlanStopSerializer(many=True)
    return_distance_m = serializers.IntegerField()
    distance_m = serializers.IntegerField()
    duration_s = serializers.IntegerField()
    mass_g = serializers.IntegerField()
    volume_ml = serializers.IntegerField()
    cost = serializers.CharField()
    cost_parts = CostPartsSerializer(allow_null=True)
    cost_per_kg = serializers.CharField(allow_null=True)
    violations = PlanViolationSerializer(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class LeftOutSerializer(serializers.Serializer[Any]):
    """A place without a visit in the plan; `must_visit` where one was asked for."""

    place = ReferenceSerializer()
    must_visit = serializers.BooleanField()
    full_days = serializers.CharField(
        allow_null=True, help_text="Days on which something there is expected to stand full."
    )
    why = WhySerializer(many=True)
    figures = StopFiguresSerializer(
        allow_null=True, help_text="Of the best shift that could come; null where none can."
    )


class PlanTotalsSerializer(serializers.Serializer[Any]):
    """What all routes come to."""

    places = serializers.IntegerField()
    distance_m = serializers.IntegerField()
    duration_s = serializers.IntegerField()
    mass_g = serializers.IntegerField()
    volume_ml = serializers.IntegerField()
    cost = serializers.CharField()
    worth = serializers.CharField()
    full_days = serializers.CharField(
        allow_null=True,
        help_text="Days, one for each container, on which one is expected to stand full.",
    )
    currency = serializers.CharField()
    cost_per_kg = serializers.CharField(allow_null=True)


class PlanDifferenceSerializer(PlanSumsSerializer):
    """By how much a plan's sums are greater than another's; below zero where they are less."""


class PlanChangeSerializer(serializers.Serializer[Any]):
    """What a change by hand costs, against the plan just before and the one first proposed."""

    from_before = PlanDifferenceSerializer()
    from_proposed = PlanDifferenceSerializer()


class PlanSerializer(CautionsSerializer):
    """Routes with their reasons, and who is left out and why; `change` once it was changed."""

    routes = PlanRouteSerializer(many=True)
    left_out = LeftOutSerializer(many=True)
    totals = PlanTotalsSerializer()
    distances = DistancesSerializer(
        allow_null=True, help_text="Null in plans of before this was kept."
    )
    notes = WhySerializer(many=True)
    violations = PlanViolationSerializer(many=True)
    change = PlanChangeSerializer(allow_null=True)


class ProposalRowSerializer(serializers.Serializer[Proposal]):
    """A proposal in a list."""

    id = serializers.UUIDField()
    maker = ReferenceSerializer()
    status = serializers.ChoiceField(Proposal.Status.choices)
    failure = serializers.CharField(allow_blank=True)
    created_at = serializers.DateTimeField()


class ProposalSerializer(ProposalRowSerializer):
    """A proposal with what was asked for and, once it is ready, its plan."""

    request = serializers.SerializerMethodField()
    rest_of_day = serializers.SerializerMethodField(
        help_text="Whether booking it changes the routes that stand that day."
    )
    plan = PlanSerializer(allow_null=True)
    aim = serializers.SerializerMethodField(
        help_text="Which of the alternatives the plan is; also once it was changed by hand."
    )
    alternatives = serializers.SerializerMethodField()
    search = serializers.SerializerMethodField(
        help_text="How far the search is; null for proposals of before this was kept."
    )

    @extend_schema_field(serializers.ChoiceField(AIMS, allow_null=True))
    def get_aim(self, proposal: Proposal) -> Any:
        return (proposal.plan or {}).get("aim")

    @extend_schema_field(AlternativeSerializer(many=True))
    def get_alternatives(self, proposal: Proposal) -> Any:
        rows = proposal.alternatives.defer("plan").order_by("position")
        return [AlternativeSerializer(row).data for row in rows]

    @extend_schema_field(SearchSerializer(allow_null=True))
    def get_search(self, proposal: Proposal) -> Any:
        search = Search.objects.filter(proposal=proposal).first()
        return SearchSerializer(search).data if search else None

    def get_rest_of_day(self, proposal: Proposal) -> bool:
        return proposal.request.get("rest_of_day") is not None

    @extend_schema_field(ProposalRequestSerializer())
    def get_request(self, proposal: Proposal) -> Any:
        return proposal.request
