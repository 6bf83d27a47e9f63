"""Where a product came from, for all to see, and what became of a place's material."""

from typing import Any

from rest_framework import serializers

from api.languages import SaidField
from api.references import CommunityReferenceSerializer
from api.workshop.common import (
    percent_field,
)
from network.lots.models import Account
from network.places.models import Place
from network.workshop.queries.passports import CUSTODY_CHOICES, PartOfProduct, PassportPage


class PublicOriginSerializer(serializers.Serializer[Any]):
    """The share by mass from one stream and one kind of place."""

    stream = serializers.CharField()
    place_kind = serializers.ChoiceField(Place.Kind.choices)
    percent = percent_field()


class OriginSerializer(PublicOriginSerializer):
    """A share with the grams that the ledger holds of it."""

    mass_g = serializers.IntegerField()


class PublicStorySerializer(serializers.Serializer[Any]):
    """Where the material came from; the shares and what was bought add up to 100 %."""

    origins = PublicOriginSerializer(many=True)
    bought_name = serializers.CharField(allow_blank=True)
    bought_percent = percent_field()
    step_percent = percent_field(help_text="Shares are given no finer than the weighings allow.")
    estimated_percent = percent_field(help_text="The part that was estimated, not weighed.")
    collected_from = serializers.DateField()
    collected_to = serializers.DateField()
    custody = serializers.ChoiceField(CUSTODY_CHOICES)
    custody_means = SaidField()
    recycled_percent = serializers.IntegerField(
        help_text="Post-consumer content by ISO 14021 §7.8, own offcuts not counted, rounded down."
    )


class StorySerializer(PublicStorySerializer):
    """The story with its grams, for those who made it."""

    origins = OriginSerializer(many=True)
    ledger_g = serializers.IntegerField()
    bought_g = serializers.IntegerField()
    regrind_g = serializers.IntegerField()


class PassportSerializer(serializers.Serializer[PassportPage]):
    """The public page of a run of pieces; it names no person and no place."""

    slug = serializers.CharField(source="passport.slug")
    name = serializers.CharField(source="product.name")
    community = CommunityReferenceSerializer(source="passport.community")
    maker = serializers.CharField()
    pieces = serializers.IntegerField(source="product.pieces")
    mass_g = serializers.IntegerField(source="product.mass_g")
    made_on = serializers.DateField()
    published_on = serializers.DateField()
    story = PublicStorySerializer()
    standards = serializers.CharField()
    not_certified = SaidField()


class PublishSerializer(serializers.Serializer[Any]):
    """Nothing needs to be said; the page follows from the ledger."""

    at = serializers.DateTimeField(required=False)


class PartOfProductSerializer(serializers.Serializer[PartOfProduct]):
    """Grams of the place's material in a run of pieces."""

    name = serializers.CharField(source="product.name")
    pieces = serializers.IntegerField(source="product.pieces")
    made_at = serializers.DateTimeField(source="product.made_at")
    passport_slug = serializers.CharField(source="slug", allow_null=True)
    mass_g = serializers.IntegerField()


class WhereaboutsSerializer(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(Account.Kind.choices)
    mass_g = serializers.IntegerField()


class BecameSerializer(serializers.Serializer[Any]):
    """What became of all that was collected at a place; the rows add up to it."""

    collected_g = serializers.IntegerField()
    rows = WhereaboutsSerializer(many=True)
    products = PartOfProductSerializer(many=True)
