from typing import Any

import django_filters as filters
from drf_spectacular.utils import extend_schema_field
from rest_framework.exceptions import ValidationError

from network.errors import InvalidInput
from network.lots.models import Movement
from network.places.models import Place
from network.reports.queries import DIMENSIONS, Selection

_CHOICES = [(name, name) for name in DIMENSIONS]


@extend_schema_field({"type": "string", "enum": list(DIMENSIONS)})
class DimensionsFilter(filters.BaseInFilter, filters.ChoiceFilter):
    """Dimensions, separated by commas."""


class PeriodFilter(filters.FilterSet):
    """The first and the last day of a report."""

    class Meta:
        model = Movement
        fields: list[str] = []


# `from` is a word of the language and cannot be a name in a class.
PeriodFilter.base_filters["from"] = filters.DateFilter(label="The first day, as YYYY-MM-DD.")
PeriodFilter.base_filters["to"] = filters.DateFilter(label="The last day, as YYYY-MM-DD.")


class BalanceFilter(PeriodFilter):
    """The days and the stream of a balance."""

    stream = filters.UUIDFilter()

    class Meta:
        model = Movement
        fields: list[str] = []


BalanceFilter.base_filters.update(PeriodFilter.base_filters)


class DivertedFilter(PeriodFilter):
    """What a report of diverted mass is about, and how it is told apart."""

    by = DimensionsFilter(choices=_CHOICES, label="What to tell apart, separated by commas.")
    stream = filters.UUIDFilter()
    kind = filters.ChoiceFilter(choices=Place.Kind.choices)
    district = filters.UUIDFilter()
    place = filters.UUIDFilter()

    class Meta:
        model = Movement
        fields: list[str] = []


DivertedFilter.base_filters.update(PeriodFilter.base_filters)


def asked_of(filterset: type[filters.FilterSet], parameters: Any) -> dict[str, Any]:
    """Return what a query asks for, checked; raises a ValidationError naming the part."""
    asked = filterset(parameters, queryset=Movement.objects.none())
    if not asked.is_valid():
        raise ValidationError(asked.errors)
    wanted: dict[str, Any] = asked.form.cleaned_data
    return wanted


def period_of(parameters: Any) -> Selection:
    """Return the period that the query asks for, and refuse to narrow it to a part.

    A narrower report could show what one place brought. Raises a ValidationError or InvalidInput.
    """
    for name in DivertedFilter.base_filters:
        if name in parameters and name not in PeriodFilter.base_filters:
            detail = "This report is of the whole community."
            raise InvalidInput.of(name, detail, "Leave it out, or take the table instead.")
    wanted = asked_of(PeriodFilter, parameters)
    return Selection(first_day=wanted["from"], last_day=wanted["to"])


def selection_of(parameters: Any) -> Selection:
    """Return what the query asks for; raises a ValidationError or InvalidInput naming the part."""
    wanted = asked_of(DivertedFilter, parameters)
    by = tuple(wanted["by"] or ())
    if len(set(by)) != len(by):
        raise InvalidInput.of("by", "One of these is there twice.", "Name each once.")
    return Selection(
        by=by,
        first_day=wanted["from"],
        last_day=wanted["to"],
        stream_id=wanted["stream"],
        kind=wanted["kind"] or None,
        district_id=wanted["district"],
        place_id=wanted["place"],
    )
