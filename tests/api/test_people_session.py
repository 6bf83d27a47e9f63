"""Signing up, in and out, and joining by a link, as a browser does it."""

import gzip
import re
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.core import mail
from django.core.cache import cache
from django.http import HttpResponse
from django.test import Client

from network.people.models import Membership, Role, User
from network.people.services import invite, sign_in_link_token
from tests.factories import (
    CommunityFactory,
    MakerFactory,
    OrganisationFactory,
    UserFactory,
    acting,
    member,
)

pytestmark = pytest.mark.django_db
AUTH = "/_allauth/browser/v1/auth"


@pytest.fixture
def visitor() -> Client:
    """A browser that sends the token of our pages, as the app does, and is checked for it."""
    cache.clear()  # the limits on how often a code is sent
    visitor = Client(enforce_csrf_checks=True)
    visitor.get("/api/v1/session/")
    return visitor


def send(browser: Client, path: str, body: object, *, method: str = "post", key: str = "") -> Any:
    headers = {"X-CSRFToken": browser.cookies["csrftoken"].value}
    if key:
        headers["Idempotency-Key"] = key
    return getattr(browser, method)(path, body, content_type="application/json", headers=headers)


def code_of_last_mail() -> str:
    found = re.search(r"^\d{6}$", str(mail.outbox[-1].body), re.MULTILINE)
    assert found is not None, mail.outbox[-1].body
    return found.group()


def session(browser: Client) -> Any:
    return browser.get("/api/v1/session/").json()


def test_a_stranger_has_a_session_without_a_person_and_a_token_for_our_pages() -> None:
    browser = Client()
    answer = browser.get("/api/v1/session/")
    assert answer.json() == {"user": None, "memberships": []}
    assert not answer.cookies["csrftoken"]["httponly"]


def test_a_new_person_signs_up_by_a_mailed_code_without_a_password(visitor: Client) -> None:
    answer = send(visitor, f"{AUTH}/signup", {"email": "Wren@example.org"})
    assert answer.status_code == HTTPStatus.UNAUTHORIZED  # one more step is pending
    assert session(visitor)["user"] is None
    answer = send(visitor, f"{AUTH}/email/verify", {"key": code_of_last_mail()})
    assert answer.status_code == HTTPStatus.OK, answer.content
    assert session(visitor)["user"]["email"] == "wren@example.org"
    assert not User.objects.get().has_usable_password()


def test_a_wrong_code_proves_no_address(visitor: Client) -> None:
    send(visitor, f"{AUTH}/signup", {"email": "wren@example.org"})
    wrong = "000000" if code_of_last_mail() != "000000" else "111111"
    answer = send(visitor, f"{AUTH}/email/verify", {"key": wrong})
    assert answer.status_code == HTTPStatus.BAD_REQUEST
    assert session(visitor)["user"] is None


def test_a_person_signs_in_by_a_mailed_code_and_out_again(visitor: Client) -> None:
    user = UserFactory.create()
    answer = send(visitor, f"{AUTH}/code/request", {"email": user.email.upper()})
    assert answer.status_code == HTTPStatus.UNAUTHORIZED
    answer = send(visitor, f"{AUTH}/code/confirm", {"code": code_of_last_mail()})
    assert answer.status_code == HTTPStatus.OK, answer.content
    assert session(visitor)["user"]["id"] == str(user.id)
    assert send(visitor, "/api/v1/session/", None, method="delete").status_code == 204
    assert session(visitor)["user"] is None


def test_asking_for_a_code_does_not_tell_whether_an_address_is_known(visitor: Client) -> None:
    UserFactory.create(email="known@example.org")
    known = send(visitor, f"{AUTH}/code/request", {"email": "known@example.org"})
    unknown = send(visitor, f"{AUTH}/code/request", {"email": "unknown@example.org"})
    assert known.status_code == unknown.status_code
    assert "no account" in str(mail.outbox[-1].body)


def test_signing_up_with_a_known_address_tells_only_its_owner(visitor: Client) -> None:
    UserFactory.create(email="known@example.org")
    answer = send(visitor, f"{AUTH}/signup", {"email": "known@example.org"})
    assert answer.status_code == HTTPStatus.UNAUTHORIZED
    assert "an account with that address already" in str(mail.outbox[-1].body)
    assert User.objects.count() == 1


def test_a_link_signs_in_once(visitor: Client) -> None:
    user = UserFactory.create()
    token = sign_in_link_token(user)
    answer = send(visitor, "/api/v1/session/link/", {"token": token})
    assert answer.json()["user"]["id"] == str(user.id)
    assert session(visitor)["user"]["id"] == str(user.id)
    spent = Client().post("/api/v1/session/link/", {"token": token}, "application/json")
    assert (spent.status_code, spent.json()["code"]) == (HTTPStatus.GONE, "expired")


