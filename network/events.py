"""What has happened, for rooms further on: the queue of background jobs is the outbox.

A service announces an event inside its own transaction, so it is told of only if it happened. Who
is told, and how, is decided by `network.notices`, which the rooms that announce know nothing of.
"""

from datetime import datetime, timedelta
from enum import StrEnum
from uuid import UUID

from django.utils import timezone
from procrastinate.contrib.django import app

from network.ids import new_id

TELL = "network.notices.tasks.tell"
# What is entered later than this is history, such as a season typed in afterwards.
NEWS_LASTS = timedelta(days=1)


class Event(StrEnum):
    """What happened; the id that goes with it is that of the thing it happened to."""

    ROUTE_BOOKED = "route_booked"
    ROUTE_STARTED = "route_started"
    ROUTE_CALLED_OFF = "route_called_off"
    PICKUP_ASKED = "pickup_asked"
    PICKUP_ADDED = "pickup_added"
    PICKUP_RETIMED = "pickup_retimed"
    PICKUP_CALLED_OFF = "pickup_called_off"
    PICKUP_DONE = "pickup_done"
    PICKUP_MISSED = "pickup_missed"
    INSPECTED = "inspected"
    RULES_PUBLISHED = "rules_published"
    PLACE_ADMITTED = "place_admitted"
    PLACE_REFUSED = "place_refused"
    WEEK_ENDED = "week_ended"
    PERIOD_SEALED = "period_sealed"


def announce(
    event: Event,
    *,
    community_id: UUID,
    subject_id: UUID,
    at: datetime,
    event_id: UUID | None = None,
) -> None:
    """Say that something happened; what is no longer news is not told.

    `event_id` is given where the same event could be announced twice.
    """
    if at < timezone.now() - NEWS_LASTS:
        return
    app.configure_task(TELL, queue="notices", allow_unknown=True).defer(
        event=event.value,
        event_id=str(event_id or new_id()),
        community_id=str(community_id),
        subject_id=str(subject_id),
        at=at.isoformat(),
    )
