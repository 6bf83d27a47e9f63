"""Secrets that open something: drawn, kept as a hash only, and noted when they are used."""

import hashlib
import secrets
from datetime import datetime, timedelta

from django.db.models import Model

TOKEN_BYTES = 32


def new_token() -> str:
    """Draw a token that nobody guesses, to be shown once."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def hash_of(token: str) -> str:
    """Return what is kept of a token: the link itself cannot be had from it."""
    return hashlib.sha256(token.encode()).hexdigest()


def note_use(opened: Model, field: str, *, at: datetime, not_within: timedelta) -> None:
    """Write down when something was used last, unless that was noted lately."""
    last: datetime | None = getattr(opened, field)
    if last is None or last < at - not_within:
        type(opened)._default_manager.filter(pk=opened.pk).update(**{field: at})  # noqa: SLF001  # Django's own name
