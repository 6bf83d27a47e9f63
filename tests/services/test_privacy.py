"""A person is erased without a trace, and without a gram; what has had its time is deleted."""

import os
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from allauth.account.models import EmailAddress
from django.conf import LazySettings
from django.contrib.sessions.backends.db import SessionStore
from django.core import mail
from django.test import Client
from django.utils import timezone

from api.models import Reply
from api.privacy.replies import forget_replies_to
from network.ids import new_id
from network.lots.models import Account, Movement
from network.notices.models import CalendarFeed, Notice
from network.people.models import Invitation, Membership, Role, User
from network.people.services import invite
from network.people.services.leaving import LastOrganiser
from network.places.models import Place, PlaceImport
from network.privacy.queries import data_about
from network.privacy.services import ERASED, delete_what_has_had_its_time, erase_person
from network.privacy.services.retention import DAYS_KEPT
from tests.factories import UserFactory, acting, member
from tests.scenario import Populated, populate
from tests.services.traces import traces_of

pytestmark = pytest.mark.django_db
NAME, ADDRESS = "Isolde Tamarisk-Öz", "isolde.tamarisk@example.org"


@pytest.fixture
def isle() -> Populated:
    return populate("isle")


def named(person: User) -> User:
    """Give a person a name and an address that stand nowhere else by chance."""
    person.name, person.email = NAME, ADDRESS
    person.save()
    EmailAddress.objects.create(user=person, email=ADDRESS, primary=True, verified=True)
    return person


def traces() -> list[str]:
    return traces_of(NAME, ADDRESS)


def ledger() -> list[tuple[UUID, int]]:
    return list(Account.objects.order_by("id").values_list("id", "balance_g"))


def lines() -> list[tuple[Any, ...]]:
    """Return the ledger's lines without who made them."""
    columns = [f.attname for f in Movement._meta.concrete_fields if f.name != "by"]
    return list(Movement.objects.order_by("id").values_list(*columns))


def leave_traces(isle: Populated, person: User) -> None:
    """Let the person and others write the name and address wherever they might."""
    client = Client()
    client.force_login(person)
    pending = SessionStore()
    pending["account_login_code"] = {"email": ADDRESS}
    pending.create()
    place = isle.round.places[0]
    Place.objects.filter(id=place.id).update(
        access_notes=f"Ask for {NAME} ({ADDRESS.upper()}) at the gate.", contact_phone="1"
    )
    Reply.objects.create(
        scope=str(person.id), key=new_id(), fingerprint="f", content={"user": {"name": NAME}}
    )
    Reply.objects.create(
        scope=str(new_id()), key=new_id(), fingerprint="f", content={"driver": {"name": NAME}}
    )


@pytest.mark.parametrize("role", [Role.CONTACT, Role.DRIVER, Role.MAKER])
def test_an_erased_person_leaves_no_trace_and_the_ledger_every_gram(
    isle: Populated, role: Role
) -> None:
    person = named(isle.people[role])
    leave_traces(isle, person)
    balances, movements = ledger(), lines()
    assert {"people_user.email", "account_emailaddress.email", "session"} <= set(traces())
    forget_replies_to(person.id)
    erase_person(user_id=person.id)
    assert traces() == []
    assert (ledger(), lines()) == (balances, movements)
    assert sum(balance_g for _, balance_g in balances) == 0
    assert not User.objects.filter(id=person.id).exists()
    place = Place.objects.get(id=isle.round.places[0].id)
    assert place.access_notes == f"Ask for {ERASED} ({ERASED}) at the gate."


def test_a_name_within_another_is_left_alone(isle: Populated) -> None:
    person = named(isle.people[Role.CONTACT])
    other = UserFactory.create(name="Isolde Tamarisk-Özdemir", email=f"x.{ADDRESS}")
    erase_person(user_id=person.id)
    other.refresh_from_db()
    assert (other.name, other.email) == ("Isolde Tamarisk-Özdemir", f"x.{ADDRESS}")


def test_a_name_of_one_word_is_not_taken_out_of_others_texts(isle: Populated) -> None:
    person = UserFactory.create(name="Visit")
    erase_person(user_id=person.id)
    assert Notice.objects.filter(title__startswith="A visit").exists()


