"""Signatures of webhooks as the Standard Webhooks specification has them (version 1.0.0)."""

import base64
import hashlib
import hmac

SECRET_PREFIX = "whsec_"  # noqa: S105  # what every such secret begins with


def secret_for(key: bytes, webhook_id: bytes) -> str:
    """Return the secret of a webhook, which follows from the server's key and is kept nowhere."""
    derived = hmac.digest(key, b"millrace webhook secret " + webhook_id, hashlib.sha256)
    return SECRET_PREFIX + base64.b64encode(derived).decode()


def signature(secret: str, *, message_id: str, timestamp_s: int, payload: bytes) -> str:
    """Return `v1,` and the HMAC-SHA256 in base64 over id, time and payload, with dots between."""
    key = base64.b64decode(secret.removeprefix(SECRET_PREFIX))
    signed = b".".join([message_id.encode(), str(timestamp_s).encode(), payload])
    return "v1," + base64.b64encode(hmac.digest(key, signed, hashlib.sha256)).decode()
