"""By what lists of places, agreements and containers are narrowed."""

from uuid import UUID

import django_filters
from django.db.models import Q, QuerySet

from network.places.models import Agreement, Container, Place


class PlaceFilter(django_filters.FilterSet):
    """Places of a kind, district, status or stream, or with words in their name or address."""

    kind = django_filters.MultipleChoiceFilter(choices=Place.Kind.choices)
    status = django_filters.MultipleChoiceFilter(choices=Place.Status.choices)
    district = django_filters.UUIDFilter(field_name="district_id")
    organisation = django_filters.UUIDFilter(field_name="organisation_id")
    stream = django_filters.UUIDFilter(method="with_stream")
    search = django_filters.CharFilter(method="with_words", max_length=100)

    class Meta:
        model = Place
        fields: list[str] = []

    def with_stream(self, places: QuerySet[Place], _name: str, value: UUID) -> QuerySet[Place]:
        standing = Agreement.objects.filter(stream_id=value).exclude(status=Agreement.Status.ENDED)
        return places.filter(id__in=standing.values("place_id"))

    def with_words(self, places: QuerySet[Place], _name: str, value: str) -> QuerySet[Place]:
        return places.filter(Q(name__icontains=value) | Q(address__icontains=value))


class AgreementFilter(django_filters.FilterSet):
    """Agreements of a place, stream or status."""

    place = django_filters.UUIDFilter(field_name="place_id")
    stream = django_filters.UUIDFilter(field_name="stream_id")
    status = django_filters.MultipleChoiceFilter(choices=Agreement.Status.choices)

    class Meta:
        model = Agreement
        fields: list[str] = []


class ContainerFilter(django_filters.FilterSet):
    """The container with a tag, or those of a place, agreement or stream; retired ones or not."""

    tag = django_filters.CharFilter(lookup_expr="iexact", max_length=20)
    place = django_filters.UUIDFilter(field_name="agreement__place_id")
    stream = django_filters.UUIDFilter(field_name="agreement__stream_id")
    agreement = django_filters.UUIDFilter(field_name="agreement_id")
    retired = django_filters.BooleanFilter(
        field_name="retired_at", lookup_expr="isnull", exclude=True
    )

    class Meta:
        model = Container
        fields: list[str] = []
