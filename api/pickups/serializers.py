from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.observations import ObservationSerializer, VerdictReasonSerializer
from api.pickups.photos import PhotoSerializer
from api.references import ReferenceSerializer
from network.lots.models import Inspection, Weighing
from network.lots.services import GROSS_G_MAX
from network.pickups.cautions import CAUTION_TEXT, Caution
from network.pickups.models import Pickup, PickupLine, Route
from network.pickups.queries import RouteDetail, StopDetail
from network.places.models import Container, Place

REASON_LENGTH_MAX = 240
PERCENT_MAX = 150
PIECES_MAX = 1_000_000


class CautionsSerializer(serializers.Serializer[Any]):
    """What to heed, by code; `caution_texts` has the words for each code that is there."""

    cautions = serializers.ListField(
        child=serializers.ChoiceField([caution.value for caution in Caution])
    )
    caution_texts = serializers.SerializerMethodField()

    @extend_schema_field(serializers.DictField(child=serializers.CharField()))
    def get_caution_texts(self, carrier: Any) -> dict[str, str]:
        codes = carrier["cautions"] if isinstance(carrier, dict) else carrier.cautions
        return {code: CAUTION_TEXT[Caution(code)] for code in codes}


class PickupContainerSerializer(serializers.Serializer[Container]):
    """What a driver needs to find and weigh a container."""

    id = serializers.UUIDField()
    tag = serializers.CharField()
    kind = serializers.ChoiceField(Container.Kind.choices)
    volume_ml = serializers.IntegerField()
    tare_g = serializers.IntegerField()


class PickupLineSerializer(serializers.Serializer[PickupLine]):
    """One container of a visit, and what came of it; `mass_g` is null unless it was collected."""

    id = serializers.UUIDField()
    container = PickupContainerSerializer()
    expected_mass_g = serializers.IntegerField()
    expected_volume_ml = serializers.IntegerField()
    outcome = serializers.ChoiceField(PickupLine.Outcome.choices)
    reason = serializers.CharField(allow_blank=True)
    done_at = serializers.DateTimeField(allow_null=True)
    lot_id = serializers.UUIDField(allow_null=True)
    mass_g = serializers.SerializerMethodField()
    method = serializers.SerializerMethodField()
    verdict = serializers.SerializerMethodField()
    reasons = serializers.SerializerMethodField()
    photos = PhotoSerializer(many=True)

    @extend_schema_field(serializers.IntegerField(allow_null=True))
    def get_mass_g(self, line: PickupLine) -> int | None:
        return line.weighing.net_g if line.weighing else None

    @extend_schema_field(serializers.ChoiceField(Weighing.Method.choices, allow_null=True))
    def get_method(self, line: PickupLine) -> str | None:
        return line.weighing.method if line.weighing else None

    @extend_schema_field(serializers.ChoiceField(Inspection.Verdict.choices, allow_null=True))
    def get_verdict(self, line: PickupLine) -> str | None:
        return line.look.verdict if line.look else None

    @extend_schema_field(VerdictReasonSerializer(many=True))
    def get_reasons(self, line: PickupLine) -> Any:
        return line.look.reasons if line.look else []


class PickupSerializer(serializers.Serializer[Pickup]):
    """A visit to a place, asked for or planned, and what came of it."""

    id = serializers.UUIDField()
    place = ReferenceSerializer()
    maker = ReferenceSerializer()
    status = serializers.ChoiceField(Pickup.Status.choices)
    asked_at = serializers.DateTimeField(allow_null=True)
    asked_note = serializers.CharField(allow_blank=True)
    route_id = serializers.UUIDField(allow_null=True)
    position = serializers.IntegerField(allow_null=True)
    day = serializers.DateField(allow_null=True)
    planned_arrival = serializers.DateTimeField(allow_null=True)
    planned_departure = serializers.DateTimeField(allow_null=True)
    arrived_at = serializers.DateTimeField(allow_null=True)
    finished_at = serializers.DateTimeField(allow_null=True)
    reason = serializers.CharField(allow_blank=True)
    lines = PickupLineSerializer(many=True)


