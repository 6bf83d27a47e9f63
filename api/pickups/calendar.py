"""Visits as an iCalendar (RFC 5545), for the calendar of a school office or a driver's phone."""

from collections.abc import Iterable
from datetime import UTC, timedelta

from icalendar import Calendar, Event

from network.pickups.visits import Visit

ASK_AGAIN_AFTER = timedelta(hours=1)


def visits_as_calendar(visits: Iterable[Visit], *, name: str) -> str:
    """Return the visits as events; one that was called off or missed is cancelled.

    A visit that is booked again is the same event at another time: its UID stays and its SEQUENCE
    rises (§3.8.7.4). How often to look again is RFC 7986 §5.7, and §5.1 what it is called.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//Millrace//Pickups//EN")
    calendar.add("version", "2.0")
    calendar.add("name", name)
    calendar.add("refresh-interval", ASK_AGAIN_AFTER, parameters={"VALUE": "DURATION"})
    for visit in visits:
        calendar.add_component(_event(visit))
    text: str = calendar.to_ical().decode()
    return text


def _event(visit: Visit) -> Event:
    pickup = visit.pickup
    event = Event()
    event.add("uid", f"{visit.root_id}@millrace")
    event.add("sequence", visit.sequence)
    # Without a METHOD the stamp is when the event was last revised (§3.8.7.2).
    for stamp in ("dtstamp", "last-modified"):
        event.add(stamp, visit.revised_at.astimezone(UTC))
    for name, moment in (("dtstart", pickup.planned_arrival), ("dtend", pickup.planned_departure)):
        if moment is not None:
            event.add(name, moment.astimezone(UTC))
    event.add("summary", f"Pickup at {pickup.place.name} by {pickup.maker.name}")
    event.add("location", pickup.place.address)
    event.add("status", "CANCELLED" if visit.is_over else "CONFIRMED")
    if pickup.reason:
        event.add("description", pickup.reason)
    return event
