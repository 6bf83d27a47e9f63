"""Visits as an iCalendar (RFC 5545), for the calendar of a school office or a driver's phone."""

from collections.abc import Iterable
from datetime import UTC

from icalendar import Calendar, Event

from network.pickups.models import Pickup


def visits_as_calendar(pickups: Iterable[Pickup]) -> str:
    """Return the visits as events; one that was called off or missed is cancelled."""
    calendar = Calendar()
    calendar.add("prodid", "-//Millrace//Pickups//EN")
    calendar.add("version", "2.0")
    for pickup in pickups:
        calendar.add_component(_event(pickup))
    text: str = calendar.to_ical().decode()
    return text


def _event(pickup: Pickup) -> Event:
    over = pickup.status in (Pickup.Status.CALLED_OFF, Pickup.Status.MISSED)
    booked_at = pickup.route.created_at if pickup.route else pickup.created_at
    event = Event()
    event.add("uid", f"{pickup.id}@millrace")
    # Without a METHOD this is when the event was last revised (RFC 5545 §3.8.7.2).
    event.add("dtstamp", (pickup.finished_at or booked_at).astimezone(UTC))
    for name, moment in (("dtstart", pickup.planned_arrival), ("dtend", pickup.planned_departure)):
        if moment is not None:
            event.add(name, moment.astimezone(UTC))
    event.add("summary", f"Pickup at {pickup.place.name} by {pickup.maker.name}")
    event.add("location", pickup.place.address)
    event.add("status", "CANCELLED" if over else "CONFIRMED")
    if pickup.reason:
        event.add("description", pickup.reason)
    return event
