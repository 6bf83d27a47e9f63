"""A machine is called, signed, until it has taken what it is told or fails for too long."""

import json
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.notices.core.letters import webhook_disabled
from network.notices.core.signing import signature
from network.notices.models import Notice, Webhook, WebhookDelivery
from network.notices.services.news import News
from network.notices.services.telling import tell_one
from network.notices.services.webhooks import secret_of
from network.outbound import NotReachedError, post

# Nothing arrived for so long: whoever owns the machine is told, and it is called no more.
FAILS_AT_MOST = timedelta(days=3)
_GOOD = range(200, 300)
# By the specification, a machine that answers so wants to be called no more.
_GONE = 410


class NotDeliveredError(Exception):
    """The machine did not take the message now."""


def deliver(*, delivery_id: UUID) -> None:
    """Send what is due unless that was done; raises NotDeliveredError to be begun again.

    What each try came to is kept also where it failed.
    """
    if not _is_settled(delivery_id):
        raise NotDeliveredError


@transaction.atomic
def _is_settled(delivery_id: UUID) -> bool:
    """Try once, with the row locked; return whether nothing is left to do."""
    open_ones = WebhookDelivery.objects.filter(delivered_at__isnull=True, given_up_at__isnull=True)
    held = open_ones.select_for_update(of=("self",)).select_related("webhook__owner", "community")
    delivery = held.filter(id=delivery_id).first()
    if delivery is None:
        return True
    now, webhook = timezone.now(), delivery.webhook
    if webhook.stopped_at or webhook.disabled_at or not webhook.owner.is_active:
        delivery.given_up_at = now
        delivery.save(update_fields=["given_up_at"])
        return True
    _call(delivery, now)
    if delivery.delivered_at is not None:
        Webhook.objects.filter(id=webhook.id).update(failing_since=None)
        return True
    return _fails_for_good(delivery, now)


def _call(delivery: WebhookDelivery, now: datetime) -> None:
    delivery.tries += 1
    delivery.last_tried_at = now
    delivery.last_status, delivery.last_fault = None, ""
    try:
        delivery.last_status = _post(delivery, now)
    except NotReachedError as fault:
        delivery.last_fault = str(fault)
    if delivery.last_status in _GOOD:
        delivery.delivered_at = now
    delivery.save()


def _post(delivery: WebhookDelivery, now: datetime) -> int:
    payload = json.dumps(delivery.payload, separators=(",", ":")).encode()
    timestamp_s, message_id = int(now.timestamp()), str(delivery.id)
    signed = signature(
        secret_of(delivery.webhook),
        message_id=message_id,
        timestamp_s=timestamp_s,
        payload=payload,
    )
    headers = {
        "Content-Type": "application/json",
        "User-Agent": "Millrace",
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp_s),
        "webhook-signature": signed,
    }
    return post(delivery.webhook.url, body=payload, headers=headers)


def _fails_for_good(delivery: WebhookDelivery, now: datetime) -> bool:
    """Note that a machine fails; turn it off where it did for too long, and tell its owner."""
    webhook = Webhook.objects.select_for_update().get(id=delivery.webhook_id)
    since = webhook.failing_since or now
    is_over = delivery.last_status == _GONE or now - since >= FAILS_AT_MOST
    webhook.failing_since = since
    webhook.disabled_at = now if is_over else None
    webhook.save(update_fields=["failing_since", "disabled_at"])
    if is_over:
        delivery.given_up_at = now
        delivery.save(update_fields=["given_up_at"])
        _tell_owner(delivery)
    return is_over


def _tell_owner(delivery: WebhookDelivery) -> None:
    webhook = delivery.webhook
    news = News(
        kind=Notice.Kind.WEBHOOK_DISABLED,
        subject_id=webhook.id,
        letter=webhook_disabled(name=webhook.name, link="/account/webhooks"),
        people=[webhook.owner],
    )
    tell_one(delivery.community, delivery.id, news, webhook.owner)
