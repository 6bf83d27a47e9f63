import django_filters as filters

from network.pickups.models import Pickup, Proposal, Route, Vehicle


class VehicleFilter(filters.FilterSet):
    """Vans in use, or retired ones."""

    retired = filters.BooleanFilter(field_name="retired_at", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Vehicle
        fields = ["retired"]


class ProposalFilter(filters.FilterSet):
    """Proposals in a state."""

    status = filters.ChoiceFilter(choices=Proposal.Status.choices)

    class Meta:
        model = Proposal
        fields = ["status"]


class RouteFilter(filters.FilterSet):
    """Routes of a day or from or until a day, in any of some states, of a van or a driver."""

    day = filters.DateFilter()
    day_from = filters.DateFilter(field_name="day", lookup_expr="gte")
    day_until = filters.DateFilter(field_name="day", lookup_expr="lte")
    status = filters.MultipleChoiceFilter(choices=Route.Status.choices)
    vehicle = filters.UUIDFilter(field_name="vehicle_id")
    driver = filters.UUIDFilter(field_name="driver_id")

    class Meta:
        model = Route
        fields = ["day", "day_from", "day_until", "status", "vehicle", "driver"]


class PickupFilter(filters.FilterSet):
    """Visits to a place, in any of some states, on a day or from or until one."""

    place = filters.UUIDFilter(field_name="place_id")
    status = filters.MultipleChoiceFilter(choices=Pickup.Status.choices)
    day = filters.DateFilter()
    day_from = filters.DateFilter(field_name="day", lookup_expr="gte")
    day_until = filters.DateFilter(field_name="day", lookup_expr="lte")
    route = filters.UUIDFilter(field_name="route_id")

    class Meta:
        model = Pickup
        fields = ["place", "status", "day", "day_from", "day_until", "route"]
