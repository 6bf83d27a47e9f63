"""What is kept for a retry is not kept for ever."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone

from api.models import Reply
from api.tasks import KEEP_REPLIES_DAYS, forget


def a_reply(*, days_ago: float) -> Reply:
    reply = Reply.objects.create(scope="public", key=uuid4(), fingerprint="", status=201)
    Reply.objects.filter(key=reply.key).update(made_at=timezone.now() - timedelta(days=days_ago))
    return reply


@pytest.mark.django_db
def test_answers_are_kept_as_long_as_a_phone_may_try_again_and_then_forgotten() -> None:
    kept = a_reply(days_ago=KEEP_REPLIES_DAYS - 1)
    a_reply(days_ago=KEEP_REPLIES_DAYS + 1)
    forget(timestamp=0)
    assert [reply.key for reply in Reply.objects.all()] == [kept.key]


@pytest.mark.django_db
def test_a_session_that_expired_is_forgotten_and_an_open_one_is_not() -> None:
    now = timezone.now()
    for key, ends in (("over", now - timedelta(days=1)), ("open", now + timedelta(days=1))):
        Session.objects.create(session_key=key, session_data="", expire_date=ends)
    forget(timestamp=0)
    assert [session.session_key for session in Session.objects.all()] == ["open"]
