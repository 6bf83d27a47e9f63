"""A person has read what they were told."""

from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput
from network.notices.models import Notice
from network.notices.queries import notice_for, notices_for
from network.people.core.actor import Actor


@transaction.atomic
def mark_read(actor: Actor, *, notice_id: UUID) -> Notice:
    """Mark a notice as read; again changes nothing. Raises NotFound."""
    notice = notice_for(actor, notice_id)
    if notice.read_at is None:
        notice.read_at = timezone.now()
        notice.save(update_fields=["read_at"])
    return notice


def mark_all_read(actor: Actor, *, until: UUID) -> int:
    """Mark as read all notices up to the newest that the person saw; return how many were not.

    Raises InvalidInput for a notice that they were not told.
    """
    if not notices_for(actor).filter(id=until).exists():
        raise InvalidInput.of("until", "You were not told that.", "Send the newest that was shown.")
    unread = notices_for(actor).filter(read_at__isnull=True, id__lte=until)
    return unread.update(read_at=timezone.now())