def test_a_request_that_is_not_from_our_pages_is_refused(visitor: Client) -> None:
    visitor.force_login(UserFactory.create())
    answer = visitor.delete("/api/v1/session/")
    assert (answer.status_code, answer.json()["code"]) == (HTTPStatus.FORBIDDEN, "csrf_failed")
    assert session(visitor)["user"] is not None
    other = visitor.post(f"{AUTH}/code/request", {"email": "a@example.org"}, "application/json")
    assert other.headers["Content-Type"] == "application/problem+json"
    assert other.json()["errors"][0]["field"] == "X-CSRFToken"


def test_what_was_sent_with_the_token_from_before_a_sign_in_is_sent_again(visitor: Client) -> None:
    before = visitor.cookies["csrftoken"].value
    send(visitor, "/api/v1/session/link/", {"token": sign_in_link_token(UserFactory.create())})
    late = visitor.delete("/api/v1/session/", headers={"X-CSRFToken": before})
    # The code by which a device knows that it is to try again, rather than to ask a person.
    assert late.json()["code"] == "csrf_failed"
    assert late.json()["errors"][0]["field"] == "X-CSRFToken"
    send(visitor, "/api/v1/session/", {}, method="delete")
    assert session(visitor)["user"] is None


def test_a_session_tells_the_roles_held_in_every_community() -> None:
    user = UserFactory.create()
    maker = MakerFactory.create()
    member(maker.community, Role.DRIVER, maker, user)
    member(CommunityFactory.create(), Role.ORGANISER, None, user)
    member(maker.community, Role.ORGANISER)
    browser = Client()
    browser.force_login(user)
    held = session(browser)["memberships"]
    assert {(h["role"], h["organisation"] and h["organisation"]["name"]) for h in held} == {
        ("driver", maker.name),
        ("organiser", None),
    }


def an_invitation(**particulars: object) -> str:
    actor = acting(CommunityFactory.create(), Role.ORGANISER)
    given: dict[str, Any] = {"role": "contact", **particulars}
    return invite(actor, **given)[1]


def accept(browser: Client, token: str, body: object, key: str = "") -> HttpResponse:
    answer: HttpResponse = send(
        browser, f"/api/v1/invitations/{token}/accept/", body, key=key or str(uuid4())
    )
    return answer


def test_an_invited_contact_reads_the_invitation_joins_and_is_signed_in(visitor: Client) -> None:
    token = an_invitation(suggested_name="Sorrel School", suggested_kind="school")
    seen = visitor.get(f"/api/v1/invitations/{token}/").json()
    assert (seen["role"], seen["suggested_name"]) == ("contact", "Sorrel School")
    answer = accept(visitor, token, {"email": "wren@example.org", "name": "Wren"})
    assert answer.status_code == HTTPStatus.OK, answer.content
    (held,) = session(visitor)["memberships"]
    assert (held["role"], held["organisation"]["name"]) == ("contact", "Sorrel School")
    assert visitor.get(f"/api/v1/invitations/{token}/").status_code == HTTPStatus.GONE


def test_a_retry_of_accepting_signs_in_too_since_the_first_answer_may_be_lost() -> None:
    token = an_invitation(suggested_name="Sorrel School", suggested_kind="school")
    body = {"email": "wren@example.org", "name": "Wren"}
    key = str(uuid4())
    url = f"/api/v1/invitations/{token}/accept/"
    for browser in (Client(), Client()):  # the second lost what the first was given
        answer = browser.post(url, body, "application/json", headers={"Idempotency-Key": key})
        assert answer.status_code == HTTPStatus.OK
        assert session(browser)["user"]["email"] == "wren@example.org"
    assert Membership.objects.filter(role=Role.CONTACT).count() == 1


def test_an_address_with_an_account_must_sign_in_before_it_joins(visitor: Client) -> None:
    user = UserFactory.create()
    token = an_invitation(suggested_name="Sorrel School", suggested_kind="school")
    refused = accept(visitor, token, {"email": user.email, "name": "Not me"})
    assert refused.status_code == HTTPStatus.CONFLICT
    assert session(visitor)["user"] is None
    visitor.force_login(user)
    visitor.get("/api/v1/session/")
    assert accept(visitor, token, {"email": user.email}).status_code == HTTPStatus.OK


@pytest.fixture
def organiser() -> Client:
    community = CommunityFactory.create(slug="isle")
    browser = Client()
    browser.force_login(member(community, Role.ORGANISER))
    return browser


