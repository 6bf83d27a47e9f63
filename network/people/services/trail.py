"""The trail of who saw and changed what matters: written by services, read by organisers."""

import hmac
from datetime import timedelta
from uuid import UUID

from django.conf import settings
from django.db.models import Model
from django.utils import timezone

from network.people.core.actor import Actor
from network.people.models import Membership, TrailEntry

Act = TrailEntry.Act
_CODE_LETTERS = 12
# Whoever looks at the same thing again and again is noted once an hour.
_NOTED_AGAIN_AFTER = timedelta(hours=1)


def note(
    act: TrailEntry.Act,
    *,
    community_id: UUID,
    by_id: UUID | None,
    about_id: UUID | None = None,
    subject: Model | None = None,
) -> None:
    """Write down that something was done, in the transaction in which it is."""
    TrailEntry.objects.create(
        community_id=community_id,
        at=timezone.now(),
        act=act,
        by_id=by_id,
        by_code=code_of(by_id),
        about_id=about_id,
        about_code=code_of(about_id),
        subject=subject._meta.label_lower if subject else "",  # noqa: SLF001  # Django's own name
        subject_id=subject.pk if subject else None,
    )


def note_act(actor: Actor, act: TrailEntry.Act, subject: Model) -> None:
    """Write down what an actor did to a thing."""
    note(act, community_id=actor.community_id, by_id=actor.user_id, subject=subject)


def note_seen(actor: Actor, act: TrailEntry.Act, subject: Model) -> None:
    """Write down that an actor saw a thing, unless that was noted within the hour."""
    lately = TrailEntry.objects.filter(
        community_id=actor.community_id,
        act=act,
        by_id=actor.user_id,
        subject_id=subject.pk,
        at__gt=timezone.now() - _NOTED_AGAIN_AFTER,
    )
    if not lately.exists():
        note_act(actor, act, subject)


def note_everywhere(act: TrailEntry.Act, *, user_id: UUID) -> None:
    """Write down what a person did with their account, in each community they belong to."""
    held = Membership.objects.filter(user_id=user_id).order_by("community_id")
    for community_id in held.values_list("community_id", flat=True).distinct():
        note(act, community_id=community_id, by_id=user_id, about_id=user_id)


def code_of(user_id: UUID | None) -> str:
    """Return what stands for a person: the same for all they did, and not to be turned back."""
    if user_id is None:
        return ""
    keyed = hmac.digest(settings.SECRET_KEY.encode(), b"trail " + user_id.bytes, "sha256")
    return keyed.hex()[:_CODE_LETTERS]
