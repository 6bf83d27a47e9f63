"""The week's summary: on Monday morning by each community's clock, for the week before."""

from datetime import datetime, timedelta
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from network.events import Event, announce
from network.notices.core.letters import WeekFacts
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.pickups.models import Pickup
from network.places.models import Place
from network.places.queries import local_day
from network.reports.queries import Selection, diverted

MONDAY = 0
MORNING_HOUR = 8
ONE_WEEK = timedelta(days=7)
ONE_DAY = timedelta(days=1)


def announce_weeks(*, at: datetime) -> None:
    """Announce the week that ended to each community where it is Monday morning.

    The same week again is the same event, so that organisers are told of it once.
    """
    for community in Community.objects.order_by("id"):
        local = at.astimezone(ZoneInfo(community.timezone))
        if local.weekday() == MONDAY and local.hour == MORNING_HOUR:
            announce(
                Event.WEEK_ENDED,
                community_id=community.id,
                subject_id=community.id,
                at=at,
                event_id=_week_id(community.id, local),
            )


def _week_id(community_id: UUID, local: datetime) -> UUID:
    return uuid5(community_id, f"week before {local.date().isoformat()}")


def week_facts(community: Community, *, at: datetime) -> WeekFacts:
    """Return the numbers of the seven days before the day of `at`, by the community's clock."""
    today = local_day(community, at)
    first_day, last_day = today - ONE_WEEK, today - ONE_DAY
    whole = Actor(user_id=None, community_id=community.id, organisations={ORGANISER: frozenset()})
    report = diverted(
        whole,
        community=community,
        selection=Selection(first_day=first_day, last_day=last_day),
    )
    visits = Pickup.objects.filter(community=community, day__range=(first_day, last_day))
    waiting = Place.objects.filter(community=community, status=Place.Status.ASKED)
    return WeekFacts(
        community=community.name,
        first_day=f"{first_day.day} {first_day:%B}",
        last_day=f"{last_day.day} {last_day:%B}",
        collected_g=report.total.collected_g,
        diverted_g=report.total.diverted_g,
        uncertainty_g=report.uncertainty.expanded_g,
        visits_done=visits.filter(status=Pickup.Status.DONE).count(),
        visits_missed=visits.filter(status=Pickup.Status.MISSED).count(),
        places_waiting=waiting.count(),
    )
