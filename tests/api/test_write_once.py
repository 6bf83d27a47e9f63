"""A write happens once, however often it is sent."""

import threading
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client

from api.models import Reply
from network.people.models import Community, District, Organisation, Role, User
from tests.api.walk import routes
from tests.factories import CommunityFactory, member

# Nothing is kept by these, or what they use up works once by itself.
WITHOUT_KEY = {
    ("session", "DELETE"): "signing out again changes nothing",
    ("session-link", "POST"): "a link works once, and signs in whoever holds it",
    ("account-erase", "POST"): "whoever is erased is signed out: nobody is there to ask again",
    ("evaluate", "POST"): "a computation: nothing is kept",
    ("identify", "POST"): "a computation: nothing is kept",
    ("sampling-plan", "POST"): "a computation: nothing is kept",
    ("colour-match", "POST"): "a computation: nothing is kept",
    ("recipe-mix", "POST"): "a computation: nothing is kept",
    ("heat-plan", "POST"): "a computation: nothing is kept",
    ("price", "POST"): "a computation: nothing is kept",
    ("seal-proof-check", "POST"): "a computation: nothing is kept",
}


def test_every_write_is_made_once_save_those_that_say_why() -> None:
    open_to_repeats = {
        (route.name, method)
        for route in routes()
        for method in route.methods
        if method != "GET" and not getattr(route.handler(method), "is_write_once", False)
    }
    assert open_to_repeats == set(WITHOUT_KEY), "Put @write_once on the method."


@pytest.fixture
def isle() -> Community:
    community: Community = CommunityFactory.create(slug="isle")
    return community


@pytest.fixture
def organiser(isle: Community) -> User:
    return member(isle, Role.ORGANISER)


@pytest.fixture
def client(organiser: User) -> Client:
    client = Client()
    client.force_login(organiser)
    return client


def add(client: Client, key: str | None, body: object, to: str = "districts") -> Any:
    headers = {} if key is None else {"Idempotency-Key": key}
    return client.post(
        f"/api/v1/communities/isle/{to}/", body, content_type="application/json", headers=headers
    )


@pytest.mark.django_db
def test_a_retry_gets_the_first_answer_and_changes_nothing(client: Client) -> None:
    key = str(uuid4())
    first = add(client, key, {"name": "Port Sorrel"})
    again = add(client, key, {"name": "Port Sorrel"})
    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()
    assert "Idempotent-Replay" not in first.headers
    assert again.headers["Idempotent-Replay"] == "true"
    assert District.objects.count() == Reply.objects.count() == 1


@pytest.mark.django_db
def test_the_order_of_parts_is_no_different_content(client: Client) -> None:
    key = str(uuid4())
    first = add(client, key, {"name": "Sorrel Press", "kind": "maker"}, "organisations")
    again = add(client, key, {"kind": "maker", "name": "Sorrel Press"}, "organisations")
    assert first.json() == again.json()
    assert Organisation.objects.count() == 1


@pytest.mark.django_db
def test_a_key_that_comes_with_other_content_is_refused(client: Client) -> None:
    key = str(uuid4())
    add(client, key, {"name": "Port Sorrel"})
    for body, to in (
        ({"name": "Nether Quill"}, "districts"),
        ({"name": "Port Sorrel", "kind": "school"}, "organisations"),
    ):
        refused = add(client, key, body, to)
        assert (refused.status_code, refused.json()["code"]) == (409, "different_body")
    assert District.objects.count() == 1
    assert not Organisation.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize("key", [None, "", "one", "0" * 31, "é"])
def test_a_write_without_a_usable_key_is_refused_by_the_header(
    client: Client, key: str | None
) -> None:
    refused = add(client, key, {"name": "Port Sorrel"})
    assert refused.status_code == 422
    (error,) = refused.json()["errors"]
    assert error["field"] == "Idempotency-Key"
    assert error["mend"]
    assert not District.objects.exists()


@pytest.mark.django_db
def test_a_refused_write_may_be_mended_under_the_same_key(client: Client) -> None:
    key = str(uuid4())
    assert add(client, key, {"name": ""}).status_code == 422
    assert not Reply.objects.exists()
    assert add(client, key, {"name": "Port Sorrel"}).status_code == 201


@pytest.mark.django_db
def test_a_key_is_one_persons_own(client: Client, isle: Community) -> None:
    key = str(uuid4())
    add(client, key, {"name": "Port Sorrel"})
    another = Client()
    another.force_login(member(isle, Role.ORGANISER))
    # The other's answer is not shown; the id is taken, so nothing is made either.
    refused = add(another, key, {"name": "Port Sorrel"})
    assert refused.status_code == 409
    assert refused.json().get("name") is None
    assert District.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_sendings_at_once_one_writes_and_both_get_its_answer(
    isle: Community, organiser: User
) -> None:
    key = str(uuid4())
    gate = threading.Barrier(2)
    answers: list[Any] = []

    def send() -> None:
        try:
            client = Client()
            client.force_login(organiser)
            gate.wait(timeout=10)
            answers.append(add(client, key, {"name": "Port Sorrel"}).json())
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 2
    assert answers[0] == answers[1]
    assert answers[0]["id"] == key
    assert District.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_writes_of_one_name_at_once_one_is_refused(isle: Community, organiser: User) -> None:
    gate = threading.Barrier(2)
    statuses: list[int] = []

    def send() -> None:
        try:
            client = Client()
            client.force_login(organiser)
            gate.wait(timeout=10)
            statuses.append(add(client, str(uuid4()), {"name": "Port Sorrel"}).status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [201, 409]
    assert District.objects.count() == 1
