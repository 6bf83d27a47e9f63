"""What is sent about places: its shape; whether it can stand is for the services to say."""

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers

from api.places.serializers import SpanSerializer
from network.errors import InvalidInput
from network.materials.queries import under
from network.people.models import Organisation
from network.places.models import Container, Place
from network.places.services import (
    CONTAINERS_MAX,
    TARE_G_MAX,
    VOLUME_ML_MAX,
    AgreementInput,
    ContainersInput,
    NewOrganisation,
    PlaceChanges,
    PlaceInput,
    Precision,
    SpanInput,
    WindowInput,
)

CLOCK_FORMATS = ["%H:%M", "%H:%M:%S"]


class OfferQuerySerializer(serializers.Serializer[Any]):
    """Where a place is, and of which kind."""

    longitude = serializers.FloatField(min_value=-180, max_value=180)
    latitude = serializers.FloatField(min_value=-90, max_value=90)
    kind = serializers.ChoiceField(Place.Kind.choices, default=Place.Kind.OTHER)


class NewOrganisationSerializer(serializers.Serializer[Any]):
    """An organisation that is not here yet."""

    name = serializers.CharField(max_length=160)
    kind = serializers.ChoiceField(Organisation.Kind.choices)


class NewWindowSerializer(serializers.Serializer[Any]):
    """A weekly time by the community's clock; weekday 0 is Monday."""

    weekday = serializers.IntegerField(min_value=0, max_value=6)
    opens = serializers.TimeField(input_formats=CLOCK_FORMATS)
    closes = serializers.TimeField(input_formats=CLOCK_FORMATS)


class NewContainersSerializer(serializers.Serializer[Any]):
    """So many containers of one make."""

    kind = serializers.ChoiceField(Container.Kind.choices)
    volume_ml = serializers.IntegerField(min_value=1, max_value=VOLUME_ML_MAX)
    tare_g = serializers.IntegerField(min_value=0, max_value=TARE_G_MAX)
    count = serializers.IntegerField(min_value=1, max_value=CONTAINERS_MAX, default=1)


class AddedContainersSerializer(NewContainersSerializer):
    """Further containers for an agreement."""

    agreement_id = serializers.UUIDField()


class FirstAgreementSerializer(serializers.Serializer[Any]):
    """Which stream is set aside, mostly which item, from when on and in what."""

    stream_id = serializers.UUIDField()
    main_item = serializers.CharField(max_length=40)
    starts_on = serializers.DateField()
    containers = NewContainersSerializer(many=True, default=list)


class NewAgreementSerializer(FirstAgreementSerializer):
    """An agreement for a place that is here already."""

    place_id = serializers.UUIDField()


class PlaceFieldsSerializer(serializers.Serializer[Any]):
    """What is said of a place."""

    name = serializers.CharField(max_length=160)
    kind = serializers.ChoiceField(Place.Kind.choices)
    district_id = serializers.UUIDField(allow_null=True, required=False)
    address = serializers.CharField(max_length=240)
    longitude = serializers.FloatField(min_value=-180, max_value=180)
    latitude = serializers.FloatField(min_value=-90, max_value=90)
    access_notes = serializers.CharField(allow_blank=True, required=False, max_length=4000)
    contact_phone = serializers.CharField(allow_blank=True, required=False, max_length=40)
    public_precision = serializers.ChoiceField(Place.PublicPrecision.choices, required=False)
    observes_public_holidays = serializers.BooleanField(required=False)
    prefers_from = serializers.TimeField(
        input_formats=CLOCK_FORMATS,
        required=False,
        allow_null=True,
        help_text="From when a visit is best, by the community's clock; with prefers_until.",
    )
    prefers_until = serializers.TimeField(
        input_formats=CLOCK_FORMATS, required=False, allow_null=True
    )
    windows = NewWindowSerializer(many=True, required=False)
    spans = SpanSerializer(many=True, required=False)


class NewPlaceSerializer(PlaceFieldsSerializer):
    """A place to register, of an organisation that is here or that is made with it."""

    organisation_id = serializers.UUIDField(required=False)
    organisation = NewOrganisationSerializer(required=False)
    agreement = FirstAgreementSerializer(required=False, allow_null=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if ("organisation" in attrs) == ("organisation_id" in attrs):
            raise serializers.ValidationError(
                {"organisation": "Send either organisation_id or organisation."}
            )
        return attrs


class RefusalSerializer(serializers.Serializer[Any]):
    """What the place is told."""

    reason = serializers.CharField(max_length=240)


class EndSerializer(serializers.Serializer[Any]):
    """The last day of an agreement, and why."""

    ends_on = serializers.DateField()
    reason = serializers.CharField(allow_blank=True, default="", max_length=240)


class MoveSerializer(serializers.Serializer[Any]):
    """The rule version to move to."""

    rule_version_id = serializers.UUIDField()


class NewFillReportSerializer(serializers.Serializer[Any]):
    """How full a container is; by default now."""

    percent = serializers.IntegerField(min_value=0, max_value=150)
    at = serializers.DateTimeField(required=False, allow_null=True, default=None)


class ImportFileSerializer(serializers.Serializer[Any]):
    """A spreadsheet of places, CSV or XLSX."""

    file = serializers.FileField()


def organisation_of(data: Mapping[str, Any]) -> Any:
    """Return the id of the organisation, or the new one that is to be made."""
    if "organisation_id" in data:
        return data["organisation_id"]
    return NewOrganisation(**data["organisation"])


def place_input(data: Mapping[str, Any]) -> PlaceInput:
    """Return what is said of a place; raises InvalidInput naming each field."""
    return PlaceInput(**place_changes(data))


def place_changes(data: Mapping[str, Any]) -> PlaceChanges:
    """Return those parts of a place that were sent."""
    known = set(PlaceFieldsSerializer().get_fields())
    changes: Any = {name: value for name, value in data.items() if name in known}
    if "public_precision" in changes:
        changes["public_precision"] = Precision(changes["public_precision"])
    if "windows" in changes:
        changes["windows"] = [WindowInput(**window) for window in changes["windows"]]
    if "spans" in changes:
        changes["spans"] = [SpanInput(**span) for span in changes["spans"]]
    sent: PlaceChanges = changes
    return sent


def agreement_input(data: Mapping[str, Any]) -> AgreementInput:
    """Return what is to be agreed; raises InvalidInput naming each field."""
    return AgreementInput(
        stream_id=data["stream_id"],
        main_item=data["main_item"],
        starts_on=data["starts_on"],
        containers=[ContainersInput(**row) for row in data["containers"]],
    )


def first_agreement(data: Mapping[str, Any]) -> AgreementInput | None:
    """Return the agreement that a place is registered with; raises InvalidInput, by its path."""
    if data.get("agreement") is None:
        return None
    try:
        return agreement_input(data["agreement"])
    except InvalidInput as refusal:
        raise under("agreement", refusal) from None
