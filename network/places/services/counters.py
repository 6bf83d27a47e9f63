"""A shared device of a place: made by a contact or an organiser, and taken back by them."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import Conflict, InvalidInput
from network.ids import new_id
from network.people.core.actor import CONTACT, ORGANISER, Actor
from network.people.services.trail import Act, note_act
from network.places.models import Counter, FillReport
from network.places.queries import place_seen_by
from network.places.queries.counters import containers_at, counters_seen_by
from network.places.services.containers import say_how_full
from network.rows import one_of
from network.tokens import hash_of, new_token, note_use

COUNTER_DAYS_MAX = 365
COUNTERS_OF_A_PLACE_MAX = 10
_NOTED_AGAIN_AFTER = timedelta(hours=1)


@transaction.atomic
def make_counter(
    actor: Actor, *, place_id: UUID, name: str, valid_days: int, counter_id: UUID | None = None
) -> tuple[Counter, str]:
    """Let a shared device say how full a place is; return it with the secret, which is not kept.

    Raises NotFound, NotAllowed, InvalidInput for an odd number of days, Conflict for one too many.
    """
    place = place_seen_by(actor, place_id)
    actor.require(CONTACT, ORGANISER, organisation_id=place.organisation_id)
    if not 1 <= valid_days <= COUNTER_DAYS_MAX:
        raise InvalidInput.of(
            "valid_days",
            f"A shared device works for 1 to {COUNTER_DAYS_MAX} days.",
            "Choose a number of days in between.",
        )
    now = timezone.now()
    in_use = place.counters.filter(revoked_at__isnull=True, expires_at__gt=now)
    if in_use.count() >= COUNTERS_OF_A_PLACE_MAX:
        raise Conflict("This place has many shared devices already: take one back first.")
    token = new_token()
    counter = Counter.objects.create(
        id=counter_id or new_id(),
        community_id=actor.community_id,
        place=place,
        name=name,
        token_sha256=hash_of(token),
        made_by_id=actor.user_id,
        created_at=now,
        expires_at=now + timedelta(days=valid_days),
    )
    note_act(actor, Act.COUNTER_MADE, counter)
    return counter, token


@transaction.atomic
def revoke_counter(actor: Actor, *, counter_id: UUID) -> Counter:
    """Take a shared device back: it can do nothing from now on. Raises NotFound."""
    counter = one_of(counters_seen_by(actor), counter_id, "There is no such shared device.")
    counter.revoked_at = timezone.now()
    counter.save(update_fields=["revoked_at"])
    note_act(actor, Act.COUNTER_REVOKED, counter)
    return counter


@transaction.atomic
def report_at_counter(
    counter: Counter,
    *,
    container_id: UUID,
    percent: int,
    at: datetime | None = None,
    report_id: UUID | None = None,
) -> FillReport:
    """Say at a shared device how full a container there is; nobody is named by it.

    Raises NotFound for a container that stands elsewhere, and as `report_fill` does.
    """
    container = one_of(containers_at(counter), container_id, "There is no such container here.")
    nobody = Actor(user_id=None, community_id=counter.community_id)
    origin = FillReport.Origin.COUNTER
    return say_how_full(nobody, container, origin, percent=percent, at=at, report_id=report_id)


def note_counter_use(counter: Counter, *, at: datetime) -> None:
    """Note that a shared device is in use, to the hour."""
    note_use(counter, "last_used_at", at=at, not_within=_NOTED_AGAIN_AFTER)
