"""Registering, changing, admitting and refusing places."""

import threading
from collections.abc import Callable
from datetime import date, time
from functools import partial

import pytest
from django.db import connection

from network.errors import (
    Conflict,
    InvalidInput,
    MillraceError,
    NotAllowed,
    NotFound,
    WrongState,
)
from network.ids import new_id
from network.people.core.actor import Actor
from network.people.models import Membership, Organisation, Role
from network.people.queries import actor_in
from network.places.models import Agreement, Container, Place
from network.places.queries import place_seen_by
from network.places.services import (
    NewOrganisation,
    SpanInput,
    WindowInput,
    admit_place,
    agree,
    change_place,
    refuse_place,
    register_place,
)
from tests.factories import CommunityFactory, UserFactory, acting
from tests.services.places_story import Isle, a_place, an_agreement, make_isle

pytestmark = pytest.mark.django_db


@pytest.fixture
def isle() -> Isle:
    return make_isle()


def _stranger(isle: Isle) -> Actor:
    return actor_in(community=isle.community, user_id=UserFactory.create().id)


def _again(isle: Isle, actor: Actor) -> Actor:
    return actor_in(community=isle.community, user_id=actor.user_id)


def test_an_invited_school_is_admitted_at_once_and_its_agreement_runs(isle: Isle) -> None:
    place = register_place(
        isle.contact,
        place=a_place(),
        organisation=isle.school.id,
        agreement=an_agreement(isle.stream.id),
    )

    assert place.status == Place.Status.ADMITTED
    agreement = place.agreements.get()
    assert (agreement.status, agreement.rule_version) == ("running", isle.rules)
    assert agreement.containers.count() == 2
    assert place.windows.count() == 2
    assert place.spans.get().label == "Spring and summer"


def test_a_stranger_asks_to_join_and_becomes_the_contact_of_its_organisation(isle: Isle) -> None:
    actor = _stranger(isle)

    place = register_place(
        actor,
        place=a_place(),
        organisation=NewOrganisation(name="Quill School", kind="school"),
        agreement=an_agreement(isle.stream.id),
    )

    assert place.status == Place.Status.ASKED
    assert place.agreements.get().status == Agreement.Status.ASKED
    held = Membership.objects.get(organisation=place.organisation)
    assert (held.role, held.user_id) == (Role.CONTACT, actor.user_id)
    assert place_seen_by(_again(isle, actor), place.id) == place


def test_who_asked_to_join_cannot_let_in_a_second_place_by_itself(isle: Isle) -> None:
    actor = _stranger(isle)
    first = register_place(
        actor, place=a_place(), organisation=NewOrganisation(name="Cove", kind="cafe")
    )

    second = register_place(
        _again(isle, actor), place=a_place("Cove annexe"), organisation=first.organisation_id
    )

    assert second.status == Place.Status.ASKED


def test_once_one_place_is_admitted_the_next_of_its_organisation_is_too(isle: Isle) -> None:
    actor = _stranger(isle)
    first = register_place(
        actor, place=a_place(), organisation=NewOrganisation(name="Cove", kind="cafe")
    )
    admit_place(isle.organiser, place_id=first.id)

    second = register_place(
        _again(isle, actor), place=a_place("Cove annexe"), organisation=first.organisation_id
    )

    assert second.status == Place.Status.ADMITTED


def test_a_community_closed_to_registration_takes_invited_people_only(isle: Isle) -> None:
    isle.community.open_to_registration = False
    isle.community.save()

    with pytest.raises(NotAllowed):
        register_place(
            _stranger(isle), place=a_place(), organisation=NewOrganisation(name="X", kind="cafe")
        )
    register_place(isle.contact, place=a_place(), organisation=isle.school.id)


def test_nobody_registers_a_place_for_the_organisation_of_another(isle: Isle) -> None:
    with pytest.raises(NotAllowed):
        register_place(_stranger(isle), place=a_place(), organisation=isle.school.id)
    assert not Place.objects.filter(name="Quill School").exists()


