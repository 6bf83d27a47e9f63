"""The server answers in the language that is asked for, and in English where it knows no other."""

from http import HTTPStatus
from uuid import uuid4

import pytest
from django.core import mail
from django.core.cache import cache
from django.test import Client

from tests.factories import UserFactory

pytestmark = pytest.mark.django_db
MISSING = "/api/v1/communities/no-such-place/"


@pytest.mark.parametrize(
    ("asked", "detail"),
    [
        ("de", "Diese Gemeinschaft gibt es nicht."),
        ("de-AT,de;q=0.8,en;q=0.5", "Diese Gemeinschaft gibt es nicht."),
        ("fr", "There is no such community."),
        ("", "There is no such community."),
    ],
)
def test_a_refusal_is_in_the_language_asked_for(asked: str, detail: str) -> None:
    person = Client()
    person.force_login(UserFactory.create())
    answer = person.get(MISSING, headers={"Accept-Language": asked})
    assert answer.status_code == HTTPStatus.NOT_FOUND
    assert answer.json()["detail"] == detail
    assert answer.json()["code"] == "not_found"


def test_caches_know_that_answers_differ_by_language() -> None:
    answer = Client().get("/api/v1/session/", headers={"Accept-Language": "de"})
    assert "Accept-Language" in answer["Vary"]


def test_a_code_is_mailed_in_the_language_asked_for() -> None:
    cache.clear()  # the limits on how often a code is sent
    person = UserFactory.create()
    asked = Client().post(
        "/_allauth/browser/v1/auth/code/request",
        {"email": person.email},
        content_type="application/json",
        headers={"Accept-Language": "de"},
    )
    assert asked.status_code == HTTPStatus.UNAUTHORIZED  # pending: the code is still to come
    (message,) = mail.outbox
    assert message.subject.endswith("Ihr Anmeldecode")
    assert "Ihr Code zum Anmelden:" in message.body


def test_only_a_language_that_is_spoken_is_chosen() -> None:
    person = UserFactory.create()
    browser = Client()
    browser.force_login(person)
    for language, status in (("de", HTTPStatus.OK), ("xx", HTTPStatus.UNPROCESSABLE_ENTITY)):
        answer = browser.patch(
            "/api/v1/account/",
            {"language": language},
            content_type="application/json",
            headers={"Idempotency-Key": str(uuid4())},
        )
        assert answer.status_code == status
    person.refresh_from_db()
    assert person.language == "de"
