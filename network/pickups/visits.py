"""A visit through all its changes: one that is called off and booked again is the same visit."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from network.pickups.models import Pickup

OVER = (Pickup.Status.CALLED_OFF, Pickup.Status.MISSED)
# Booked again later than this, a visit is another one.
MOVED_WITHIN = timedelta(days=14)


@dataclass(frozen=True, kw_only=True)
class Visit:
    """One booking of a visit; `root_id` and a rising `sequence` name it through its changes."""

    pickup: Pickup
    earlier: Pickup | None
    root_id: UUID
    sequence: int

    @property
    def revised_at(self) -> datetime:
        """When it was booked, or called off."""
        ended = self.pickup.finished_at if self.is_over else None
        return ended or booked_at(self.pickup)

    @property
    def is_over(self) -> bool:
        """Whether nobody comes after all."""
        return self.pickup.status in OVER


def visits_of(pickups: Iterable[Pickup]) -> list[Visit]:
    """Return each booked pickup as a booking of its visit, in the order of booking.

    The pickups must be all those that a place and a maker ever booked, with their routes: a
    booking is the first since an earlier one was called off, and takes its place. RFC 5545
    §3.8.7.4: the sequence rises by one for each change that matters, calling off being one.
    """
    visits: list[Visit] = []
    called_off: dict[tuple[UUID, UUID], list[Visit]] = defaultdict(list)
    booked = [pickup for pickup in pickups if pickup.route is not None]
    for pickup in sorted(booked, key=lambda pickup: (booked_at(pickup), pickup.id)):
        waiting = called_off[pickup.place_id, pickup.maker_id]
        before = next((visit for visit in waiting if _is_moved(visit.pickup, pickup)), None)
        if before is not None:
            waiting.remove(before)
        visit = Visit(
            pickup=pickup,
            earlier=before.pickup if before else None,
            root_id=before.root_id if before else pickup.id,
            sequence=(before.sequence + 1 if before else 0) + (pickup.status in OVER),
        )
        visits.append(visit)
        if pickup.status == Pickup.Status.CALLED_OFF:
            waiting.append(visit)
    return visits


def booked_at(pickup: Pickup) -> datetime:
    """Return when a pickup got its day and time, or was asked for if it has none yet."""
    return pickup.route.created_at if pickup.route else pickup.created_at


def _is_moved(earlier: Pickup, later: Pickup) -> bool:
    ended = earlier.finished_at
    return ended is not None and ended <= booked_at(later) <= ended + MOVED_WITHIN
