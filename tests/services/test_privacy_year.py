"""People with a long history are erased: no gram moves, and no trace of them is left anywhere.

`MILLRACE_HISTORY_WEEKS=52` lives through a year first, which takes minutes; it is a few weeks
otherwise.
"""

import os
from pathlib import Path
from typing import Any

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.conf import LazySettings
from django.contrib.sessions.backends.db import SessionStore
from django.db.models import Sum
from django.test import Client
from django.utils import timezone

from api.privacy.replies import forget_replies_to
from network.demo.scenario import SLUG
from network.demo.seed import seed_demo
from network.ids import new_id
from network.lots.models import Account, Movement
from network.notices.models import Notice
from network.notices.services import mail_notice
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community, Membership, Role, User
from network.people.queries import actor_in
from network.people.services import make_machine_token, name_person
from network.places.models import Place
from network.privacy.queries import data_about
from network.privacy.services import erase_person
from network.reports.queries import Selection, diverted
from tests.services.traces import traces_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("sizes_forgotten")]
WEEKS = int(os.environ.get("MILLRACE_HISTORY_WEEKS", "6"))
NAMES = {
    Role.CONTACT: "Isolde Tamarisk-Öz",
    Role.DRIVER: "Corin Vetchling",
    Role.MAKER: "Peregrine Sallow",
}


@pytest.fixture
def isle(settings: LazySettings, tmp_path: Path) -> Community:
    """The isle with its history, and a mail server that keeps what it is given as files."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    seed_demo(progress=lambda _words: None, weeks=WEEKS)
    return Community.objects.get(slug=SLUG)


def busiest(isle: Community, role: Role) -> User:
    """Return who of a role did the most."""
    people = User.objects.filter(memberships__community=isle, memberships__role=role).distinct()
    return max(people, key=lambda person: (Movement.objects.filter(by=person).count(), person.id))


def address_of(name: str) -> str:
    return f"{name.split(maxsplit=1)[0].lower()}@people.example"


def named(isle: Community, role: Role) -> User:
    """Give a person a name and an address that stand nowhere else by chance."""
    person = busiest(isle, role)
    person.email = address_of(NAMES[role])
    person.save()
    person = name_person(user_id=person.id, name=NAMES[role])
    EmailAddress.objects.create(user=person, email=person.email, primary=True, verified=True)
    return person


def live(isle: Community, person: User) -> None:
    """Leave what a year of signing in, being written to and being spoken of leaves."""
    Client(headers={"User-Agent": "Phone"}).force_login(person)
    pending = SessionStore()
    pending["account_login_code"] = {"email": person.email}
    pending.create()
    Authenticator.objects.create(
        user=person, type="webauthn", data={"name": f"Phone of {person.name}", "credential": {}}
    )
    actor = actor_in(community=isle, user_id=person.id)
    make_machine_token(actor, name=f"Scale of {person.name}", may_write=False, valid_days=9)
    notice = Notice.objects.create(
        community=isle,
        user=person,
        kind=Notice.Kind.PICKUP_DONE,
        event_id=new_id(),
        subject_id=new_id(),
        title="7.4 kg collected",
        paragraphs=[f"Thank you, {person.name}."],
        link="/places",
        created_at=timezone.now(),
    )
    assert mail_notice(notice_id=notice.id)


def speak_of(isle: Community, person: User) -> None:
    """Let somebody else name the person where it is natural to."""
    place = Place.objects.filter(community=isle).order_by("id").first()
    assert place is not None
    place.access_notes += f" Ask for {person.name} ({person.email})."
    place.save(update_fields=["access_notes"])


def sums(isle: Community) -> Any:
    """Return each balance, each line without who made it, and what is reported as diverted."""
    columns = [field.attname for field in Movement._meta.concrete_fields if field.name != "by"]
    whole = Actor(user_id=None, community_id=isle.id, organisations={ORGANISER: frozenset()})
    first = Movement.objects.order_by("at").values_list("at", flat=True)[0].date()
    selection = Selection(first_day=first, last_day=timezone.now().date())
    return (
        list(Account.objects.order_by("id").values_list("id", "balance_g")),
        list(Movement.objects.order_by("id").values_list(*columns)),
        diverted(whole, community=isle, selection=selection).total,
    )


def test_people_with_a_history_are_erased_without_a_gram_or_a_trace(
    isle: Community, django_capture_on_commit_callbacks: Any
) -> None:
    people = {role: named(isle, role) for role in NAMES}
    for person in people.values():
        live(isle, person)
        speak_of(isle, person)
    before = sums(isle)
    assert before[2].diverted_g > 0
    for role, person in people.items():
        name, address = person.name, person.email
        assert {"people_user.name", "places_place.access_notes", "session"} <= set(
            traces_of(name, address)
        )
        assert any(where.startswith("file ") for where in traces_of(address))
        assert data_about(person.id, at=timezone.now())["what_you_did"] or role == Role.CONTACT
        forget_replies_to(person.id)
        with django_capture_on_commit_callbacks(execute=True):
            erase_person(user_id=person.id)
        assert traces_of(name, address) == []
        assert not Membership.objects.filter(user_id=person.id).exists()
    assert sums(isle) == before
    assert Account.objects.aggregate(sum=Sum("balance_g"))["sum"] == 0
