"""Containers: their tags, how full they are said to be, and their end."""

import re
import threading
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from network.errors import (
    AlreadyBooked,
    DifferentBody,
    InvalidInput,
    NotAllowed,
    NotFound,
    WrongState,
)
from network.ids import new_id
from network.people.models import Role
from network.pickups.models import Pickup, PickupLine
from network.places.core.tags import LETTERS, TAGS, tag_of
from network.places.models import Agreement, Container, FillReport
from network.places.services import (
    ContainersInput,
    add_containers,
    agree,
    record_emptied,
    register_place,
    report_fill,
    retire_container,
)
from tests.factories import LONG_AGO, CommunityFactory, acting
from tests.services.places_story import Isle, a_place, an_agreement, make_isle

pytestmark = pytest.mark.django_db
CRATE = ContainersInput(kind="crate", volume_ml=40_000, tare_g=1_800)


@pytest.fixture
def isle() -> Isle:
    return make_isle()


@pytest.fixture
def agreement(isle: Isle) -> Agreement:
    place = register_place(isle.contact, place=a_place(), organisation=isle.school.id, at=LONG_AGO)
    return agree(
        isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id), at=LONG_AGO
    )


@pytest.fixture
def bag(agreement: Agreement) -> Container:
    return agreement.containers.order_by("id")[0]


@given(st.integers(min_value=0, max_value=3 * TAGS))
def test_a_tag_is_a_letter_a_digit_and_a_number(serial: int) -> None:
    assert re.fullmatch(rf"[{LETTERS}][0-9]-[0-9]{{3,4}}", tag_of(serial))


def test_no_two_containers_of_a_community_share_a_tag() -> None:
    assert len({tag_of(serial) for serial in range(TAGS + 1000)}) == TAGS + 1000


@given(st.integers(min_value=0, max_value=TAGS - 40), st.integers(min_value=1, max_value=30))
def test_one_misheard_sign_never_names_another_bag_of_the_same_place(
    serial: int, later: int
) -> None:
    one, other = tag_of(serial), tag_of(serial + later)
    assert sum(a != b for a, b in zip(one, other, strict=True)) >= 2


def test_the_maker_adds_containers_with_tags_of_their_own(isle: Isle, agreement: Agreement) -> None:
    added = add_containers(
        isle.making,
        agreement_id=agreement.id,
        containers=ContainersInput(kind="crate", volume_ml=40_000, tare_g=1_800, count=3),
    )

    tags = [container.tag for container in agreement.containers.all()]
    assert len(added) == 3
    assert len(tags) == len(set(tags)) == 5


@pytest.mark.parametrize("who", ["contact", "driver"])
def test_a_contact_or_driver_adds_and_retires_none(
    isle: Isle, agreement: Agreement, bag: Container, who: str
) -> None:
    actor = getattr(isle, who)
    with pytest.raises(NotAllowed):
        add_containers(actor, agreement_id=agreement.id, containers=CRATE)
    with pytest.raises(NotAllowed):
        retire_container(actor, container_id=bag.id)


