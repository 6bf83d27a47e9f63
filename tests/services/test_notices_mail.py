"""Mails over a real SMTP server on loopback, which is not always there."""

import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from email.message import EmailMessage
from email.parser import BytesParser
from email.policy import default
from typing import cast

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session
from django.conf import LazySettings
from django.db import transaction
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from network.ids import new_id
from network.notices.models import Notice
from network.notices.services import mail_notice
from network.notices.services.mailing import queue_mail
from network.notices.tasks import BackOff
from network.people.models import User
from network.people.services import choose_language
from tests.factories import CommunityFactory, UserFactory
from tests.workers import empty_the_queue, running_worker, take_up_stalled

WAIT_S = 60
# A worker as `millrace worker` runs it, but that tries again at once, and deletes nothing old at
# night: what is told here is of last spring.
WORKER = """
import django
django.setup()
from procrastinate.contrib.django import app
from network.notices import tasks
from api.server import worker
app.periodic_registry.periodic_tasks.clear()
tasks.FIRST_WAIT_S = 0
worker.work()
"""

pytestmark = pytest.mark.django_db(transaction=True)


class Server:
    """Takes mail, unless it is told to refuse it or to be slow in answering."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.refusals = 0
        self.refuses = threading.Event()
        self.is_slow = threading.Event()
        self.has_begun = threading.Event()
        self.taken: list[EmailMessage] = []

    async def handle_RCPT(  # noqa: N802  # aiosmtpd's name
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        """Answer to the name of a recipient, as RFC 5321 §4.2.3 has it."""
        self.has_begun.set()
        if self.is_slow.is_set():
            await server.loop.create_future()  # until the sender has gone
        if self.refuses.is_set():
            self.refusals += 1
            return "451 Try again later"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(  # noqa: N802  # aiosmtpd's name
        self, server: SMTP, session: Session, envelope: Envelope
    ) -> str:
        """Take a whole message."""
        content = cast("bytes", envelope.content)
        self.taken.append(BytesParser(policy=default).parsebytes(content))
        return "250 Taken"

    @property
    def environment(self) -> dict[str, str]:
        """What tells a worker of this server."""
        return {
            "MILLRACE_SMTP_HOST": "127.0.0.1",
            "MILLRACE_SMTP_PORT": str(self.port),
            "MILLRACE_SMTP_TLS": "0",
        }


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listening:
        port: int = listening.getsockname()[1]
        return port


@pytest.fixture
def server(settings: LazySettings) -> Iterator[Server]:
    empty_the_queue()
    handler = Server(free_port())
    controller = Controller(handler, hostname="127.0.0.1", port=handler.port)
    controller.start()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", handler.port
    settings.EMAIL_USE_TLS = False
    yield handler
    controller.stop()


def a_notice(user: User | None = None, **changes: object) -> Notice:
    facts = {
        "community": CommunityFactory.create(name="Tamsin Isle"),
        "user": user or UserFactory.create(name="Wren & Co", email="wren@example.org"),
        "kind": Notice.Kind.PICKUP_BOOKED,
        "event_id": new_id(),
        "subject_id": new_id(),
        "title": "Sorrel Yard comes to Quill Café on Monday 2 March",
        "paragraphs": ["The van is expected about 08:10 <on time>."],
        "link": "/places/1/visits",
        "created_at": timezone.now(),
        "mail_due_at": timezone.now(),
    }
    return Notice.objects.create(**{**facts, **changes})


def queued(count: int) -> list[Notice]:
    notices = [a_notice(user=UserFactory.create()) for _ in range(count)]
    for notice in notices:
        queue_mail(notice.id, due_at=timezone.now())
    return notices


def wait_until(condition: Callable[[], bool]) -> None:
    """Wait for something that another process does; fail rather than hang."""
    deadline_s = time.monotonic() + WAIT_S
    while not condition():
        if time.monotonic() > deadline_s:
            pytest.fail(f"It did not come to that in {WAIT_S} s.")
        time.sleep(0.05)


def all_succeeded() -> bool:
    return not ProcrastinateJob.objects.exclude(status="succeeded").exists()


def test_a_mail_reads_well_as_text_and_as_html(server: Server) -> None:
    assert mail_notice(notice_id=a_notice().id)
    (message,) = server.taken
    assert message["Subject"] == "Sorrel Yard comes to Quill Café on Monday 2 March"
    assert message["To"] == "wren@example.org"
    assert message["Auto-Submitted"] == "auto-generated"
    text, html = (part.get_content().replace("\r\n", "\n") for part in message.iter_parts())
    assert text.startswith("Hello Wren & Co,\n")
    assert "The van is expected about 08:10 <on time>." in text
    assert "/#/places/1/visits" in text
    assert "Hello Wren &amp; Co," in html
    assert "about 08:10 &lt;on time&gt;." in html
    assert "Tamsin Isle" in html


def test_a_mail_is_written_in_the_language_of_whom_it_is_for(server: Server) -> None:
    reader = UserFactory.create(name="Wren & Co", email="wren@example.org")
    choose_language(user_id=reader.id, language="de")
    notice = a_notice(
        user=reader, paragraphs=["The van is expected about 08:10 on Monday 2 March."]
    )
    assert mail_notice(notice_id=notice.id)
    (message,) = server.taken
    assert message["Subject"].strip() == "Sorrel Yard kommt zu Quill Café: Montag, 2. März"
    text, html = (part.get_content().replace("\r\n", "\n") for part in message.iter_parts())
    assert text.startswith("Guten Tag Wren & Co,\n")
    assert "Der Transporter wird gegen 08:10 erwartet: Montag, 2. März." in text
    assert '<html lang="de">' in html


def test_a_mail_goes_out_once_however_often_its_job_is_done(server: Server) -> None:
    notice = a_notice()
    assert [mail_notice(notice_id=notice.id) for _ in range(3)] == [True, False, False]
    assert len(server.taken) == 1


def test_nobody_is_written_to_who_has_gone(server: Server) -> None:
    gone = UserFactory.create(is_active=False)
    assert not mail_notice(notice_id=a_notice(user=gone).id)
    assert not mail_notice(notice_id=new_id())
    assert not server.taken


def test_a_mail_whose_notice_was_never_saved_is_never_sent(server: Server) -> None:
    slip = "a slip"

    def tell_and_slip() -> None:
        with transaction.atomic():
            queued(1)
            raise ValueError(slip)

    with pytest.raises(ValueError, match=slip):
        tell_and_slip()
    assert not ProcrastinateJob.objects.exists()


def test_each_mail_arrives_once_after_the_server_refused_for_a_while(server: Server) -> None:
    notices = queued(3)
    server.refuses.set()
    with running_worker(WORKER, **server.environment):
        wait_until(lambda: server.refusals >= 5)
        assert not Notice.objects.filter(mailed_at__isnull=False).exists()
        server.refuses.clear()
        wait_until(all_succeeded)
    assert sorted(message["To"] for message in server.taken) == sorted(
        notice.user.email for notice in notices
    )
    assert len({message["Message-ID"] for message in server.taken}) == 3


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is Unix's")
def test_a_mail_whose_worker_is_killed_while_sending_arrives_once(server: Server) -> None:
    queued(1)
    server.is_slow.set()
    with running_worker(WORKER, **server.environment) as first:
        wait_until(server.has_begun.is_set)
        first.kill()
    server.is_slow.clear()
    take_up_stalled(silent_s_max=0)
    with running_worker(WORKER, **server.environment):
        wait_until(all_succeeded)
    assert len(server.taken) == 1


def test_waits_double_up_to_an_hour_and_end_after_about_three_days() -> None:
    waits_s: list[float] = []
    tries = BackOff()
    job = ProcrastinateJob(attempts=0)
    while decision := tries.get_retry_decision(exception=OSError(), job=job):  # type: ignore[arg-type]  # has its attempts
        assert decision.retry_at is not None
        waits_s.append((decision.retry_at - timezone.now()).total_seconds())
        job.attempts += 1
    assert [round(wait_s, -1) for wait_s in waits_s[:7]] == [60, 120, 240, 480, 960, 1920, 3600]
    assert 3 <= sum(waits_s) / 86400 < 3.1
