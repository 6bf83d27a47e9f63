"""One's own data as a file, erasure, and going: over the API."""

import threading
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client

from network.people.models import Community, Membership, Role, User
from tests.factories import CommunityFactory, OrganisationFactory, UserFactory, member


@pytest.fixture
def isle() -> Community:
    community: Community = CommunityFactory.create(slug="isle", name="Isle")
    return community


def browser(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


def send(client: Client, path: str, body: object = None) -> Any:
    return client.post(
        f"/api/v1/{path}",
        body or {},
        content_type="application/json",
        headers={"Idempotency-Key": str(uuid4())},
    )


@pytest.mark.django_db
def test_a_person_downloads_their_data(isle: Community) -> None:
    person = member(isle, Role.ORGANISER)
    answer = browser(person).get("/api/v1/account/data/")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="my-data.json"'
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.json()["person"]["email"] == person.email


@pytest.mark.django_db
def test_a_person_erases_themselves_by_typing_their_address(isle: Community) -> None:
    person = member(isle, Role.CONTACT, OrganisationFactory.create(community=isle))
    client, elsewhere = browser(person), browser(person)
    refused = send(client, "account/erase/", {"email": "another@example.org"})
    assert (refused.status_code, refused.json()["errors"][0]["field"]) == (422, "email")
    assert send(client, "account/erase/", {"email": person.email.upper()}).status_code == 204
    assert not User.objects.filter(id=person.id).exists()
    for device in (client, elsewhere):
        assert device.get("/api/v1/session/").json()["user"] is None


@pytest.mark.django_db
def test_a_contact_leaves_a_community_and_no_other(isle: Community) -> None:
    person = member(isle, Role.CONTACT, OrganisationFactory.create(community=isle))
    other = CommunityFactory.create()
    member(other, Role.ORGANISER, user=person)
    assert send(browser(person), "communities/isle/leave/").status_code == 204
    assert [held.community for held in Membership.objects.filter(user=person)] == [other]


@pytest.mark.django_db
def test_the_last_organiser_stays_until_the_role_is_passed_on(isle: Community) -> None:
    person = member(isle, Role.ORGANISER)
    client = browser(person)
    for path, body in (
        ("communities/isle/leave/", {}),
        ("account/erase/", {"email": person.email}),
        (f"communities/isle/memberships/{Membership.objects.get().id}/end/", {}),
    ):
        refused = send(client, path, body)
        assert (refused.status_code, refused.json()["code"]) == (409, "last_organiser")
        assert "Isle" in refused.json()["detail"]
    heir = member(isle, Role.CONTACT, OrganisationFactory.create(community=isle))
    answer = send(client, "communities/isle/organiser/pass-on/", {"user_id": str(heir.id)})
    assert answer.json()["user"]["id"] == str(heir.id)
    held = Membership.objects.filter(community=isle, role=Role.ORGANISER)
    assert [membership.user for membership in held] == [heir]


@pytest.mark.django_db
def test_the_role_is_passed_on_to_a_member_only(isle: Community) -> None:
    person = member(isle, Role.ORGANISER)
    for stranger in (person, UserFactory.create()):
        body = {"user_id": str(stranger.id)}
        refused = send(browser(person), "communities/isle/organiser/pass-on/", body)
        assert (refused.status_code, refused.json()["errors"][0]["field"]) == (422, "user_id")


@pytest.mark.django_db
def test_an_organiser_ends_a_role(isle: Community) -> None:
    person = member(isle, Role.ORGANISER)
    member(isle, Role.CONTACT, OrganisationFactory.create(community=isle))
    role = Membership.objects.get(role=Role.CONTACT)
    elsewhere = browser(member(CommunityFactory.create(slug="elsewhere"), Role.ORGANISER))
    path = f"memberships/{role.id}/end/"
    assert send(elsewhere, f"communities/elsewhere/{path}").status_code == 404
    assert send(browser(person), f"communities/isle/{path}").status_code == 204
    assert not Membership.objects.filter(role=Role.CONTACT).exists()


@pytest.mark.django_db(transaction=True)
def test_of_two_organisers_who_leave_at_once_one_stays(isle: Community) -> None:
    people = [member(isle, Role.ORGANISER) for _ in range(2)]
    gate = threading.Barrier(2)
    statuses: list[int] = []

    def leave(person: User) -> None:
        try:
            client = browser(person)
            gate.wait(timeout=10)
            statuses.append(send(client, "communities/isle/leave/").status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=leave, args=(person,)) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [204, 409]
    assert Membership.objects.filter(role=Role.ORGANISER).count() == 1