def test_only_a_maker_has_a_workshop(isle: Isle) -> None:
    with pytest.raises(InvalidInput) as refusal:
        register_place(isle.contact, place=a_place(kind="workshop"), organisation=isle.school.id)
    assert refusal.value.fields[0].field == "kind"

    place = register_place(isle.making, place=a_place(kind="workshop"), organisation=isle.maker.id)
    assert place.status == Place.Status.ADMITTED


def test_an_agreement_that_cannot_be_made_leaves_no_place_and_no_organisation(isle: Isle) -> None:
    actor = _stranger(isle)

    with pytest.raises(InvalidInput) as refusal:
        register_place(
            actor,
            place=a_place(longitude=-28.0),  # 157 km away
            organisation=NewOrganisation(name="Far School", kind="school"),
            agreement=an_agreement(isle.stream.id),
        )

    assert [fault.field for fault in refusal.value.fields] == ["agreement.stream_id"]
    assert not Organisation.objects.filter(name="Far School").exists()
    assert not _again(isle, actor).roles
    assert not Container.objects.exists()


def test_every_fault_of_a_place_is_named_at_once() -> None:
    with pytest.raises(InvalidInput) as refusal:
        a_place(
            "  ",
            longitude=float("nan"),
            latitude=91.0,
            windows=[
                WindowInput(weekday=7, opens=time(9), closes=time(9)),
                WindowInput(weekday=1, opens=time(9), closes=time(12)),
                WindowInput(weekday=1, opens=time(11), closes=time(14)),
            ],
            spans=[
                SpanInput(kind="closure", first_day=date(2026, 5, 2), last_day=date(2026, 5, 1))
            ],
        )

    assert {fault.field for fault in refusal.value.fields} == {
        "name",
        "longitude",
        "latitude",
        "windows[0].weekday",
        "windows[0].closes",
        "windows[2].opens",
        "spans[0].last_day",
    }
    assert all(fault.mend for fault in refusal.value.fields)


def test_the_district_is_one_of_the_community(isle: Isle) -> None:
    with pytest.raises(InvalidInput) as refusal:
        register_place(
            isle.contact, place=a_place(district_id=new_id()), organisation=isle.school.id
        )
    assert refusal.value.fields[0].field == "district_id"


def test_a_place_is_registered_once_by_name_and_address(isle: Isle) -> None:
    register_place(isle.contact, place=a_place(), organisation=isle.school.id)

    with pytest.raises(Conflict):
        register_place(isle.organiser, place=a_place(), organisation=isle.school.id)


def test_changing_the_windows_leaves_the_spans_as_they_were(isle: Isle) -> None:
    place = register_place(isle.contact, place=a_place(), organisation=isle.school.id)

    changed = change_place(
        isle.contact,
        place_id=place.id,
        changes={
            "access_notes": "Ring at reception.",
            "windows": [WindowInput(weekday=4, opens=time(8), closes=time(10))],
        },
    )

    assert changed.access_notes == "Ring at reception."
    assert [window.weekday for window in changed.windows.all()] == [4]
    assert changed.spans.count() == 1


def test_a_maker_reads_a_place_it_collects_from_but_does_not_change_it(isle: Isle) -> None:
    place = register_place(isle.contact, place=a_place(), organisation=isle.school.id)
    with pytest.raises(NotFound):
        place_seen_by(isle.making, place.id)
    agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))

    assert place_seen_by(isle.driver, place.id) == place
    with pytest.raises(NotAllowed):
        change_place(isle.making, place_id=place.id, changes={"name": "Mine"})


def test_another_communitys_place_is_not_there(isle: Isle) -> None:
    place = register_place(isle.contact, place=a_place(), organisation=isle.school.id)
    elsewhere = acting(CommunityFactory.create(), Role.ORGANISER)

    with pytest.raises(NotFound):
        place_seen_by(elsewhere, place.id)
    with pytest.raises(NotFound):
        change_place(elsewhere, place_id=place.id, changes={"name": "Mine"})
    with pytest.raises(NotFound):
        admit_place(elsewhere, place_id=place.id)
    with pytest.raises(NotFound):
        refuse_place(elsewhere, place_id=place.id, reason="No.")


