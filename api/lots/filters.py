from uuid import UUID

import django_filters as filters
from django.db.models import Q, QuerySet

from network.lots.models import Account, Lot, Movement
from network.lots.queries.seen import touching


class LotFilter(filters.FilterSet):
    """Lots of a stream or place, in a state, or by their code or the place's name."""

    stream = filters.UUIDFilter(field_name="stream_id")
    place = filters.UUIDFilter(field_name="place_id")
    state = filters.ChoiceFilter(
        choices=Account.Kind.choices, method="in_state", label="Some of it is there."
    )
    q = filters.CharFilter(method="search", label="Part of the code or of the place's name.")

    class Meta:
        model = Lot
        fields = ["stream", "place", "state", "q"]

    def in_state(self, lots: QuerySet[Lot], name: str, value: str) -> QuerySet[Lot]:
        there = Account.objects.filter(kind=value).exclude(balance_g=0)
        return lots.filter(id__in=there.values("lot_id"))

    def search(self, lots: QuerySet[Lot], name: str, value: str) -> QuerySet[Lot]:
        return lots.filter(Q(code__icontains=value) | Q(place__name__icontains=value))


class MovementFilter(filters.FilterSet):
    """Movements of a lot, or for a reason."""

    lot = filters.UUIDFilter(method="of_lot", label="The lot on either side.")
    reason = filters.ChoiceFilter(choices=Movement.Reason.choices)

    class Meta:
        model = Movement
        fields = ["lot", "reason"]

    def of_lot(self, lines: QuerySet[Movement], name: str, value: UUID) -> QuerySet[Movement]:
        return lines.filter(touching(value))
