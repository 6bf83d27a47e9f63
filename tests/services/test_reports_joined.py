"""Two communities as one: what one passes on to the other counts once."""

from http import HTTPStatus
from typing import Any

import pytest
from django.test import Client

from network.errors import InvalidInput, NotAllowed, NotFound
from network.ids import new_id
from network.lots.services import pass_on
from network.people.core.actor import Actor
from network.people.models import Community, Role
from network.reports.joining import Joined, joined, others_places
from network.reports.queries import Selection
from network.reports.services import mark_others_place
from tests.factories import AgreementFactory, ContainerFactory, PlaceFactory, acting, member
from tests.services.lots_story import MORNING, Story, make_story

pytestmark = pytest.mark.django_db


def organiser(community: Community) -> Actor:
    return acting(community, Role.ORGANISER)


def of(*communities: Community) -> Joined:
    return joined([(organiser(one), one) for one in communities], period=Selection())


@pytest.fixture
def isle() -> Story:
    return make_story()


@pytest.fixture
def shore(isle: Story) -> Story:
    """The isle accepts 8 kg and passes 5 kg of it on; the shore takes it, and 3 kg of its own."""
    shore = make_story()
    lot = isle.at_home(8_000)
    pass_on(
        isle.maker_actor, movement_id=new_id(), lot_id=lot.id, mass_g=5_000, note="", at=MORNING
    )
    quay = PlaceFactory.create(community=shore.community, name="The isle's maker")
    agreement = AgreementFactory.create(
        community=shore.community, place=quay, rule_version=shore.agreement.rule_version
    )
    shore.at_home(5_000, container=ContainerFactory.create(agreement=agreement))
    shore.at_home(3_000)
    mark_others_place(organiser(shore.community), place_id=quay.id, other=isle.community.slug)
    return shore


def test_what_one_passed_on_to_the_other_counts_once(isle: Story, shore: Story) -> None:
    found = of(isle.community, shore.community)
    assert found.diverted_g == 8_000 + 3_000
    assert [(part.diverted_g, part.counted_before_g) for part in found.parts] == [
        (8_000, 0),
        (8_000, 5_000),
    ]
    assert found.diverted_g == of(shore.community, isle.community).diverted_g
    assert found.diverted_g == of(isle.community, shore.community, isle.community).diverted_g
    assert found.expanded_g == sum(part.expanded_g for part in found.parts) > 0


def test_alone_each_counts_all_that_it_accepted(isle: Story, shore: Story) -> None:
    assert of(isle.community).diverted_g == 8_000
    assert of(shore.community).diverted_g == 8_000


def test_a_mark_is_taken_back(isle: Story, shore: Story) -> None:
    actor = organiser(shore.community)
    (row,) = others_places(actor)
    mark_others_place(actor, place_id=row.place_id, other=None)
    assert not others_places(actor).exists()
    assert of(isle.community, shore.community).diverted_g == 16_000


def test_one_is_an_organiser_in_each_of_them(isle: Story, shore: Story) -> None:
    stranger = acting(isle.community, Role.ORGANISER)
    with pytest.raises(NotAllowed):
        joined(
            [(stranger, isle.community), (shore.maker_actor, shore.community)],
            period=Selection(),
        )
    with pytest.raises(NotAllowed):
        mark_others_place(
            shore.maker_actor, place_id=shore.agreement.place_id, other=isle.community.slug
        )
    assert not others_places(shore.maker_actor).exists()


def test_only_a_place_of_ours_and_another_community_can_be_marked(
    isle: Story, shore: Story
) -> None:
    actor = organiser(shore.community)
    with pytest.raises(NotFound):
        mark_others_place(actor, place_id=isle.agreement.place_id, other=isle.community.slug)
    for other in (shore.community.slug, "nowhere"):
        with pytest.raises(InvalidInput):
            mark_others_place(actor, place_id=shore.agreement.place_id, other=other)


def test_over_the_api(isle: Story, shore: Story) -> None:
    person = member(shore.community, Role.ORGANISER)
    client = Client()
    client.force_login(person)
    address = f"/api/v1/communities/{shore.community.slug}/reports/joined/"
    asked: dict[str, Any] = {"others": isle.community.slug}
    assert client.get(address, asked).status_code == HTTPStatus.FORBIDDEN
    member(isle.community, Role.ORGANISER, user=person)
    answer = client.get(address, asked)
    assert answer.status_code == HTTPStatus.OK, answer.content
    assert answer.json()["diverted_g"] == 11_000
    (row,) = client.get(f"{address}places/").json()
    assert row["other"] == isle.community.slug
    put = client.put(
        f"{address}places/{row['place']['id']}/",
        {"other": None},
        "application/json",
        headers={"Idempotency-Key": str(new_id())},
    )
    assert put.json() == {"other": None}
    assert client.get(address, asked).json()["diverted_g"] == 16_000
