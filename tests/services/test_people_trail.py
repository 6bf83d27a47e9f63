"""Who saw and changed what matters is written down, is not changed, and names nobody erased."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.utils import timezone

from network.ids import new_id
from network.lots.services import seal_period
from network.notices.services import make_feed, make_webhook, revoke_feed, stop_webhook
from network.people.core.actor import Actor
from network.people.models import Membership, Role, TrailEntry, User
from network.people.queries import trail_seen_by
from network.people.services import (
    end_membership,
    grant_role,
    invite,
    make_machine_token,
    revoke_machine_token,
)
from network.people.services.trail import Act, code_of
from network.pickups import services as pickups
from network.pickups.models import Photo
from network.places.models import Agreement, Place
from network.places.services import end_agreement
from network.privacy.services import delete_what_has_had_its_time, erase_person
from tests.factories import UserFactory, acting, member
from tests.scenario import Populated, populate
from tests.services.pickups_story import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def isle() -> Populated:
    return populate("isle")


def actor(isle: Populated, role: Role) -> Actor:
    user = isle.people[role]
    held = Membership.objects.filter(user=user, organisation__isnull=False)
    ids = frozenset(held.values_list("organisation_id", flat=True))
    return Actor(user_id=user.id, community_id=isle.community.id, organisations={role.value: ids})


def reads(isle: Populated, role: Role, path: str) -> Any:
    client = Client()
    client.force_login(isle.people[role])
    answer = client.get(f"/api/v1/{path}")
    assert answer.status_code == 200, answer.content
    return answer


def last(act: TrailEntry.Act) -> TrailEntry:
    entry = TrailEntry.objects.filter(act=act).order_by("id").last()
    assert entry is not None, f"Nothing was noted of {act}."
    return entry


def a_token(isle: Populated) -> None:
    maker = actor(isle, Role.MAKER)
    token, _ = make_machine_token(maker, name="Scale", may_write=False, valid_days=1)
    revoke_machine_token(maker, token_id=token.id)


def a_feed(isle: Populated) -> None:
    contact = actor(isle, Role.CONTACT)
    feed, _ = make_feed(contact, place_id=isle.round.places[0].id)
    revoke_feed(contact, feed_id=feed.id)


def a_webhook(isle: Populated) -> None:
    maker = actor(isle, Role.MAKER)
    webhook, _ = make_webhook(maker, name="Scale", url="https://hooks.example/")
    stop_webhook(maker, webhook_id=webhook.id)


def a_photo_removed(isle: Populated) -> None:
    photo = Photo.objects.get(community=isle.community)
    pickups.remove_photo(actor(isle, Role.DRIVER), photo_id=photo.id)


def an_agreement_ended(isle: Populated) -> None:
    agreement = Agreement.objects.filter(place=isle.round.places[0]).get()
    end_agreement(actor(isle, Role.MAKER), agreement_id=agreement.id, ends_on=MONDAY)


def a_role_ended(isle: Populated) -> None:
    held = Membership.objects.get(user=isle.people[Role.DRIVER])
    end_membership(actor(isle, Role.ORGANISER), membership_id=held.id)


CHANGES: list[tuple[Callable[[Populated], None], Role, list[TrailEntry.Act]]] = [
    (a_token, Role.MAKER, [Act.TOKEN_MADE, Act.TOKEN_REVOKED]),
    (a_feed, Role.CONTACT, [Act.FEED_MADE, Act.FEED_REVOKED]),
    (a_webhook, Role.MAKER, [Act.WEBHOOK_MADE, Act.WEBHOOK_STOPPED]),
    (a_photo_removed, Role.DRIVER, [Act.PHOTO_REMOVED]),
    (an_agreement_ended, Role.MAKER, [Act.AGREEMENT_ENDED]),
    (a_role_ended, Role.ORGANISER, [Act.ROLE_ENDED]),
]


@pytest.mark.parametrize(("do", "role", "acts"), CHANGES, ids=str)
def test_what_was_changed_and_by_whom_is_noted(
    isle: Populated, do: Callable[[Populated], None], role: Role, acts: list[TrailEntry.Act]
) -> None:
    do(isle)
    for act in acts:
        assert last(act).by_id == isle.people[role].id


def test_closing_a_period_publishing_rules_and_inviting_are_noted(isle: Populated) -> None:
    organiser = actor(isle, Role.ORGANISER)
    seal = seal_period(organiser, seal_id=new_id(), last_day=MONDAY + timedelta(days=1))
    assert last(Act.PERIOD_SEALED).subject_id == seal.id
    invitation, _ = invite(organiser, role="contact", valid_days=14)
    assert last(Act.INVITED).subject_id == invitation.id


def test_who_got_a_role_and_from_whom_is_noted(isle: Populated) -> None:
    person = member(isle.community, Role.ORGANISER)
    assert not TrailEntry.objects.filter(about=person).exists(), "The factory is no service."
    heir = UserFactory.create()
    grant_role(actor(isle, Role.ORGANISER), user=heir, role="organiser")
    entry = last(Act.ROLE_GRANTED)
    assert (entry.by_id, entry.about_id) == (isle.people[Role.ORGANISER].id, heir.id)


def test_who_saw_how_to_reach_a_place_is_noted_once_an_hour(isle: Populated) -> None:
    place = isle.round.places[0]
    Place.objects.filter(id=place.id).update(contact_phone="0000 000000")
    for _ in range(2):
        reads(isle, Role.ORGANISER, f"communities/isle/places/{place.id}/")
    seen = TrailEntry.objects.filter(act=Act.CONTACT_SEEN, subject_id=place.id)
    assert [entry.by_id for entry in seen] == [isle.people[Role.ORGANISER].id]
    reads(isle, Role.CONTACT, f"communities/isle/places/{place.id}/")
    assert seen.count() == 1, "One's own place is no news."


def test_who_saw_a_photo_the_members_or_their_own_data_is_noted(isle: Populated) -> None:
    photo = Photo.objects.get(community=isle.community)
    reads(isle, Role.MAKER, f"communities/isle/photos/{photo.id}/")
    assert last(Act.PHOTO_SEEN).subject_id == photo.id
    reads(isle, Role.ORGANISER, "communities/isle/members/")
    assert last(Act.MEMBERS_SEEN).by_id == isle.people[Role.ORGANISER].id
    reads(isle, Role.CONTACT, "account/data/")
    assert last(Act.DATA_EXPORTED).about_id == isle.people[Role.CONTACT].id


def test_an_organiser_reads_the_trail_and_narrows_it(isle: Populated) -> None:
    a_token(isle)
    found = reads(isle, Role.ORGANISER, "communities/isle/trail/?act=token_made").json()["results"]
    assert {entry["act"] for entry in found} == {"token_made"}
    assert found[0]["by"]["id"] == str(isle.people[Role.MAKER].id)
    maker = isle.people[Role.MAKER].id
    by = reads(isle, Role.ORGANISER, f"communities/isle/trail/?by={maker}").json()["results"]
    assert {entry["by"]["id"] for entry in by} == {str(maker)}
    later = (timezone.now() + timedelta(hours=1)).strftime("%Y-%m-%dT%H:%M:%SZ")
    assert not reads(isle, Role.ORGANISER, f"communities/isle/trail/?since={later}").json()[
        "results"
    ]
    assert not trail_seen_by(actor(isle, Role.MAKER)).exists()


def test_the_trail_of_another_community_is_not_seen(isle: Populated) -> None:
    other = populate("other")
    a_token(other)
    organiser = acting(isle.community, Role.ORGANISER)
    communities = set(trail_seen_by(organiser).values_list("community_id", flat=True))
    assert communities == {isle.community.id}


def test_whoever_is_erased_is_a_code_in_the_trail_and_all_their_lines_stay(
    isle: Populated,
) -> None:
    a_token(isle)
    person_id: UUID = isle.people[Role.MAKER].id
    code = code_of(person_id)
    before = TrailEntry.objects.filter(by_code=code).count()
    erase_person(user_id=person_id)
    lines = TrailEntry.objects.filter(by_code=code)
    assert lines.count() == before + 1
    assert last(Act.PERSON_ERASED).about_code == code
    assert not lines.exclude(by=None).exists()
    assert not User.objects.filter(id=person_id).exists()
    assert str(person_id)[:8] not in code


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE people_trailentry SET act = 'invited'",
        "UPDATE people_trailentry SET by_code = ''",
        "UPDATE people_trailentry SET at = at - interval '1 day'",
        "UPDATE people_trailentry SET by_id = about_id WHERE by_id <> about_id OR by_id IS NULL",
        "DELETE FROM people_trailentry",
    ],
)
def test_nothing_is_changed_in_the_trail_or_taken_out_of_it(isle: Populated, change: str) -> None:
    a_role_ended(isle)
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(change)


def test_a_line_of_the_trail_goes_after_two_years(isle: Populated) -> None:
    now = timezone.now()
    old = TrailEntry.objects.create(
        community=isle.community, act=Act.INVITED, at=now - timedelta(days=731)
    )
    kept = TrailEntry.objects.create(
        community=isle.community, act=Act.INVITED, at=now - timedelta(days=728)
    )
    assert delete_what_has_had_its_time(at=now)["trail"] == 1
    assert not TrailEntry.objects.filter(id=old.id).exists()
    assert TrailEntry.objects.filter(id=kept.id).exists()
