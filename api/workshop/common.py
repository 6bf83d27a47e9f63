"""What the workshop's forms and views share."""

from typing import Any

import django_filters as filters
from django.utils import timezone
from rest_framework import serializers
from rest_framework.serializers import BaseSerializer

from api.lots.serializers import MASS_G_MAX
from network.workshop.cautions import CAUTION_CHOICES

TIME_S_MAX = 30 * 24 * 3600
PIECES_MAX = 1_000_000


class CautionSerializer(serializers.Serializer[Any]):
    """A caution, shown where the action is taken."""

    code = serializers.ChoiceField(CAUTION_CHOICES)
    text = serializers.CharField()


def lab_field(**options: Any) -> serializers.ListField:
    """Return a field of L*, a* and b*."""
    return serializers.ListField(
        child=serializers.DecimalField(
            max_digits=6, decimal_places=2, min_value=-200, max_value=200
        ),
        min_length=3,
        max_length=3,
        **options,
    )


def mass_field(minimum: int = 1, **options: Any) -> serializers.IntegerField:
    """Return a field of grams."""
    return serializers.IntegerField(min_value=minimum, max_value=MASS_G_MAX, **options)


def flow_field(**options: Any) -> serializers.DecimalField:
    """Return a field of a melt flow in g/10 min."""
    return serializers.DecimalField(
        max_digits=7, decimal_places=3, required=False, allow_null=True, default=None, **options
    )


def share_field(**options: Any) -> serializers.DecimalField:
    """Return a field of a share from 0 to 1."""
    return serializers.DecimalField(
        max_digits=6, decimal_places=5, min_value=0, max_value=1, **options
    )


def money_field(**options: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=12, decimal_places=4, min_value=0, **options)


def percent_field(**options: Any) -> serializers.DecimalField:
    """Return a field of per cent, no finer than tenths."""
    return serializers.DecimalField(max_digits=5, decimal_places=1, **options)


def asked(serializer: BaseSerializer[Any]) -> dict[str, Any]:
    """Return what was sent, its shape checked."""
    serializer.is_valid(raise_exception=True)
    given: dict[str, Any] = serializer.validated_data
    return given


def done(serializer: BaseSerializer[Any]) -> dict[str, Any]:
    """Return what was sent, checked; what has no time was done now."""
    return {"at": timezone.now(), **asked(serializer)}


class OfMakerFilter(filters.FilterSet):
    """Rows of one maker."""

    maker = filters.UUIDFilter(field_name="maker_id")


class OfBatchFilter(filters.FilterSet):
    """Rows of one batch."""

    batch = filters.UUIDFilter(field_name="batch_id")
