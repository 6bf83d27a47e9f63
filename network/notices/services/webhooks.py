"""Machines are told: where they are, who lets them be told, and what is queued for them."""

from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from procrastinate.contrib.django import app

from network.errors import Conflict, NotAllowed, WrongState
from network.events import Event
from network.ids import new_id
from network.notices.core.signing import secret_for
from network.notices.models import Webhook, WebhookDelivery
from network.notices.queries import live_webhooks, webhooks_seen_by
from network.notices.services.happenings import Happening, happenings_of
from network.outbound import check_url
from network.people.core.actor import MAKER, ORGANISER, Actor
from network.people.models import Community
from network.people.queries import actor_in, community_of
from network.people.services.trail import Act, note_act
from network.rows import one_of

DELIVER = "network.notices.tasks.deliver"
WEBHOOKS_MAX = 10
TEST = "test"


@transaction.atomic
def make_webhook(
    actor: Actor, *, name: str, url: str, webhook_id: UUID | None = None
) -> tuple[Webhook, str]:
    """Let a machine be told what its owner may see happen; return it with its secret.

    Raises InvalidInput for an address that is not public, Conflict for one too many.
    """
    actor.require(MAKER, ORGANISER)
    if actor.user_id is None:
        raise NotAllowed("Sign in first.")
    check_url(url, field="url")
    if live_webhooks(actor.community_id).filter(owner_id=actor.user_id).count() >= WEBHOOKS_MAX:
        raise Conflict(f"You have {WEBHOOKS_MAX} webhooks here already: stop one first.")
    webhook = Webhook.objects.create(
        id=webhook_id or new_id(),
        community_id=actor.community_id,
        owner_id=actor.user_id,
        name=name,
        url=url,
        created_at=timezone.now(),
    )
    note_act(actor, Act.WEBHOOK_MADE, webhook)
    return webhook, secret_of(webhook)


@transaction.atomic
def stop_webhook(actor: Actor, *, webhook_id: UUID) -> Webhook:
    """Tell a machine nothing any more; raises NotFound."""
    webhook = one_of(webhooks_seen_by(actor), webhook_id, "There is no such webhook of yours.")
    webhook.stopped_at = timezone.now()
    webhook.save(update_fields=["stopped_at"])
    note_act(actor, Act.WEBHOOK_STOPPED, webhook)
    return webhook


@transaction.atomic
def try_webhook(actor: Actor, *, webhook_id: UUID, delivery_id: UUID) -> WebhookDelivery:
    """Send a machine something harmless; raises NotFound, WrongState for one that is turned off."""
    webhook = one_of(webhooks_seen_by(actor), webhook_id, "There is no such webhook of yours.")
    if webhook.disabled_at is not None:
        raise WrongState("This webhook was turned off. Make another.")
    test = Happening(type=TEST, subject_id=webhook.id, maker_id=None)
    return _queue(
        webhook,
        test,
        community=community_of(actor),
        event_id=delivery_id,
        at=timezone.now(),
        delivery_id=delivery_id,
    )


def queue_deliveries(
    event: Event, *, event_id: UUID, community: Community, subject_id: UUID, at: datetime
) -> None:
    """Queue an event for every machine whose owner may see it now; again queues nothing."""
    hooks = list(live_webhooks(community.id))
    if not hooks:
        return
    happenings = happenings_of(event, community=community, subject_id=subject_id, at=at)
    for webhook in hooks:
        owner = actor_in(community=community, user_id=webhook.owner_id)
        for happening in happenings:
            if _may_hear(owner, happening) and not _is_queued(webhook, happening, event_id):
                _queue(webhook, happening, community=community, event_id=event_id, at=at)


def secret_of(webhook: Webhook) -> str:
    """Return what a webhook's messages are signed with; it is shown once and kept nowhere."""
    return secret_for(settings.SECRET_KEY.encode(), webhook.id.bytes)


def _may_hear(owner: Actor, happening: Happening) -> bool:
    return owner.is_organiser or happening.maker_id in owner.held_for(MAKER)


def _is_queued(webhook: Webhook, happening: Happening, event_id: UUID) -> bool:
    same = {"event_id": event_id, "subject_id": happening.subject_id, "type": happening.type}
    return webhook.deliveries.filter(**same).exists()


def _queue(
    webhook: Webhook,
    happening: Happening,
    *,
    community: Community,
    event_id: UUID,
    at: datetime,
    delivery_id: UUID | None = None,
) -> WebhookDelivery:
    delivery = WebhookDelivery.objects.create(
        id=delivery_id or new_id(),
        community=community,
        webhook=webhook,
        event_id=event_id,
        subject_id=happening.subject_id,
        type=happening.type,
        payload={
            "type": happening.type,
            "timestamp": at.isoformat(),
            "data": {"community": community.slug, "id": str(happening.subject_id)},
        },
        created_at=timezone.now(),
    )
    app.configure_task(DELIVER, queue="webhooks", allow_unknown=True).defer(
        delivery_id=str(delivery.id)
    )
    return delivery
