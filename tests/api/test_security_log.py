"""Sign-ins and refusals are logged, without what an attacker could use of it."""

import logging
from uuid import uuid4

import pytest
from django.test import Client

from network.people.models import Role, User
from network.people.services import sign_in_link_token
from tests.factories import CommunityFactory, OrganisationFactory, UserFactory, member

pytestmark = pytest.mark.django_db


@pytest.fixture
def log(caplog: pytest.LogCaptureFixture) -> pytest.LogCaptureFixture:
    caplog.set_level(logging.INFO, logger="millrace.security")
    return caplog


def enter(client: Client, person: User) -> str:
    token = sign_in_link_token(person)
    client.post("/api/v1/session/link/", {"token": token}, content_type="application/json")
    return token


def test_signing_in_and_out_is_logged_by_id_and_without_the_link(
    log: pytest.LogCaptureFixture,
) -> None:
    person = UserFactory.create(email="wren@example.org")
    client = Client()
    token = enter(client, person)
    client.delete("/api/v1/session/")
    assert [line.split(",")[0] for line in log.messages] == [
        f"signed in: person {person.id}",
        f"signed out: person {person.id}",
    ]
    assert token not in log.text
    assert "wren" not in log.text


def test_a_refusal_is_logged_with_its_route_and_who_asked(
    log: pytest.LogCaptureFixture,
) -> None:
    isle = CommunityFactory.create(slug="isle")
    contact = member(isle, Role.CONTACT, OrganisationFactory.create(community=isle))
    client = Client()
    enter(client, contact)
    answer = client.post(
        "/api/v1/communities/isle/districts/",
        {"name": "Mine"},
        content_type="application/json",
        headers={"Idempotency-Key": str(uuid4())},
    )
    assert answer.status_code == 403
    Client().get("/api/v1/communities/isle/members/")
    assert [line.rpartition(", from")[0] for line in log.messages[1:]] == [
        f"refused 403: POST districts, person {contact.id}",
        "refused 401: GET members, person nobody",
    ]


def test_a_wrong_code_is_logged_and_not_what_was_typed(log: pytest.LogCaptureFixture) -> None:
    UserFactory.create(email="wren@example.org")
    client = Client()
    for step, body in (("request", {"email": "wren@example.org"}), ("confirm", {"code": "000000"})):
        path = f"/_allauth/browser/v1/auth/code/{step}"
        client.post(path, body, content_type="application/json")
    (line,) = log.messages
    assert line.startswith("refused 400: POST ")
    assert "ConfirmCodeView" in line
    assert "000000" not in line
