"""A person reads what they were told, and chooses what to be told."""

from typing import Any
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.utils import timezone

from network.ids import new_id
from network.notices.models import Notice
from network.people.models import Community, Role, User
from tests.factories import CommunityFactory, member

pytestmark = pytest.mark.django_db
HERE = "/api/v1/communities/isle"


@pytest.fixture
def isle() -> Community:
    community: Community = CommunityFactory.create(slug="isle", timezone="Europe/London")
    return community


@pytest.fixture
def person(isle: Community) -> User:
    return member(isle, Role.ORGANISER)


def told(isle: Community, user: User, kind: str = "week_summary") -> Notice:
    return Notice.objects.create(
        community=isle,
        user=user,
        kind=kind,
        event_id=new_id(),
        subject_id=new_id(),
        title="Isle, 23 February to 1 March",
        paragraphs=["7.4 kg were collected."],
        link="/organising",
        created_at=timezone.now(),
    )


def send(user: User, path: str, body: Any = None, *, method: str = "post") -> Any:
    client = Client()
    client.force_login(user)
    if method == "get":
        return client.get(f"{HERE}/{path}", body)
    return getattr(client, method)(
        f"{HERE}/{path}",
        body or {},
        content_type="application/json",
        headers={"Idempotency-Key": str(uuid4())},
    )


def ids(answer: Any) -> list[UUID]:
    return [UUID(notice["id"]) for notice in answer.json()["results"]]


def test_a_person_sees_their_own_notices_newest_first(isle: Community, person: User) -> None:
    first, second = told(isle, person), told(isle, person, "pickup_asked")
    another = member(isle, Role.ORGANISER)
    told(isle, another)
    assert ids(send(person, "notices/", method="get")) == [second.id, first.id]
    by_kind = send(person, "notices/", {"kind": "pickup_asked"}, method="get")
    assert ids(by_kind) == [second.id]


def test_a_notice_is_read_in_the_language_that_is_asked_for(isle: Community, person: User) -> None:
    notice = told(isle, person, "pickup_asked")
    Notice.objects.filter(id=notice.id).update(title="Quill Café asks for a visit")
    client = Client(headers={"Accept-Language": "de"})
    client.force_login(person)
    [shown] = client.get(f"{HERE}/notices/").json()["results"]
    assert shown["title"] == "Quill Café bittet um eine Abholung"


def test_what_is_read_is_no_longer_among_the_unread(isle: Community, person: User) -> None:
    first, second = told(isle, person), told(isle, person)
    answer = send(person, f"notices/{first.id}/read/")
    assert answer.status_code == 200, answer.content
    assert answer.json()["read_at"]
    assert ids(send(person, "notices/", {"unread": "true"}, method="get")) == [second.id]
    assert send(person, "notices/read/", {"until": str(second.id)}).json() == {"count": 1}
    assert ids(send(person, "notices/", {"unread": "true"}, method="get")) == []


def test_a_notice_of_another_person_is_not_there(isle: Community, person: User) -> None:
    theirs = told(isle, member(isle, Role.ORGANISER))
    assert send(person, f"notices/{theirs.id}/read/").status_code == 404
    refused = send(person, "notices/read/", {"until": str(theirs.id)})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "until"
    theirs.refresh_from_db()
    assert theirs.read_at is None


def test_whoever_chose_nothing_is_told_all_by_mail_but_not_at_night(person: User) -> None:
    choices = send(person, "notice-choices/", method="get").json()
    assert {way["kind"] for way in choices["ways"]} == set(Notice.Kind.values)
    assert {way["way"] for way in choices["ways"]} == {"email"}
    assert (choices["quiet_from"], choices["quiet_until"]) == ("21:00", "07:00")
    assert choices["timezone"] == "Europe/London"


def test_choices_are_kept(person: User) -> None:
    wish = {
        "ways": [{"kind": "pickup_done", "way": "none"}],
        "quiet_from": "18:30",
        "quiet_until": "08:00",
    }
    answer = send(person, "notice-choices/", wish, method="put")
    assert answer.status_code == 200, answer.content
    kept = send(person, "notice-choices/", method="get").json()
    assert kept == answer.json()
    ways = {way["kind"]: way["way"] for way in kept["ways"]}
    assert ways["pickup_done"] == "none"
    assert ways["pickup_booked"] == "email"
    assert kept["quiet_from"] == "18:30"


def test_a_kind_that_there_is_not_cannot_be_chosen(person: User) -> None:
    wish = {
        "ways": [{"kind": "gossip", "way": "email"}],
        "quiet_from": "21:00",
        "quiet_until": "07:00",
    }
    refused = send(person, "notice-choices/", wish, method="put")
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "ways[0].kind"
