"""Tokens for machines: made for oneself, shown once, taken back at any time."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput, NotAllowed
from network.ids import new_id
from network.people.core.actor import Actor
from network.people.models import MachineToken
from network.people.queries import machine_tokens_of
from network.people.services.trail import Act, note_act
from network.rows import one_of
from network.tokens import hash_of, new_token, note_use

TOKEN_DAYS_MAX = 365
# Begins each token, so that one that is lost somewhere can be known for what it is.
TOKEN_PREFIX = "millrace_"  # noqa: S105  # no secret, but what each begins with
_NOTED_AGAIN_AFTER = timedelta(hours=1)


@transaction.atomic
def make_machine_token(
    actor: Actor,
    *,
    name: str,
    may_write: bool,
    valid_days: int,
    token_id: UUID | None = None,
    at: datetime | None = None,
) -> tuple[MachineToken, str]:
    """Make a token for a machine of one's own; return it with the secret, which is not kept.

    Raises NotAllowed for who holds no role here, InvalidInput for an odd number of days.
    """
    if actor.user_id is None or not actor.roles:
        raise NotAllowed("A machine acts for somebody who holds a role here.")
    if not 1 <= valid_days <= TOKEN_DAYS_MAX:
        raise InvalidInput.of(
            "valid_days",
            f"A token is valid for 1 to {TOKEN_DAYS_MAX} days.",
            "Choose a number of days in between.",
        )
    made_at = at or timezone.now()
    secret = TOKEN_PREFIX + new_token()
    token = MachineToken.objects.create(
        id=token_id or new_id(),
        community_id=actor.community_id,
        owner_id=actor.user_id,
        name=name,
        may_write=may_write,
        token_sha256=hash_of(secret),
        created_at=made_at,
        expires_at=made_at + timedelta(days=valid_days),
    )
    note_act(actor, Act.TOKEN_MADE, token)
    return token, secret


@transaction.atomic
def revoke_machine_token(actor: Actor, *, token_id: UUID) -> MachineToken:
    """Take a token back: it opens nothing from now on. Raises NotFound."""
    token = one_of(machine_tokens_of(actor), token_id, "There is no such token of yours.")
    token.revoked_at = timezone.now()
    token.save(update_fields=["revoked_at"])
    note_act(actor, Act.TOKEN_REVOKED, token)
    return token


def note_token_use(token: MachineToken, *, at: datetime) -> None:
    """Note that a token is in use, to the hour."""
    note_use(token, "last_used_at", at=at, not_within=_NOTED_AGAIN_AFTER)