def test_the_last_organiser_is_not_erased(isle: Populated) -> None:
    person = isle.people[Role.ORGANISER]
    with pytest.raises(LastOrganiser, match=isle.community.name):
        erase_person(user_id=person.id)
    assert Membership.objects.filter(user=person).exists()
    member(isle.community, Role.ORGANISER)
    erase_person(user_id=person.id)


def test_a_person_gets_all_that_is_held_about_them(isle: Populated) -> None:
    person = named(isle.people[Role.DRIVER])
    held = data_about(person.id, at=timezone.now())
    assert held["person"]["email"] == ADDRESS
    assert held["yours"]["people.membership"][0]["role"] == "driver"
    assert held["yours"]["account.emailaddress"][0]["email"] == ADDRESS
    assert held["yours"]["notices.notice"][0]["title"].startswith("A visit")
    acts = {(act["what"], act["as"]) for act in held["what_you_did"]}
    assert ("lots.movement", "by") in acts
    assert ("pickups.route", "driver") in acts
    assert all(act["at"] and act["community"] for act in held["what_you_did"])


def test_what_is_given_out_holds_no_secret(isle: Populated) -> None:
    person = isle.people[Role.CONTACT]
    person.set_password("a secret")
    person.save()
    feed = CalendarFeed.objects.get(owner=person)
    held = str(data_about(person.id, at=timezone.now()))
    assert str(feed.id) in held
    assert feed.token_sha256 not in held
    assert person.password not in held


def test_what_has_had_its_time_is_deleted_and_nothing_else(isle: Populated) -> None:
    now = timezone.now()
    organiser = acting(isle.community, Role.ORGANISER)
    kept, _ = invite(organiser, role="contact", valid_days=14, at=now)
    preview = PlaceImport.objects.get()
    PlaceImport.objects.update(created_at=now - timedelta(days=DAYS_KEPT["import_preview"] - 1))
    Invitation.objects.exclude(id=kept.id).update(
        used_at=now - timedelta(days=DAYS_KEPT["invitation"] + 1)
    )
    Notice.objects.update(created_at=now)
    read = Notice.objects.order_by("id").first()
    assert read is not None
    Notice.objects.filter(id=read.id).update(
        read_at=now - timedelta(days=DAYS_KEPT["read_notice"] + 1)
    )
    notices = Notice.objects.count()
    deleted = delete_what_has_had_its_time(at=now)
    assert deleted == {
        "invitations": 1,
        "notices": 1,
        "calendar_feeds": 0,
        "webhook_deliveries": 0,
        "imports": 0,
        "history_previews": 0,
        "trail": 0,
        "sessions": 0,
        "history_files": 0,
        "photos": 0,
        "mail_files": 0,
    }
    assert Invitation.objects.get() == kept
    assert Notice.objects.count() == notices - 1
    later = now + timedelta(days=2)
    assert delete_what_has_had_its_time(at=later)["imports"] == 1
    assert not PlaceImport.objects.filter(id=preview.id).exists()


def test_a_mail_that_was_kept_as_a_file_is_deleted_after_its_time(
    isle: Populated, settings: LazySettings, tmp_path: Path
) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path
    now = timezone.now()
    # A file is named after its second and connection, so two that are there at once are told apart.
    connections = [mail.get_connection() for _ in range(2)]
    for connection in connections:
        mail.send_mail("Visit", "On Monday.", None, ["wren@example.org"], connection=connection)
    old, young = sorted(tmp_path.iterdir())
    sent_s = (now - timedelta(days=DAYS_KEPT["mail_file"], minutes=1)).timestamp()
    os.utime(old, (sent_s, sent_s))
    assert delete_what_has_had_its_time(at=now)["mail_files"] == 1
    assert list(tmp_path.iterdir()) == [young]


def test_a_dead_session_is_deleted() -> None:
    now = timezone.now()
    session = SessionStore()
    session.set_expiry(-1)
    session.create()
    assert delete_what_has_had_its_time(at=now)["sessions"] == 1
