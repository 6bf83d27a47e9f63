"""An event becomes notices, and for whoever wants it a mail that is due when the night is over."""

from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone

from network.events import Event
from network.notices.core.quiet import due_at
from network.notices.models import Notice, NoticeChoice
from network.notices.queries import choice_of, way_of
from network.notices.services.mailing import queue_mail
from network.notices.services.news import News, news_of
from network.notices.services.pushing import queue_pushes
from network.notices.services.webhooks import queue_deliveries
from network.people.models import Community, User


@transaction.atomic
def tell(
    *, event: str, event_id: UUID, community_id: UUID, subject_id: UUID, at: datetime
) -> list[Notice]:
    """Tell everyone whom an event concerns, and return the notices made; again makes none.

    The job of each mail and machine is queued in the same transaction.
    """
    community = Community.objects.get(id=community_id)
    news = news_of(Event(event), community=community, subject_id=subject_id, at=at)
    queue_deliveries(
        Event(event), event_id=event_id, community=community, subject_id=subject_id, at=at
    )
    made = [tell_one(community, event_id, one, person) for one in news for person in one.people]
    return [notice for notice in made if notice is not None]


def tell_one(community: Community, event_id: UUID, news: News, person: User) -> Notice | None:
    """Tell one person as they chose; None where they want to hear nothing, or have."""
    choice = choice_of(community.id, person.id)
    way = way_of(choice, news.kind)
    if way == NoticeChoice.Way.NONE:
        return None
    now = timezone.now()
    due_at = _due_at(choice, community, now)
    notice, is_new = Notice.objects.get_or_create(
        community=community,
        user=person,
        event_id=event_id,
        subject_id=news.subject_id,
        defaults={
            "kind": news.kind,
            "title": news.letter.title,
            "paragraphs": list(news.letter.paragraphs),
            "link": news.letter.link,
            "created_at": now,
            "mail_due_at": due_at if way == NoticeChoice.Way.EMAIL else None,
        },
    )
    if not is_new:
        return None
    _send_out(notice, way, due_at)
    return notice


def _send_out(notice: Notice, way: str, due_at: datetime) -> None:
    """Queue what is sent besides the list; who chose devices and has none is written to."""
    if way == NoticeChoice.Way.PUSH and not queue_pushes(notice, due_at=due_at):
        notice.mail_due_at = due_at
        notice.save(update_fields=["mail_due_at"])
    if notice.mail_due_at is not None:
        queue_mail(notice.id, due_at=notice.mail_due_at)


def _due_at(choice: NoticeChoice, community: Community, now: datetime) -> datetime:
    return due_at(
        now,
        zone=ZoneInfo(community.timezone),
        quiet_from=choice.quiet_from,
        quiet_until=choice.quiet_until,
    )
