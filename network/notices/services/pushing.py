"""A notice is shown on a person's devices (RFC 8030), encrypted so that no one else reads it."""

import base64
import json
import secrets
from datetime import datetime, timedelta
from urllib.parse import urlsplit
from uuid import UUID

import http_ece
import jwt
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.conf import settings
from django.db import transaction
from django.utils import timezone
from procrastinate.contrib.django import app

from network.ids import new_id
from network.notices.models import Notice, Push, PushDevice
from network.notices.services.mailing import queue_mail
from network.outbound import post
from network.tongues import translated

PUSH = "network.notices.tasks.push"
# What nobody saw after a day is in the list, and no longer news.
KEPT_BY_THE_SERVICE_S = 24 * 3600
TOKEN_LASTS = timedelta(hours=12)
_BODY_LETTERS_MAX = 300
# SEC 2, version 2.0, §2.4.2.
P256_ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551
_GOOD, _BAD = range(200, 300), range(400, 500)
_TRY_AGAIN = {408, 425, 429}


class NotPushedError(Exception):
    """The push service did not take the message now."""


def push_key() -> str:
    """Return the public key that browsers subscribe with, in base64url (RFC 8292 §3.2)."""
    point = _key().public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    return _in_base64url(point)


def queue_pushes(notice: Notice, *, due_at: datetime) -> int:
    """Queue a notice for each device of its person; return how many there are."""
    devices = PushDevice.objects.filter(community_id=notice.community_id, user_id=notice.user_id)
    count = 0
    for device in devices:
        push = Push.objects.create(
            id=new_id(),
            community_id=notice.community_id,
            notice=notice,
            device=device,
            due_at=due_at,
        )
        app.configure_task(PUSH, queue="push", schedule_at=due_at, allow_unknown=True).defer(
            push_id=str(push.id)
        )
        count += 1
    return count


@transaction.atomic
def push_notice(*, push_id: UUID) -> bool:
    """Send a notice to a device unless that was done; return whether it was sent now.

    The row is locked meanwhile, so of two workers one sends. A service that is down raises, and the
    notice stays to be sent. A device that has gone is forgotten; if it was the person's last here,
    the notice goes by e-mail.
    """
    held = Push.objects.select_for_update(of=("self",)).select_related("notice__user", "device")
    push = held.filter(id=push_id, sent_at__isnull=True).first()
    if push is None or not push.notice.user.is_active:
        return False
    status = _send(push)
    if status in _BAD and status not in _TRY_AGAIN:
        _forget(push)
        return False
    if status not in _GOOD:
        raise NotPushedError(f"The push service answered {status}.")
    push.sent_at = timezone.now()
    push.save(update_fields=["sent_at"])
    PushDevice.objects.filter(id=push.device_id).update(last_sent_at=push.sent_at)
    return True


def _forget(push: Push) -> None:
    notice, device = push.notice, push.device
    device.delete()
    others = PushDevice.objects.filter(community_id=notice.community_id, user_id=notice.user_id)
    if not others.exists() and notice.mail_due_at is None:
        notice.mail_due_at = timezone.now()
        notice.save(update_fields=["mail_due_at"])
        queue_mail(notice.id, due_at=notice.mail_due_at)


def _send(push: Push) -> int:
    device = push.device
    return post(
        device.endpoint,
        body=_encrypted(_message(push.notice), p256dh=device.p256dh, auth=device.auth),
        headers={
            "Content-Type": "application/octet-stream",
            "Content-Encoding": "aes128gcm",
            "TTL": str(KEPT_BY_THE_SERVICE_S),
            # A message that waits there is replaced by the same one sent again (RFC 8030 §5.4).
            "Topic": _in_base64url(push.notice_id.bytes),
            "Authorization": f"vapid t={_token(device.endpoint)}, k={push_key()}",
        },
    )


def _message(notice: Notice) -> bytes:
    """Return what the app's service worker reads, in the person's language.

    It is well within the 4096 bytes of RFC 8030 §7.2.
    """
    language = notice.user.language
    title, body = (
        translated(words, language) for words in (notice.title, next(iter(notice.paragraphs), ""))
    )
    if len(body) > _BODY_LETTERS_MAX:
        body = body[: _BODY_LETTERS_MAX - 1] + "…"
    said = {"id": str(notice.id), "title": title, "body": body, "link": notice.link}
    return json.dumps(said, ensure_ascii=False).encode()


def _encrypted(message: bytes, *, p256dh: str, auth: str) -> bytes:
    """Encrypt for one browser, with a key that is used once (RFC 8291)."""
    sealed: bytes = http_ece.encrypt(
        message,
        salt=secrets.token_bytes(16),
        private_key=ec.generate_private_key(ec.SECP256R1()),
        dh=from_base64url(p256dh),
        auth_secret=from_base64url(auth),
        version="aes128gcm",
    )
    return sealed


def _token(endpoint: str) -> str:
    """Sign who sends, for one push service and half a day (RFC 8292 §2)."""
    service = urlsplit(endpoint)
    claims = {
        "aud": f"{service.scheme}://{service.netloc}",
        "exp": timezone.now() + TOKEN_LASTS,
        "sub": f"mailto:{settings.DEFAULT_FROM_EMAIL}",
    }
    return jwt.encode(claims, _key(), algorithm="ES256")


def _key() -> ec.EllipticCurvePrivateKey:
    if settings.VAPID_KEY:
        return ec.derive_private_key(
            int.from_bytes(from_base64url(settings.VAPID_KEY)), ec.SECP256R1()
        )
    derive = HKDF(hashes.SHA256(), length=32, salt=None, info=b"millrace web push key")
    drawn = int.from_bytes(derive.derive(settings.SECRET_KEY.encode()))
    # Any number from 1 to the order of the curve less 1 is a key.
    return ec.derive_private_key(drawn % (P256_ORDER - 1) + 1, ec.SECP256R1())


def from_base64url(text: str) -> bytes:
    """Return the bytes of a text in base64url; raises ValueError."""
    return base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)


def _in_base64url(content: bytes) -> str:
    return base64.urlsafe_b64encode(content).rstrip(b"=").decode()
