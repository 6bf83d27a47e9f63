"""What the services of this room share: the moment, replays, and refusals of the database."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import TypeVar
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from network.errors import DifferentBody, InvalidInput, MillraceError
from network.people.core.actor import Actor
from network.people.models import CommunityRow

CLOCKS_APART_MAX = timedelta(minutes=5)

R = TypeVar("R", bound=CommunityRow)


def moment(at: datetime | None, *, not_before: datetime | None = None) -> datetime:
    """Return when something happened: now, or as told by a phone that could not send at once.

    Raises InvalidInput for a moment still to come, or before the route was there. Clocks that are
    a few minutes apart are let be.
    """
    now = timezone.now()
    if at is None:
        return now
    if at > now + CLOCKS_APART_MAX:
        raise InvalidInput.of("at", "That moment is still to come.", "Set the clock of the phone.")
    if not_before is not None and at < not_before - CLOCKS_APART_MAX:
        raise InvalidInput.of(
            "at", "That is before the route was booked.", "Set the clock of the phone."
        )
    return at


def replayed(actor: Actor, model: type[R], row_id: UUID, **content: object) -> R | None:
    """Return the row that an earlier sending of the same thing made, or None when it is the first.

    Raises DifferentBody when the id stands for something else.
    """
    row = model._default_manager.filter(id=row_id).first()  # noqa: SLF001  # Django's own name
    if row is None:
        return None
    same = row.community_id == actor.community_id and all(
        getattr(row, name) == value for name, value in content.items()
    )
    if not same:
        raise DifferentBody
    return row


@contextmanager
def refused_by(constraint: str, refusal: MillraceError) -> Iterator[None]:
    """Turn a refusal of that constraint of the database into words for a person."""
    try:
        with transaction.atomic():
            yield
    except IntegrityError as error:
        diagnosis = getattr(error.__cause__, "diag", None)
        if getattr(diagnosis, "constraint_name", None) != constraint:
            raise
        raise refusal from error
