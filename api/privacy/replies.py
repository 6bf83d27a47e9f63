"""The first answers to writes, which hold what they told: kept for a while, and no longer."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

from procrastinate.contrib.django import app

from api.models import Reply

DAYS_KEPT = 30


def forget_replies_to(user_id: UUID) -> None:
    """Delete the answers to a person's own writes."""
    Reply.objects.filter(scope=str(user_id)).delete()


def delete_old_replies(*, at: datetime) -> int:
    """Delete the answers that no phone will ask for again, and return how many."""
    count, _ = Reply.objects.filter(made_at__lt=at - timedelta(days=DAYS_KEPT)).delete()
    return count


@app.periodic(cron="43 2 * * *")
@app.task(name="api.privacy.replies.delete_old", queueing_lock="delete-old-replies")
def delete_old(timestamp: int) -> None:
    """Delete old answers each night."""
    delete_old_replies(at=datetime.fromtimestamp(timestamp, tz=UTC))
