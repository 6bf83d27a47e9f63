"""What is shown of places."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.references import ReferenceSerializer
from network.materials.models import RuleVersion
from network.pickups.models import Pickup
from network.places.models import (
    AccessWindow,
    Agreement,
    CalendarSpan,
    Container,
    FillReport,
    Place,
    PlaceImport,
)

CLOCK = "%H:%M"
RULES = {"type": "object", "additionalProperties": True}


class LineSerializer(serializers.Serializer[Any]):
    """One thing in words, with the code and params by which it can be translated."""

    code = serializers.CharField()
    params = serializers.DictField(child=serializers.CharField())
    text = serializers.CharField()


class ConditionSerializer(LineSerializer):
    """Something a first pickup depends on; `met` is null for what the place cannot tell."""

    met = serializers.BooleanField(allow_null=True)


class RulesInWordsSerializer(serializers.Serializer[Any]):
    """What to keep, how to get it ready, and what never belongs in it."""

    keep = LineSerializer(many=True)
    ready = LineSerializer(many=True)
    never = LineSerializer(many=True)


class AgreedRulesSerializer(serializers.Serializer[RuleVersion]):
    """A version of a stream's rules, as data."""

    id = serializers.UUIDField()
    number = serializers.IntegerField()
    rules = serializers.SerializerMethodField()
    created_at = serializers.DateTimeField()

    @extend_schema_field(RULES)
    def get_rules(self, version: RuleVersion) -> Any:
        return version.rules


class OfferedStreamSerializer(serializers.Serializer[Any]):
    """A stream as it is offered."""

    id = serializers.UUIDField(source="stream.id")
    name = serializers.CharField(source="stream.name")
    summary = serializers.CharField(source="stream.summary")
    maker = ReferenceSerializer(source="stream.maker")
    open_to_places = serializers.BooleanField(source="stream.open_to_places")
    reach_m = serializers.IntegerField(source="stream.reach_m")
    rule_version = AgreedRulesSerializer()


class OfferSerializer(serializers.Serializer[Any]):
    """A stream that a place could set aside."""

    stream = OfferedStreamSerializer(source="*")
    distance_m = serializers.IntegerField()
    within_reach = serializers.BooleanField()
    rules_in_words = RulesInWordsSerializer()
    first_pickup_depends_on = ConditionSerializer(many=True)


class WindowSerializer(serializers.ModelSerializer[AccessWindow]):
    """A weekly time by the community's clock; weekday 0 is Monday."""

    opens = serializers.TimeField(format=CLOCK)
    closes = serializers.TimeField(format=CLOCK)

    class Meta:
        model = AccessWindow
        fields = ["weekday", "opens", "closes"]


class SpanSerializer(serializers.ModelSerializer[CalendarSpan]):
    """Days of a term or of a closure, the last one included."""

    class Meta:
        model = CalendarSpan
        fields = ["kind", "first_day", "last_day", "label"]


class PlaceSerializer(serializers.ModelSerializer[Place]):
    """A place in a list."""

    organisation = ReferenceSerializer()
    district = ReferenceSerializer(allow_null=True)

    class Meta:
        model = Place
        fields = [
            "id",
            "organisation",
            "name",
            "kind",
            "district",
            "address",
            "longitude",
            "latitude",
            "status",
            "created_at",
        ]


class LastReportSerializer(serializers.Serializer[Any]):
    """How full a container was when last something was known of it."""

    percent = serializers.IntegerField()
    at = serializers.DateTimeField()


class GroundSerializer(serializers.Serializer[Any]):
    """One thing that an expectation rests on, as a code with its params and in words."""

    code = serializers.CharField()
    params = serializers.DictField(child=serializers.CharField())
    text = serializers.CharField()


