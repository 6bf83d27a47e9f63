"""What a worker does to tell people: each job can be begun again, and tells nobody twice."""

from datetime import UTC, datetime
from uuid import UUID

from procrastinate import BaseRetryStrategy, RetryDecision
from procrastinate.contrib.django import app
from procrastinate.jobs import Job

from network.events import TELL
from network.notices.services import announce_weeks, mail_notice, push_notice
from network.notices.services import deliver as deliver_to
from network.notices.services import tell as tell_of
from network.notices.services.mailing import MAIL
from network.notices.services.pushing import PUSH
from network.notices.services.webhooks import DELIVER

FIRST_WAIT_S = 60
LONGEST_WAIT_S = 3600
# With these waits a mail is tried for about three days.
TRIES_MAX = 78


class BackOff(BaseRetryStrategy):
    """Tries again after twice as long each time, up to an hour, for about three days."""

    def get_retry_decision(self, *, exception: BaseException, job: Job) -> RetryDecision | None:
        """Return when to try again, or None to give up."""
        del exception  # whatever it was, the mail server or the database may be back by then
        if job.attempts >= TRIES_MAX:
            return None
        doublings = min(job.attempts, 10)
        return RetryDecision(retry_in={"seconds": min(FIRST_WAIT_S * 2**doublings, LONGEST_WAIT_S)})


@app.task(name=TELL, queue="notices", retry=BackOff())
def tell(event: str, event_id: str, community_id: str, subject_id: str, at: str) -> None:
    """Make the notices of an event."""
    tell_of(
        event=event,
        event_id=UUID(event_id),
        community_id=UUID(community_id),
        subject_id=UUID(subject_id),
        at=datetime.fromisoformat(at),
    )


@app.task(name=MAIL, queue="mail", retry=BackOff())
def mail(notice_id: str) -> None:
    """Mail one notice."""
    mail_notice(notice_id=UUID(notice_id))


@app.task(name=PUSH, queue="push", retry=BackOff())
def push(push_id: str) -> None:
    """Send one notice to one device."""
    push_notice(push_id=UUID(push_id))


@app.task(name=DELIVER, queue="webhooks", retry=BackOff())
def deliver(delivery_id: str) -> None:
    """Tell one machine one thing."""
    deliver_to(delivery_id=UUID(delivery_id))


@app.periodic(cron="5 * * * *")
@app.task(name="network.notices.tasks.end_weeks", queueing_lock="end-weeks")
def end_weeks(timestamp: int) -> None:
    """Look each hour where it is Monday morning, and announce the week that ended."""
    announce_weeks(at=datetime.fromtimestamp(timestamp, tz=UTC))
