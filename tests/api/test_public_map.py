"""Outsiders see a place as precisely as it agreed to, wherever they look."""

import json
from typing import Any

import pytest
from django.test import Client

from api.rights import PUBLIC, RIGHTS
from network.people.models import District, Role
from network.places.models import Place
from tests.api.pickups_caller import Caller
from tests.api.walk import routes
from tests.factories import PlaceFactory, UserFactory
from tests.scenario import populate
from tests.services.pickups_story import Round, make_round

pytestmark = pytest.mark.django_db
SPOT = (-30.0123456, 45.0654321)


@pytest.fixture
def world() -> Round:
    return make_round(places=1)


def a_place(world: Round, precision: str, **changes: Any) -> Place:
    place: Place = PlaceFactory.create(
        community=world.community,
        name="Quill School",
        address="1 Quill Row",
        longitude=SPOT[0],
        latitude=SPOT[1],
        district=District.objects.get_or_create(community=world.community, name="Nether Quill")[0],
        public_precision=precision,
        **changes,
    )
    return place


def shown(world: Round) -> list[Any]:
    answer = Client().get(f"/api/v1/communities/{world.community.slug}/public-map/")
    assert answer.status_code == 200
    return [f for f in answer.json()["features"] if f["properties"]["kind"] == "school"]


def test_a_place_that_agreed_to_it_is_shown_with_its_spot_and_name(world: Round) -> None:
    a_place(world, "exact")
    (feature,) = shown(world)
    assert feature["geometry"]["coordinates"] == list(SPOT)
    assert feature["properties"]["name"] == "Quill School"
    assert feature["properties"]["address"] == "1 Quill Row"


def test_a_place_by_its_street_has_neither_its_spot_nor_its_name(world: Round) -> None:
    a_place(world, "street")
    (feature,) = shown(world)
    longitude, latitude = feature["geometry"]["coordinates"]
    assert (longitude, latitude) != SPOT
    assert abs(latitude - SPOT[1]) < 0.0005  # about 50 m
    assert (feature["properties"]["name"], feature["properties"]["address"]) == ("", "")


def test_a_place_by_its_district_has_no_point(world: Round) -> None:
    a_place(world, "district")
    (feature,) = shown(world)
    assert feature["geometry"] is None
    assert feature["properties"]["district"] == "Nether Quill"


@pytest.mark.parametrize(
    ("precision", "status"), [("hidden", "admitted"), ("exact", "asked"), ("exact", "refused")]
)
def test_a_place_that_did_not_agree_or_is_not_admitted_is_not_on_the_map(
    world: Round, precision: str, status: str
) -> None:
    a_place(world, precision, status=status)
    assert shown(world) == []


def test_a_place_is_hidden_and_a_workshop_shown_unless_they_say_otherwise(world: Round) -> None:
    organiser = Caller(world, Role.ORGANISER)
    for kind, precision in (("school", "hidden"), ("workshop", "exact")):
        made = organiser.write(
            "places/",
            {
                "organisation_id": str(world.maker.id),
                "name": f"New {kind}",
                "kind": kind,
                "address": "2 Quay",
                "longitude": -30.0,
                "latitude": 45.0,
            },
        )
        assert made.json()["public_precision"] == precision, made.content


def test_a_contact_chooses_how_precisely_their_place_is_shown(world: Round) -> None:
    place = world.places[0]
    contact = Caller(world, Role.CONTACT, place.organisation)
    changed = contact.write(f"places/{place.id}/", {"public_precision": "street"}, method="patch")
    assert changed.json()["public_precision"] == "street"
    assert changed.json()["longitude"] == place.longitude, "One's own people see the spot."
    refused = contact.write(f"places/{place.id}/", {"public_precision": "sky"}, method="patch")
    assert refused.json()["errors"][0]["field"] == "public_precision"


def test_the_distances_of_offers_do_not_tell_an_outsider_where_a_workshop_is(world: Round) -> None:
    """From many distances a spot could be found, so all are from the point that is public."""
    workshops = Place.objects.filter(community=world.community, kind=Place.Kind.WORKSHOP)
    workshops.update(public_precision="street", longitude=SPOT[0], latitude=SPOT[1])
    slug = world.community.slug
    there = {"longitude": str(SPOT[0]), "latitude": str(SPOT[1])}
    stranger = Client()
    stranger.force_login(UserFactory.create())
    for client in (Client(), stranger):
        offers = client.get(f"/api/v1/communities/{slug}/offers/", there).json()
        assert offers
        assert all(offer["distance_m"] > 5 for offer in offers)
    own = Caller(world, Role.MAKER, world.maker).get("offers/", **there).json()
    assert {offer["distance_m"] for offer in own} == {0}


def test_no_public_answer_holds_the_spot_the_name_or_the_phone_of_a_hidden_place() -> None:
    isle = populate("isle")
    for place in isle.round.places:
        Place.objects.filter(id=place.id).update(
            name=f"Hidden {place.id}", longitude=SPOT[0], latitude=SPOT[1], contact_phone="0118 999"
        )
    needles = [str(SPOT[0]), str(SPOT[1]), "Hidden ", "0118 999"]
    public = [route for route in routes() if PUBLIC in RIGHTS[route.name].get("GET", set())]
    found = []
    for route in public:
        subject = isle.row(route.subject).id if route.subject else isle.community.id
        address = route.address(community="isle", id=subject)
        answer = Client().get(address, {"longitude": "-30", "latitude": "45"})
        text = b"".join(answer).decode(errors="replace")
        found += [f"{route.name}: {needle}" for needle in needles if needle in text]
    assert len(public) > 10
    assert not found, json.dumps(found)
