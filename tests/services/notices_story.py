"""What happens is told: the clock stands where the story is, and queued jobs are done at once."""

from datetime import datetime
from uuid import UUID

import pytest
from procrastinate.contrib.django.models import ProcrastinateJob

from network.events import TELL
from network.notices.models import Notice
from network.notices.services import tell
from network.notices.services.mailing import MAIL


def stop_clock(monkeypatch: pytest.MonkeyPatch, at: datetime) -> None:
    """Let it be this moment for everything that asks Django for the time."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: at)


def tell_all() -> list[Notice]:
    """Do the queued jobs of events in their order, each once, and return the notices made."""
    made: list[Notice] = []
    for job in ProcrastinateJob.objects.filter(task_name=TELL).order_by("id"):
        sent = job.args
        made += tell(
            event=sent["event"],
            event_id=UUID(sent["event_id"]),
            community_id=UUID(sent["community_id"]),
            subject_id=UUID(sent["subject_id"]),
            at=datetime.fromisoformat(sent["at"]),
        )
    return made


def mails_queued() -> list[ProcrastinateJob]:
    """Return the queued jobs of mails, in their order."""
    return list(ProcrastinateJob.objects.filter(task_name=MAIL).order_by("id"))