class ExpectedSerializer(serializers.Serializer[Any]):
    """What is expected in a container: an estimate, with what it rests on, never a weighing.

    With nine chances in ten it is from `low_percent` to `high_percent` full; over 100 is what no
    longer fits. `overflow_chance` is that it is full by now, from 0 to 1; `full_on` the first day
    on which that is as likely as not, null where it is not within 120 days. Without a bulk density
    for the item there is no expected mass.
    """

    volume_ml = serializers.IntegerField()
    percent = serializers.IntegerField()
    low_percent = serializers.IntegerField()
    high_percent = serializers.IntegerField()
    overflow_chance = serializers.FloatField()
    full_on = serializers.DateField(allow_null=True)
    grounds = GroundSerializer(many=True)
    mass_g = serializers.IntegerField(source="mass.mass_g", allow_null=True, default=None)
    mass_low_g = serializers.IntegerField(source="mass.low_g", allow_null=True, default=None)
    mass_high_g = serializers.IntegerField(source="mass.high_g", allow_null=True, default=None)
    rests_on = serializers.CharField()


class ContainerSerializer(serializers.Serializer[Any]):
    """A container, with what was last said of it and what is expected in it now."""

    id = serializers.UUIDField(source="container.id")
    tag = serializers.CharField(source="container.tag")
    kind = serializers.ChoiceField(Container.Kind.choices, source="container.kind")
    volume_ml = serializers.IntegerField(source="container.volume_ml")
    tare_g = serializers.IntegerField(source="container.tare_g")
    placed_at = serializers.DateTimeField(source="container.placed_at")
    retired_at = serializers.DateTimeField(source="container.retired_at", allow_null=True)
    last_report = LastReportSerializer(allow_null=True)
    expected = ExpectedSerializer(allow_null=True)


class ListedContainerSerializer(ContainerSerializer):
    """A container in a list of all, with where it stands and for which stream."""

    agreement_id = serializers.UUIDField(source="container.agreement_id")
    place = ReferenceSerializer(source="container.agreement.place")
    stream = ReferenceSerializer(source="container.agreement.stream")


class AgreementSerializer(serializers.ModelSerializer[Agreement]):
    """An agreement in a list; `main_item` is the slug of the item mostly set aside."""

    place = ReferenceSerializer()
    stream = ReferenceSerializer()
    maker = ReferenceSerializer(source="stream.maker")
    rule_version = AgreedRulesSerializer()
    main_item = serializers.CharField(source="main_item_id")

    class Meta:
        model = Agreement
        fields = [
            "id",
            "place",
            "stream",
            "maker",
            "rule_version",
            "status",
            "starts_on",
            "ends_on",
            "end_reason",
            "main_item",
        ]


class PlaceAgreementSerializer(serializers.Serializer[Any]):
    """An agreement at its place, with the containers in use."""

    id = serializers.UUIDField(source="agreement.id")
    stream = ReferenceSerializer(source="agreement.stream")
    maker = ReferenceSerializer(source="agreement.stream.maker")
    rule_version = AgreedRulesSerializer(source="agreement.rule_version")
    newer_rules = AgreedRulesSerializer(allow_null=True)
    status = serializers.ChoiceField(Agreement.Status.choices, source="agreement.status")
    starts_on = serializers.DateField(source="agreement.starts_on")
    ends_on = serializers.DateField(source="agreement.ends_on", allow_null=True)
    end_reason = serializers.CharField(source="agreement.end_reason", allow_blank=True)
    main_item = serializers.CharField(source="agreement.main_item_id")
    containers = ContainerSerializer(many=True)
    first_pickup_depends_on = ConditionSerializer(many=True)


class ShutSerializer(serializers.Serializer[Any]):
    """Why nobody can come on a day."""

    code = serializers.CharField()
    text = serializers.CharField()


class NextVisitSerializer(serializers.Serializer[Any]):
    """When the place is visited next; a day and a time once it is planned."""

    pickup_id = serializers.UUIDField()
    day = serializers.DateField(allow_null=True)
    planned_arrival = serializers.DateTimeField(allow_null=True)
    status = serializers.ChoiceField(Pickup.Status.choices)