def test_an_organiser_invites_and_the_link_is_in_the_first_answer_only(organiser: Client) -> None:
    url = "/api/v1/communities/isle/invitations/"
    body = {"role": "contact", "suggested_name": "Quill Café", "suggested_kind": "cafe"}
    headers = {"Idempotency-Key": str(uuid4())}
    first = organiser.post(url, body, "application/json", headers=headers)
    assert first.status_code == HTTPStatus.CREATED, first.content
    assert Client().get(f"/api/v1/invitations/{first.json()['link']}/").status_code == HTTPStatus.OK
    again = organiser.post(url, body, "application/json", headers=headers).json()
    assert again == {**first.json(), "link": None}
    (listed,) = organiser.get(url).json()["results"]
    assert listed["link"] is None


def test_an_organiser_adds_districts_and_organisations(organiser: Client) -> None:
    here = "/api/v1/communities/isle"
    for path, body in (
        ("districts", {"name": "Port Sorrel"}),
        ("organisations", {"name": "Sorrel Press", "kind": "maker"}),
    ):
        key = str(uuid4())
        made = organiser.post(
            f"{here}/{path}/", body, "application/json", headers={"Idempotency-Key": key}
        )
        assert made.status_code == HTTPStatus.CREATED, made.content
        assert made.json()["id"] == key
        assert made.json() in organiser.get(f"{here}/{path}/").json()["results"]
    assert [d["name"] for d in Client().get(f"{here}/").json()["districts"]] == ["Port Sorrel"]


def test_the_key_of_a_thing_that_is_there_already_makes_no_other(organiser: Client) -> None:
    there = OrganisationFactory.create()
    answer = organiser.post(
        "/api/v1/communities/isle/organisations/",
        {"name": "Another", "kind": "school"},
        "application/json",
        headers={"Idempotency-Key": str(there.id)},
    )
    assert (answer.status_code, answer.json()["code"]) == (HTTPStatus.CONFLICT, "different_body")


def test_what_the_app_has_already_is_not_sent_again(organiser: Client) -> None:
    url = "/api/v1/communities/isle/"
    etag = organiser.get(url).headers["ETag"]
    assert organiser.get(url, headers={"If-None-Match": etag}).status_code == 304


def test_answers_are_compressed_and_known_again(organiser: Client) -> None:
    url, packed = "/api/v1/resins/", {"Accept-Encoding": "gzip"}
    answer = organiser.get(url, headers=packed)
    assert answer.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(answer.content) == organiser.get(url).content
    known = {**packed, "If-None-Match": answer.headers["ETag"]}
    assert organiser.get(url, headers=known).status_code == 304


def test_what_was_asked_before_a_sign_in_and_is_answered_after_takes_no_cookie_away(
    organiser: Client,
) -> None:
    late = Client()
    late.cookies["sessionid"] = organiser.cookies["sessionid"].value
    assert session(late)["user"] is not None
    signed_out = organiser.delete("/api/v1/session/")
    assert signed_out.cookies["sessionid"]["max-age"] == 0, "signing out takes it away"
    answer = late.get("/api/v1/session/")
    assert answer.json()["user"] is None
    assert "sessionid" not in answer.cookies
    assert "Cookie" in answer["Vary"]


def test_a_community_without_a_road_map_has_an_empty_one(organiser: Client) -> None:
    empty = organiser.get("/api/v1/communities/isle/road-map/").json()
    assert empty == {"type": "FeatureCollection", "features": []}


@pytest.mark.parametrize("closed", ["auth/login", "auth/password/request", "account/email"])
def test_there_is_no_way_in_by_password(visitor: Client, closed: str) -> None:
    answer = send(visitor, f"/_allauth/browser/v1/{closed}", {"email": "a@example.org"})
    assert answer.status_code == HTTPStatus.NOT_FOUND


def test_whoever_signed_up_by_a_code_says_what_they_are_called(visitor: Client) -> None:
    person = UserFactory.create(name="")
    visitor.force_login(person)
    answer = send(
        visitor, "/api/v1/account/", {"name": " Wren Alder "}, method="patch", key=str(uuid4())
    )
    assert answer.json()["name"] == "Wren Alder"
    assert session(visitor)["user"]["name"] == "Wren Alder"


def test_a_name_can_be_taken_back_and_an_address_not_changed_with_it(visitor: Client) -> None:
    person = UserFactory.create(name="Wren", email="wren@example.org")
    visitor.force_login(person)
    send(
        visitor,
        "/api/v1/account/",
        {"name": "", "email": "other@example.org"},
        method="patch",
        key=str(uuid4()),
    )
    person.refresh_from_db()
    assert (person.name, person.email) == ("", "wren@example.org")