class StopPlaceSerializer(serializers.Serializer[Place]):
    """A place as its driver needs it."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    kind = serializers.ChoiceField(Place.Kind.choices)
    address = serializers.CharField()
    longitude = serializers.FloatField()
    latitude = serializers.FloatField()
    access_notes = serializers.CharField(allow_blank=True)
    contact_phone = serializers.CharField(allow_blank=True)
    prefers_from = serializers.TimeField(
        format="%H:%M", allow_null=True, help_text="A visit is best from then on, to prefers_until."
    )
    prefers_until = serializers.TimeField(format="%H:%M", allow_null=True)


class OpeningSerializer(serializers.Serializer[Any]):
    """A time in which one can come."""

    opens_at = serializers.DateTimeField()
    closes_at = serializers.DateTimeField()


class StopRulesSerializer(serializers.Serializer[Any]):
    """The rules agreed for a stream that is collected at a stop."""

    stream = ReferenceSerializer()
    id = serializers.UUIDField()
    number = serializers.IntegerField()
    rules = serializers.DictField()


class WhySerializer(serializers.Serializer[Any]):
    """One reason: its code, its numbers and its words."""

    code = serializers.CharField()
    params = serializers.DictField()
    text = serializers.CharField()


class RoutePickupSerializer(serializers.Serializer[StopDetail]):
    """One visit of a route with all that its driver needs."""

    id = serializers.UUIDField(source="pickup.id")
    status = serializers.ChoiceField(Pickup.Status.choices, source="pickup.status")
    position = serializers.IntegerField(source="pickup.position")
    place = StopPlaceSerializer(source="pickup.place")
    planned_arrival = serializers.DateTimeField(source="pickup.planned_arrival")
    planned_departure = serializers.DateTimeField(source="pickup.planned_departure")
    arrived_at = serializers.DateTimeField(source="pickup.arrived_at", allow_null=True)
    finished_at = serializers.DateTimeField(source="pickup.finished_at", allow_null=True)
    asked_at = serializers.DateTimeField(source="pickup.asked_at", allow_null=True)
    asked_note = serializers.CharField(source="pickup.asked_note", allow_blank=True)
    reason = serializers.CharField(source="pickup.reason", allow_blank=True)
    why = WhySerializer(source="pickup.why", many=True)
    windows = OpeningSerializer(many=True)
    rules = StopRulesSerializer(source="rule_versions", many=True)
    lines = PickupLineSerializer(many=True)
    cautions = serializers.ListField(
        child=serializers.ChoiceField([caution.value for caution in Caution])
    )


class RouteSerializer(serializers.Serializer[Route]):
    """One van's stops in one shift; `stops` counts the visits."""

    id = serializers.UUIDField()
    maker = ReferenceSerializer()
    vehicle = ReferenceSerializer()
    driver = ReferenceSerializer(allow_null=True)
    proposal_id = serializers.UUIDField(allow_null=True)
    day = serializers.DateField()
    starts_at = serializers.DateTimeField()
    ends_at = serializers.DateTimeField()
    status = serializers.ChoiceField(Route.Status.choices)
    planned_distance_m = serializers.IntegerField()
    planned_duration_s = serializers.IntegerField()
    planned_mass_g = serializers.IntegerField()
    planned_volume_ml = serializers.IntegerField()
    planned_cost = serializers.DecimalField(max_digits=10, decimal_places=2)
    currency = serializers.CharField(source="community.currency")
    started_at = serializers.DateTimeField(allow_null=True)
    finished_at = serializers.DateTimeField(allow_null=True)


class RouteRowSerializer(RouteSerializer):
    """A route in a list; `stops` counts its visits."""

    stops = serializers.IntegerField()


class RouteDetailSerializer(CautionsSerializer, serializers.Serializer[RouteDetail]):
    """A route with its visits in the planned order; the driver may leave that order."""

    workshop = StopPlaceSerializer(allow_null=True)
    pickups = RoutePickupSerializer(source="stops", many=True)
    way = serializers.ListField(
        child=serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2),
        help_text="Its line on the map: longitude and latitude of each turn.",
    )

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Return the route's own fields beside what its driver needs."""
        own = RouteSerializer().get_fields()
        for name, field in own.items():
            field.source = f"route.{field.source or name}"
        return {**own, **super().get_fields()}


class RouteAsksSerializer(CautionsSerializer):
    """The visits that places ask for, as the stops they would be on a route."""

    pickups = RoutePickupSerializer(many=True)


class BookedSerializer(serializers.Serializer[Any]):
    """The routes that a proposal was booked as."""

    routes = RouteRowSerializer(many=True)


class DoneSerializer(serializers.Serializer[Any]):
    """When it was done; now, where it is sent at once."""

    at = serializers.DateTimeField(required=False)


class ReasonedSerializer(DoneSerializer):
    """Why, in words for the place."""

    reason = serializers.CharField(max_length=REASON_LENGTH_MAX)


class AssignSerializer(serializers.Serializer[Any]):
    driver_id = serializers.UUIDField()


class AddStopSerializer(DoneSerializer):
    """A visit that a place asked for, taken on as well."""

    pickup_id = serializers.UUIDField()


class AskSerializer(DoneSerializer):
    """What the maker should know; the maker itself only where a place sets aside for several."""

    note = serializers.CharField(
        max_length=REASON_LENGTH_MAX, required=False, allow_blank=True, default=""
    )
    maker_id = serializers.UUIDField(required=False)


class CollectSerializer(DoneSerializer):
    """What was taken out of a container: how its mass was found, and how full it was."""

    method = serializers.ChoiceField(Weighing.Method.choices)
    gross_g = serializers.IntegerField(min_value=1, max_value=GROSS_G_MAX, required=False)
    tare_g = serializers.IntegerField(min_value=0, max_value=GROSS_G_MAX, required=False)
    scale_id = serializers.UUIDField(required=False)
    percent = serializers.IntegerField(min_value=1, max_value=PERCENT_MAX, required=False)
    pieces = serializers.IntegerField(min_value=1, max_value=PIECES_MAX, required=False)
    look = ObservationSerializer(required=False)
    note = serializers.CharField(
        max_length=REASON_LENGTH_MAX, required=False, allow_blank=True, default=""
    )


class TurnAwaySerializer(DoneSerializer):
    """What was seen in a container that stays where it is; a note where the rules would take it."""

    look = ObservationSerializer()
    note = serializers.CharField(
        max_length=REASON_LENGTH_MAX, required=False, allow_blank=True, default=""
    )