class PlaceDetailSerializer(serializers.Serializer[Any]):
    """A place with all that belongs to it."""

    id = serializers.UUIDField(source="place.id")
    organisation = ReferenceSerializer(source="place.organisation")
    name = serializers.CharField(source="place.name")
    kind = serializers.ChoiceField(Place.Kind.choices, source="place.kind")
    district = ReferenceSerializer(source="place.district", allow_null=True)
    address = serializers.CharField(source="place.address")
    longitude = serializers.FloatField(source="place.longitude")
    latitude = serializers.FloatField(source="place.latitude")
    access_notes = serializers.CharField(source="place.access_notes", allow_blank=True)
    contact_phone = serializers.CharField(source="place.contact_phone", allow_blank=True)
    public_precision = serializers.ChoiceField(
        Place.PublicPrecision.choices, source="place.public_precision"
    )
    observes_public_holidays = serializers.BooleanField(source="place.observes_public_holidays")
    prefers_from = serializers.TimeField(
        source="place.prefers_from",
        format="%H:%M",
        allow_null=True,
        help_text="From when a visit is best; at other open hours it may come too.",
    )
    prefers_until = serializers.TimeField(
        source="place.prefers_until", format="%H:%M", allow_null=True
    )
    status = serializers.ChoiceField(Place.Status.choices, source="place.status")
    status_reason = serializers.CharField(source="place.status_reason", allow_blank=True)
    created_at = serializers.DateTimeField(source="place.created_at")
    admitted_at = serializers.DateTimeField(source="place.admitted_at", allow_null=True)
    windows = WindowSerializer(many=True)
    spans = SpanSerializer(many=True)
    shut_today = ShutSerializer(allow_null=True)
    next_open_day = serializers.DateField(allow_null=True)
    agreements = PlaceAgreementSerializer(many=True)
    next_visit = NextVisitSerializer(allow_null=True)


class FillReportSerializer(serializers.ModelSerializer[FillReport]):
    """What someone said of a container, or that it was emptied when so full."""

    class Meta:
        model = FillReport
        fields = ["id", "percent", "origin", "at"]


class ImportRowSerializer(serializers.Serializer[Any]):
    """One place as it was read from a row."""

    row_number = serializers.IntegerField()
    name = serializers.CharField()
    kind = serializers.ChoiceField(Place.Kind.choices)
    organisation = serializers.CharField()
    address = serializers.CharField()
    district = serializers.CharField(allow_blank=True)
    longitude = serializers.FloatField()
    latitude = serializers.FloatField()
    access_notes = serializers.CharField(allow_blank=True)
    contact_phone = serializers.CharField(allow_blank=True)
    starts_on = serializers.DateField(allow_null=True)
    extra = serializers.DictField(child=serializers.CharField())


class ImportFaultSerializer(serializers.Serializer[Any]):
    """What is wrong, or doubtful, in a cell, and how to mend it."""

    row = serializers.IntegerField()
    column = serializers.CharField(allow_blank=True)
    detail = serializers.CharField()
    mend = serializers.CharField()


class PlaceImportSerializer(serializers.ModelSerializer[PlaceImport]):
    """A spreadsheet in a list of those read so far."""

    class Meta:
        model = PlaceImport
        fields = ["id", "status", "file_name", "created_at"]


class PlaceImportDetailSerializer(serializers.ModelSerializer[PlaceImport]):
    """What a spreadsheet would add, or has added, and what stands in the way."""

    rows = ImportRowSerializer(many=True, source="preview.rows")
    # The framework's own `errors` are those of reading; nothing is read by this serializer.
    errors = ImportFaultSerializer(many=True, source="preview.errors")  # type: ignore[assignment]
    warnings = ImportFaultSerializer(many=True, source="preview.warnings")
    unknown_columns = serializers.ListField(
        child=serializers.CharField(), source="preview.unknown_columns"
    )

    class Meta:
        model = PlaceImport
        fields = [
            "id",
            "status",
            "file_name",
            "created_at",
            "rows",
            "errors",
            "warnings",
            "unknown_columns",
        ]
