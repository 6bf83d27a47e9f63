"""The first answers to writes, which hold what they told: a person who goes takes theirs along."""

from uuid import UUID

from api.models import Reply


def forget_replies_to(user_id: UUID) -> None:
    """Delete the answers to a person's own writes."""
    Reply.objects.filter(scope=str(user_id)).delete()