@pytest.mark.django_db(transaction=True)
def test_two_who_add_at_once_get_tags_of_their_own() -> None:
    isle = make_isle()
    place = register_place(
        isle.contact,
        place=a_place(),
        organisation=isle.school.id,
        agreement=an_agreement(isle.stream.id, bags=1),
    )
    agreement = place.agreements.get()
    start = threading.Barrier(2)
    tags: list[str] = []

    def add() -> None:
        start.wait()
        try:
            added = add_containers(
                isle.making,
                agreement_id=agreement.id,
                containers=ContainersInput(kind="bag", volume_ml=60_000, tare_g=150, count=5),
            )
            tags.extend(container.tag for container in added)
        finally:
            connection.close()

    threads = [threading.Thread(target=add) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(set(tags)) == 10


def test_who_says_how_full_is_kept_with_the_report(isle: Isle, bag: Container) -> None:
    said = report_fill(isle.contact, container_id=bag.id, percent=75)
    seen = report_fill(isle.driver, container_id=bag.id, percent=80)

    assert (said.origin, said.by_id) == (FillReport.Origin.CONTACT, isle.contact.user_id)
    assert seen.origin == FillReport.Origin.DRIVER


def test_an_organiser_does_not_say_how_full_a_bag_is(isle: Isle, bag: Container) -> None:
    with pytest.raises(NotAllowed):
        report_fill(isle.organiser, container_id=bag.id, percent=75)


def test_the_same_report_sent_again_is_not_doubled(isle: Isle, bag: Container) -> None:
    report_id = new_id()
    first = report_fill(isle.contact, container_id=bag.id, percent=75, report_id=report_id)

    again = report_fill(isle.contact, container_id=bag.id, percent=75, report_id=report_id)

    assert again == first
    assert FillReport.objects.count() == 1
    with pytest.raises(DifferentBody):
        report_fill(isle.contact, container_id=bag.id, percent=20, report_id=report_id)


@pytest.mark.parametrize("percent", [-1, 151])
def test_a_level_is_from_empty_to_heaped(isle: Isle, bag: Container, percent: int) -> None:
    with pytest.raises(InvalidInput) as refusal:
        report_fill(isle.contact, container_id=bag.id, percent=percent)
    assert refusal.value.fields[0].field == "percent"
    assert not FillReport.objects.exists()


def test_a_report_is_neither_of_the_future_nor_from_before_the_bag_was_there(
    isle: Isle, bag: Container
) -> None:
    for at in (timezone.now() + timedelta(hours=1), LONG_AGO - timedelta(days=1)):
        with pytest.raises(InvalidInput) as refusal:
            report_fill(isle.contact, container_id=bag.id, percent=50, at=at)
        assert refusal.value.fields[0].field == "at"


def test_a_phone_whose_clock_is_a_little_fast_is_not_refused(isle: Isle, bag: Container) -> None:
    ahead = timezone.now() + timedelta(minutes=2)

    report = report_fill(isle.contact, container_id=bag.id, percent=50, at=ahead)

    assert report.at < ahead


def test_another_communitys_container_is_not_there(bag: Container) -> None:
    elsewhere = acting(CommunityFactory.create(), Role.ORGANISER)
    with pytest.raises(NotFound):
        report_fill(elsewhere, container_id=bag.id, percent=50)
    with pytest.raises(NotFound):
        retire_container(elsewhere, container_id=bag.id)


def test_only_the_maker_and_its_driver_record_that_it_was_emptied(
    isle: Isle, bag: Container
) -> None:
    with pytest.raises(NotAllowed):
        record_emptied(isle.contact, container_id=bag.id, percent=90)
    record_emptied(isle.driver, container_id=bag.id, percent=90)


def test_a_retired_container_takes_no_reports_and_keeps_its_tag(
    isle: Isle, agreement: Agreement, bag: Container
) -> None:
    retire_container(isle.making, container_id=bag.id)

    with pytest.raises(WrongState):
        report_fill(isle.contact, container_id=bag.id, percent=50)
    with pytest.raises(WrongState):
        retire_container(isle.making, container_id=bag.id)
    added = add_containers(isle.making, agreement_id=agreement.id, containers=CRATE)
    assert added[0].tag != bag.tag


def test_a_container_that_a_pickup_is_to_empty_is_not_retired(isle: Isle, bag: Container) -> None:
    pickup = Pickup.objects.create(
        community=isle.community,
        maker=isle.maker,
        place=bag.agreement.place,
        status=Pickup.Status.ASKED,
        created_at=LONG_AGO,
    )
    line = PickupLine.objects.create(
        community=isle.community,
        pickup=pickup,
        container=bag,
        expected_mass_g=1_000,
        expected_volume_ml=10_000,
    )
    with pytest.raises(AlreadyBooked):
        retire_container(isle.making, container_id=bag.id)

    line.outcome = PickupLine.Outcome.SKIPPED
    line.save()
    assert retire_container(isle.making, container_id=bag.id).retired_at is not None
