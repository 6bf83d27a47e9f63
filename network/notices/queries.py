"""Reads of notices: a person's own, and nobody else's."""

from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from network.errors import Expired, NotAllowed, NotFound
from network.notices.models import (
    CalendarFeed,
    Notice,
    NoticeChoice,
    PushDevice,
    Webhook,
    WebhookDelivery,
)
from network.people.core.actor import Actor
from network.people.models import Membership, User
from network.people.queries import actor_in
from network.pickups.queries import visits_since
from network.pickups.visits import Visit
from network.rows import one_of
from network.tokens import hash_of


def notices_for(actor: Actor) -> QuerySet[Notice]:
    """Return what a person was told in a community."""
    if actor.user_id is None:
        return Notice.objects.none()
    return Notice.objects.filter(community_id=actor.community_id, user_id=actor.user_id)


def notice_for(actor: Actor, notice_id: UUID) -> Notice:
    """Return one notice of a person; raises NotFound."""
    return one_of(notices_for(actor), notice_id)


def choice_for(actor: Actor) -> NoticeChoice:
    """Return what the person who asks chose in a community; raises NotAllowed for a stranger."""
    if actor.user_id is None:
        raise NotAllowed("Sign in first.")
    return choice_of(actor.community_id, actor.user_id)


def choice_of(community_id: UUID, user_id: UUID) -> NoticeChoice:
    """Return what a person chose in a community, or what holds for whoever chose nothing."""
    chosen = NoticeChoice.objects.filter(community_id=community_id, user_id=user_id).first()
    return chosen or NoticeChoice(community_id=community_id, user_id=user_id)


def way_of(choice: NoticeChoice, kind: str) -> str:
    """Return how a person is told something of a kind."""
    return str(choice.ways.get(kind, NoticeChoice.Way.EMAIL))


def people_in(community_id: UUID, *, role: str, organisation_id: UUID | None = None) -> list[User]:
    """Return who holds a role, for an organisation if one is named."""
    held = Membership.objects.filter(community_id=community_id, role=role, user__is_active=True)
    if organisation_id is not None:
        held = held.filter(organisation_id=organisation_id)
    return [membership.user for membership in held.select_related("user").order_by("user_id")]


def feeds_of(actor: Actor) -> QuerySet[CalendarFeed]:
    """Return a person's calendar feeds in a community that still work."""
    if actor.user_id is None:
        return CalendarFeed.objects.none()
    mine = CalendarFeed.objects.filter(community_id=actor.community_id, owner_id=actor.user_id)
    return mine.filter(revoked_at__isnull=True).select_related("place", "vehicle")


def push_devices_of(actor: Actor) -> QuerySet[PushDevice]:
    """Return the browsers on which a person is shown notices of a community."""
    if actor.user_id is None:
        return PushDevice.objects.none()
    return PushDevice.objects.filter(community_id=actor.community_id, user_id=actor.user_id)


def live_webhooks(community_id: UUID) -> QuerySet[Webhook]:
    """Return the machines that are told what happens in a community."""
    live = Webhook.objects.filter(stopped_at__isnull=True, disabled_at__isnull=True)
    return live.filter(community_id=community_id).order_by("id")


def webhooks_seen_by(actor: Actor) -> QuerySet[Webhook]:
    """Return the webhooks that nobody stopped: one's own, for an organiser those of all."""
    here = Webhook.objects.filter(community_id=actor.community_id, stopped_at__isnull=True)
    if not actor.is_organiser:
        here = here.filter(owner_id=actor.user_id) if actor.user_id else here.none()
    return here.select_related("owner")


def deliveries_of(actor: Actor, webhook_id: UUID) -> QuerySet[WebhookDelivery]:
    """Return what a machine was told, and what came of it; raises NotFound."""
    webhook = one_of(webhooks_seen_by(actor), webhook_id, "There is no such webhook of yours.")
    return WebhookDelivery.objects.filter(webhook=webhook)


def feed_by_token(token: str) -> CalendarFeed:
    """Return a feed by its secret; raises NotFound, or Expired once it was revoked."""
    found = CalendarFeed.objects.select_related("community", "place", "vehicle")
    feed = found.filter(token_sha256=hash_of(token), owner__is_active=True).first()
    if feed is None:
        raise NotFound("There is no such calendar.")
    if feed.revoked_at is not None:
        raise Expired("This calendar was taken back. Make another in the app.")
    return feed


def visits_in(feed: CalendarFeed, *, since: date) -> list[Visit]:
    """Return the visits that a feed shows: those that its owner may see now."""
    owner = actor_in(community=feed.community, user_id=feed.owner_id)
    return visits_since(owner, since, place_id=feed.place_id, vehicle_id=feed.vehicle_id)