def test_admitting_a_place_lets_its_asked_agreements_run(isle: Isle) -> None:
    place = register_place(
        _stranger(isle),
        place=a_place(),
        organisation=NewOrganisation(name="Cove", kind="cafe"),
        agreement=an_agreement(isle.stream.id),
    )

    admitted = admit_place(isle.organiser, place_id=place.id)

    assert (admitted.status, admitted.admitted_by_id) == ("admitted", isle.organiser.user_id)
    assert place.agreements.get().status == Agreement.Status.RUNNING
    with pytest.raises(WrongState):
        admit_place(isle.organiser, place_id=place.id)
    with pytest.raises(WrongState):
        refuse_place(isle.organiser, place_id=place.id, reason="Too late.")


def test_a_refused_place_is_told_why_and_its_agreements_end(isle: Isle) -> None:
    place = register_place(
        _stranger(isle),
        place=a_place(),
        organisation=NewOrganisation(name="Cove", kind="cafe"),
        agreement=an_agreement(isle.stream.id),
    )
    with pytest.raises(InvalidInput):
        refuse_place(isle.organiser, place_id=place.id, reason=" ")

    refused = refuse_place(isle.organiser, place_id=place.id, reason="It is not on the isle.")

    assert (refused.status, refused.status_reason) == ("refused", "It is not on the isle.")
    ended = place.agreements.get()
    assert (ended.status, ended.end_reason) == ("ended", "It is not on the isle.")


@pytest.mark.parametrize("who", ["contact", "driver", "making"])
def test_only_an_organiser_admits(isle: Isle, who: str) -> None:
    place = register_place(isle.organiser, place=a_place(), organisation=isle.school.id)
    with pytest.raises(NotAllowed):
        admit_place(getattr(isle, who), place_id=place.id)


def _at_once(*acts: Callable[[], object]) -> list[str]:
    """Do all of it at the same time, each in a thread; return `done` or the refusal of each."""
    start = threading.Barrier(len(acts))
    outcomes: list[str] = []

    def run(act: Callable[[], object]) -> None:
        start.wait()
        try:
            act()
            outcomes.append("done")
        except MillraceError as refusal:
            outcomes.append(refusal.code)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=[act]) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(outcomes)


@pytest.mark.django_db(transaction=True)
def test_of_two_who_register_the_same_place_at_once_one_does() -> None:
    isle = make_isle()

    def register() -> None:
        register_place(
            isle.contact,
            place=a_place(),
            organisation=isle.school.id,
            agreement=an_agreement(isle.stream.id),
        )

    assert _at_once(register, register) == ["conflict", "done"]
    assert Place.objects.filter(organisation=isle.school).count() == 1
    assert Container.objects.filter(community=isle.community).count() == 2


@pytest.mark.django_db(transaction=True)
def test_of_two_strangers_with_the_same_new_school_at_once_one_becomes_its_contact() -> None:
    isle = make_isle()
    new = NewOrganisation(name="Cove School", kind="school")
    strangers = [_stranger(isle), _stranger(isle)]

    outcomes = _at_once(
        *(partial(register_place, actor, place=a_place(), organisation=new) for actor in strangers)
    )

    assert outcomes == ["conflict", "done"]
    assert Organisation.objects.filter(name="Cove School").count() == 1
    assert sum(bool(_again(isle, actor).roles) for actor in strangers) == 1


@pytest.mark.django_db(transaction=True)
def test_of_two_who_agree_the_same_stream_at_once_one_does() -> None:
    isle = make_isle()
    place = register_place(isle.contact, place=a_place(), organisation=isle.school.id)

    def make() -> None:
        agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))

    assert _at_once(make, make) == ["conflict", "done"]
    assert Container.objects.filter(community=isle.community).count() == 2
