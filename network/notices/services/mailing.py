"""A notice goes out by e-mail, in text and HTML, once."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone
from procrastinate.contrib.django import app

from network.notices.models import Notice
from network.tongues import translated

MAIL = "network.notices.tasks.mail"


def queue_mail(notice_id: UUID, *, due_at: datetime) -> None:
    """Queue a notice's mail; the job is there only if the transaction that queues it commits."""
    app.configure_task(MAIL, queue="mail", schedule_at=due_at, allow_unknown=True).defer(
        notice_id=str(notice_id)
    )


@transaction.atomic
def mail_notice(*, notice_id: UUID) -> bool:
    """Mail a notice unless that was done, or it has gone; return whether it was mailed now.

    The row is locked meanwhile: of two workers one sends, the other finds it sent. A mail server
    that is down raises, and the notice stays to be mailed. Only a worker killed between the
    server's yes and the commit sends again, under the same Message-ID.
    """
    held = Notice.objects.select_for_update(of=("self",)).select_related("user", "community")
    notice = held.filter(id=notice_id, mailed_at__isnull=True).first()
    if notice is None or not notice.user.is_active:
        return False
    _message(notice).send()
    notice.mailed_at = timezone.now()
    notice.save(update_fields=["mailed_at"])
    return True


def _message(notice: Notice) -> EmailMultiAlternatives:
    words = _words(notice)
    message = EmailMultiAlternatives(
        subject=words["title"],
        body=render_to_string("notices/mail.txt", words),
        to=[notice.user.email],
        # The same however often it is tried; and no machine should answer it (RFC 3834 §5).
        headers={
            "Message-ID": f"<{notice.id}@{_sender_domain()}>",
            "Auto-Submitted": "auto-generated",
        },
    )
    message.attach_alternative(render_to_string("notices/mail.html", words), "text/html")
    return message


def _words(notice: Notice) -> dict[str, Any]:
    """Return what the mail says, in the language of whom it is for, and where its links lead."""
    language, name = notice.user.language, notice.user.name
    said = {
        "title": notice.title,
        "hello": f"Hello {name}," if name else "Hello,",
        "see": "See it in the app",
        "because": f"You get this because you have a role in {notice.community.name}.",
        "choose": "Choose what you are told, and how",
    }
    return {
        **{part: translated(words, language) for part, words in said.items()},
        "paragraphs": [translated(words, language) for words in notice.paragraphs],
        "language": language,
        "link": f"{settings.PUBLIC_ORIGIN}/#{notice.link}",
        "choices": f"{settings.PUBLIC_ORIGIN}/#/account",
    }


def _sender_domain() -> str:
    return settings.DEFAULT_FROM_EMAIL.rpartition("@")[2].rstrip(">")
