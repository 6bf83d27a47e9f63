"""A passkey is another way in, never the only one; each is its person's own."""

import re
from typing import Any

import pytest
from allauth.mfa.models import Authenticator
from django.core import mail
from django.core.cache import cache
from django.test import Client

from network.people.models import User
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db
AUTH = "/_allauth/browser/v1"
PASSKEYS = f"{AUTH}/account/authenticators/webauthn"


@pytest.fixture(autouse=True)
def fresh_limits() -> None:
    cache.clear()


def with_passkey(user: User) -> Authenticator:
    passkey: Authenticator = Authenticator.objects.create(
        user=user, type="webauthn", data={"name": "Phone", "credential": {}}
    )
    return passkey


def send(client: Client, path: str, body: Any, method: str = "post") -> Any:
    return getattr(client, method)(path, body, content_type="application/json")


def test_whoever_lost_a_passkey_still_comes_in_by_the_code() -> None:
    wren = UserFactory.create(email="wren@example.org")
    with_passkey(wren)
    browser = Client()
    send(browser, f"{AUTH}/auth/code/request", {"email": wren.email})
    code = re.search(r"^\d{6}$", str(mail.outbox[-1].body), re.MULTILINE)
    assert code is not None
    answer = send(browser, f"{AUTH}/auth/code/confirm", {"code": code.group()})
    assert answer.status_code == 200, answer.content
    assert browser.get("/api/v1/session/").json()["user"]["email"] == wren.email


def test_a_stranger_adds_no_passkey() -> None:
    assert Client().get(PASSKEYS).status_code == 401


def test_a_second_passkey_is_added_only_with_the_first_at_hand() -> None:
    wren = UserFactory.create()
    browser = Client()
    browser.force_login(wren)
    assert browser.get(PASSKEYS).status_code == 200
    with_passkey(wren)
    assert browser.get(PASSKEYS).status_code == 401


def test_nobody_takes_away_anothers_passkey() -> None:
    theirs = with_passkey(UserFactory.create())
    browser = Client()
    browser.force_login(UserFactory.create())
    send(browser, PASSKEYS, {"authenticators": [theirs.pk]}, method="delete")
    assert Authenticator.objects.filter(pk=theirs.pk).exists()


def test_a_made_up_answer_of_an_authenticator_opens_nothing() -> None:
    browser = Client()
    browser.get(f"{AUTH}/auth/webauthn/login")
    made_up = {"credential": {"id": "AA", "rawId": "AA", "type": "public-key", "response": {}}}
    assert send(browser, f"{AUTH}/auth/webauthn/login", made_up).status_code == 400
    assert browser.get("/api/v1/session/").json()["user"] is None
