"""A write happens once: the client names it by a key, and a retry gets the first answer."""

import hashlib
import json
from collections.abc import Callable, Sequence
from datetime import datetime
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.db import connection, transaction
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.encoders import JSONEncoder
from rest_framework.views import APIView

from api.models import Reply
from network.errors import DifferentBody, InvalidInput
from network.places.models import Counter

HEADER = "Idempotency-Key"

_TAKE = """
INSERT INTO api_reply (scope, key, fingerprint, made_at) VALUES (%s, %s, %s, %s)
ON CONFLICT DO NOTHING"""

V = TypeVar("V", bound=APIView)
P = ParamSpec("P")
Handler = Callable[Concatenate[V, Request, P], Response]


def write_once(handler: Handler[V, P]) -> Handler[V, P]:
    """Run a view's write in one transaction, at most once for each key of a person.

    The view finds the key as `idempotency_key(request)`, and gives it to what it makes as its id.
    A refusal is not kept: nothing was saved, so the mended request may use the same key.
    Raises InvalidInput without a usable key, DifferentBody when a key comes with other content.
    """
    return _once(handler, ())


def write_once_without(*secrets: str) -> Callable[[Handler[V, P]], Handler[V, P]]:
    """Do as `write_once`, and keep none of the named secrets: a retry finds null in their place."""
    return lambda handler: _once(handler, secrets)


def _once(handler: Handler[V, P], secrets: Sequence[str]) -> Handler[V, P]:
    @wraps(handler)
    def once(view: V, request: Request, /, *args: P.args, **kwargs: P.kwargs) -> Response:
        key = idempotency_key(request)
        scope = _scope(request)
        with transaction.atomic():
            kept = Reply.objects.filter(scope=scope, key=key)
            if not _is_first(scope, key, _fingerprint(request)):
                return _again(kept.get(), request)
            response = handler(view, request, *args, **kwargs)
            content = _plain(response.data)
            if secrets:
                content.update(dict.fromkeys(secrets))
            kept.update(status=response.status_code, content=content)
            return response

    once.is_write_once = True  # type: ignore[attr-defined]  # read by the test of all writes
    return once


def _is_first(scope: str, key: UUID, fingerprint: str) -> bool:
    """Take a key, and say whether it was free.

    Of two requests at once the second waits here until the first has committed or failed.
    """
    with connection.cursor() as cursor:
        cursor.execute(_TAKE, [scope, key, fingerprint, timezone.now()])
        return bool(cursor.rowcount)


def _scope(request: Request) -> str:
    """Say whose key it is: a person's, a shared device's, or anybody's."""
    if isinstance(request.auth, Counter):
        return f"c:{request.auth.id}"
    return str(request.user.pk or "public")


def idempotency_key(request: Request) -> UUID:
    """Return the key of a write; raises InvalidInput naming the header."""
    try:
        return UUID(request.headers.get(HEADER, ""))
    except ValueError:
        raise InvalidInput.of(
            HEADER,
            f"The header {HEADER} is missing or is not a UUID.",
            "Make a UUIDv7 before sending, keep it, and send the same one when trying again.",
        ) from None


def forget_replies(*, before: datetime) -> int:
    """Delete the answers kept since before a time; return how many."""
    count, _ = Reply.objects.filter(made_at__lt=before).delete()
    return count


def _again(reply: Reply, request: Request) -> Response:
    if reply.fingerprint != _fingerprint(request):
        raise DifferentBody
    return Response(reply.content, status=reply.status, headers={"Idempotent-Replay": "true"})


def _fingerprint(request: Request) -> str:
    sent = json.dumps(request.data, sort_keys=True, default=_as_json)
    whole = f"{request.method} {request.get_full_path()}\n{sent}"
    return hashlib.sha256(whole.encode()).hexdigest()


def _plain(data: Any) -> Any:
    """Return data as JSON has it."""
    return json.loads(json.dumps(data, default=_as_json))


def _as_json(value: object) -> object:
    """Return what stands in JSON for a value that it does not have: for a file its digest."""
    if isinstance(value, UploadedFile):
        value.seek(0)
        digest = hashlib.sha256(value.read()).hexdigest()
        value.seek(0)
        return digest
    return JSONEncoder().default(value)
