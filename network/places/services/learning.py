"""Learning, from all that was emptied, how places of each kind fill."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from network.people.models import Community
from network.places.core.history import record_of
from network.places.core.learning import learn_habits
from network.places.models import FillHabits
from network.places.queries.calendars import local_day
from network.places.queries.histories import containers_to_learn_from, histories_of


def learn_fill_habits(*, at: datetime | None = None) -> int:
    """Learn anew, in every community, how each kind of place fills; no actor.

    Returns how many kinds of how many communities there are habits of now.
    """
    now = at or timezone.now()
    return sum(_learn(community, now) for community in Community.objects.order_by("id"))


@transaction.atomic
def _learn(community: Community, now: datetime) -> int:
    containers = containers_to_learn_from(community)
    today = local_day(community, now)
    record = record_of(histories_of(containers, day=today, last_day=today), last_day=today)
    rows = [
        FillHabits(
            community=community,
            place_kind=kind,
            log_rate=habits.log_rate,
            spread=habits.spread,
            burst=habits.burst,
            jump_chance=habits.jump_chance,
            weekdays=list(habits.weekdays),
            containers=habits.containers,
            learned_at=now,
        )
        for kind, habits in learn_habits(record).items()
    ]
    FillHabits.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["community", "place_kind"],
        update_fields=[
            "log_rate",
            "spread",
            "burst",
            "jump_chance",
            "weekdays",
            "containers",
            "learned_at",
        ],
    )
    return len(rows)
