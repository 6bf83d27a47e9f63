"""What was last done at each place: when it was emptied, and by which van."""

from collections.abc import Collection, Sequence
from datetime import date
from uuid import UUID
from zoneinfo import ZoneInfo

from network.people.models import Organisation
from network.pickups.models import Pickup
from network.places.models import Container
from network.places.queries import waiting_since


def visited_on(containers: Sequence[Container], zone: str) -> dict[UUID, date]:
    """Return the day on which each place was last emptied, or else began, by a zone's clock."""
    tz = ZoneInfo(zone)
    return {
        place_id: moment.astimezone(tz).date()
        for place_id, moment in waiting_since(containers).items()
    }


def last_vans(maker: Organisation, places: Collection[UUID]) -> dict[UUID, str]:
    """Return the id of the maker's van that ended a visit at each place last."""
    rows = (
        Pickup.objects.filter(
            community_id=maker.community_id,
            maker=maker,
            place__in=places,
            status=Pickup.Status.DONE,
            finished_at__isnull=False,
        )
        .order_by("place_id", "-finished_at", "-id")
        .distinct("place_id")
    )
    return {
        place_id: str(van_id)
        for place_id, van_id in rows.values_list("place_id", "route__vehicle_id")
    }
