"""A person's browsers take notices, or no longer do."""

from uuid import UUID

from cryptography.hazmat.primitives.asymmetric import ec
from django.db import transaction
from django.utils import timezone

from network.errors import Conflict, InvalidInput, NotAllowed
from network.notices.models import PushDevice
from network.notices.queries import push_devices_of
from network.notices.services.pushing import from_base64url
from network.outbound import check_url
from network.people.core.actor import Actor
from network.rows import one_of

DEVICES_MAX = 10
_AUTH_BYTES = 16


@transaction.atomic
def add_push_device(
    actor: Actor, *, device_id: UUID, endpoint: str, p256dh: str, auth: str, name: str
) -> PushDevice:
    """Let a browser take a person's notices; whoever used it before is told nothing there any more.

    Raises InvalidInput naming the field, Conflict for one device too many.
    """
    if actor.user_id is None:
        raise NotAllowed("Sign in first.")
    check_url(endpoint, field="endpoint")
    _check_keys(p256dh, auth)
    PushDevice.objects.filter(community_id=actor.community_id, endpoint=endpoint).delete()
    if push_devices_of(actor).count() >= DEVICES_MAX:
        raise Conflict(f"You have {DEVICES_MAX} devices here already: take one away first.")
    return PushDevice.objects.create(
        id=device_id,
        community_id=actor.community_id,
        user_id=actor.user_id,
        endpoint=endpoint,
        p256dh=p256dh,
        auth=auth,
        name=name,
        created_at=timezone.now(),
    )


@transaction.atomic
def remove_push_device(actor: Actor, *, device_id: UUID) -> None:
    """Tell a person nothing on a device any more; raises NotFound."""
    one_of(push_devices_of(actor), device_id, "There is no such device of yours.").delete()


def _check_keys(p256dh: str, auth: str) -> None:
    try:
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), from_base64url(p256dh))
    except ValueError:
        raise _refused("p256dh", "This is no public key of the curve P-256.") from None
    try:
        fits = len(from_base64url(auth)) == _AUTH_BYTES
    except ValueError:
        fits = False
    if not fits:
        raise _refused("auth", "This is no secret of 16 bytes.")


def _refused(field: str, detail: str) -> InvalidInput:
    return InvalidInput.of(field, detail, "Send what the browser gave, in base64url.")
