"""Calendar feeds: made for oneself, shown once, taken back at any time."""

from datetime import timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput, NotAllowed
from network.ids import new_id
from network.notices.models import CalendarFeed
from network.notices.queries import feeds_of
from network.people.core.actor import Actor
from network.people.services.trail import Act, note_act
from network.pickups.models import Vehicle
from network.pickups.queries import vehicles_seen_by
from network.places.models import Place
from network.places.queries import places_seen_by
from network.rows import one_of
from network.tokens import hash_of, new_token, note_use

# Calendar programs ask each hour; noting each would write for nothing.
_NOTED_AGAIN_AFTER = timedelta(days=1)


@transaction.atomic
def make_feed(
    actor: Actor,
    *,
    place_id: UUID | None = None,
    vehicle_id: UUID | None = None,
    feed_id: UUID | None = None,
) -> tuple[CalendarFeed, str]:
    """Make a feed of a place or a van that the person may see; return it with its secret.

    Raises InvalidInput naming the field.
    """
    if actor.user_id is None:
        raise NotAllowed("Sign in first.")
    if (place_id is None) == (vehicle_id is None):
        raise InvalidInput.of(
            "place_id",
            "A calendar is of one place or of one van.",
            "Send either place_id or vehicle_id.",
        )
    place = None if place_id is None else _place(actor, place_id)
    vehicle = None if vehicle_id is None else _vehicle(actor, vehicle_id)
    token = new_token()
    feed = CalendarFeed.objects.create(
        id=feed_id or new_id(),
        community_id=actor.community_id,
        owner_id=actor.user_id,
        place=place,
        vehicle=vehicle,
        token_sha256=hash_of(token),
        created_at=timezone.now(),
    )
    note_act(actor, Act.FEED_MADE, feed)
    return feed, token


@transaction.atomic
def revoke_feed(actor: Actor, *, feed_id: UUID) -> CalendarFeed:
    """Take a feed back: its address shows nothing from now on. Raises NotFound."""
    feed = one_of(feeds_of(actor), feed_id, "There is no such calendar of yours.")
    feed.revoked_at = timezone.now()
    feed.save(update_fields=["revoked_at"])
    note_act(actor, Act.FEED_REVOKED, feed)
    return feed


def note_reading(feed: CalendarFeed) -> None:
    """Note that a feed is in use, to the day, so that its owner can tell one that nobody reads."""
    note_use(feed, "last_read_at", at=timezone.now(), not_within=_NOTED_AGAIN_AFTER)


def _place(actor: Actor, place_id: UUID) -> Place:
    place = places_seen_by(actor).filter(id=place_id).first()
    if place is None:
        raise InvalidInput.of(
            "place_id", "There is no such place here.", "Choose one that you can see."
        )
    return place


def _vehicle(actor: Actor, vehicle_id: UUID) -> Vehicle:
    vehicle = vehicles_seen_by(actor).filter(id=vehicle_id).first()
    if vehicle is None:
        raise InvalidInput.of(
            "vehicle_id", "There is no such van here.", "Choose one that you can see."
        )
    return vehicle
