"""What the API forgets, each night."""

from datetime import timedelta

from django.contrib.sessions.models import Session
from django.utils import timezone
from procrastinate.contrib.django import app

from api.idempotency import forget_replies

# A phone that found no signal for so long asks its person before it sends again.
KEEP_REPLIES_DAYS = 90


@app.periodic(cron="29 3 * * *")
@app.task(name="api.tasks.forget", queueing_lock="forget-replies")
def forget(timestamp: int) -> None:
    """Delete the kept answers to writes of long ago, and sessions that have expired."""
    del timestamp  # the queue passes the night it is for
    now = timezone.now()
    forget_replies(before=now - timedelta(days=KEEP_REPLIES_DAYS))
    Session.objects.filter(expire_date__lt=now).delete()
