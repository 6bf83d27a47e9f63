from typing import Any

from rest_framework import serializers

from api.pickups.plan_serializers import PLACES_MAX
from network.pickups.services import SHIFTS_MAX


class OrderSerializer(serializers.Serializer[Any]):
    """The places of one shift in order; the shift by its number in the request, from 0."""

    shift = serializers.IntegerField(min_value=0, max_value=SHIFTS_MAX - 1)
    place_ids = serializers.ListField(child=serializers.UUIDField(), max_length=PLACES_MAX)


class ProposalChangeSerializer(serializers.Serializer[Any]):
    """The order of stops by shift; a shift that is left out stays at home."""

    routes: serializers.ListSerializer[Any] = serializers.ListSerializer(
        child=OrderSerializer(), max_length=SHIFTS_MAX
    )

    def orders(self) -> dict[int, Any]:
        """Return the order of stops by shift; raises ValidationError for a shift named twice."""
        self.is_valid(raise_exception=True)
        routes = self.validated_data["routes"]
        orders = {route["shift"]: route["place_ids"] for route in routes}
        if len(orders) < len(routes):
            raise serializers.ValidationError({"routes": ["A shift is there twice."]})
        return orders


class StopMoveSerializer(serializers.Serializer[Any]):
    """A place and the shift whose route it is to be on, at its best position; null: on none."""

    place_id = serializers.UUIDField()
    shift = serializers.IntegerField(min_value=0, max_value=SHIFTS_MAX - 1, allow_null=True)


class ReplanSerializer(serializers.Serializer[Any]):
    """What has happened: the van is out of order, others are sent, places cannot wait."""

    broken = serializers.BooleanField(default=False)
    helper_ids = serializers.ListField(
        child=serializers.UUIDField(), max_length=5, required=False, default=list
    )
    urgent_ids = serializers.ListField(
        child=serializers.UUIDField(), max_length=PLACES_MAX, required=False, default=list
    )
