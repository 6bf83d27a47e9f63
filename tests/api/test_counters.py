"""A shared device says how full its place is, and is good for nothing else."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from api.models import Reply
from network.ids import new_id
from network.people.models import Role, TrailEntry
from network.places.models import Counter, FillReport
from tests.api.pickups_caller import Caller
from tests.scenario import Populated, populate
from tests.services.pickups_story import Round, make_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round(places=2)


@pytest.fixture
def contact(world: Round) -> Caller:
    return Caller(world, Role.CONTACT, world.places[0].organisation)


def make(caller: Caller, world: Round, **changes: object) -> Any:
    body = {"place_id": str(world.places[0].id), "name": "Hall", "valid_days": 30, **changes}
    return caller.write("counters/", body)


def device(link: str) -> Client:
    token = link.rsplit("/", 1)[1]
    # It has no cookies, and so none that another site could use.
    return Client(enforce_csrf_checks=True, headers={"Authorization": f"Counter {token}"})


def say(client: Client, world: Round, percent: object = 80, **changes: object) -> Any:
    body = {"container_id": str(world.containers[0].id), "percent": percent, **changes}
    return client.post(
        f"/api/v1/communities/{world.community.slug}/counter/fill-reports/",
        body,
        content_type="application/json",
        headers={"Idempotency-Key": str(new_id())},
    )


def look(client: Client, world: Round) -> Any:
    return client.get(f"/api/v1/communities/{world.community.slug}/counter/")


def test_a_contact_makes_a_link_that_a_tablet_opens(world: Round, contact: Caller) -> None:
    made = make(contact, world).json()
    assert f"/#/counter/{world.community.slug}/" in made["link"]
    assert made["code"].startswith("data:image/svg+xml")
    tablet = device(made["link"])
    shown = look(tablet, world).json()
    assert shown["place"] == world.places[0].name
    (container,) = shown["containers"]
    assert container["percent"] == 90
    said = say(tablet, world, 40)
    assert (said.status_code, said.json()["origin"]) == (201, "counter")
    assert look(tablet, world).json()["containers"][0]["percent"] == 40
    assert FillReport.objects.latest("id").by_id is None, "Nobody is named by it."
    assert contact.get("counters/").json()["results"][0]["last_used_at"]


def test_what_a_retry_is_told_is_not_the_secret(world: Round, contact: Caller) -> None:
    key = new_id()
    body = {"place_id": str(world.places[0].id), "name": "Hall"}
    first = contact.write("counters/", body, key=key).json()
    again = contact.write("counters/", body, key=key).json()
    assert again["id"] == first["id"]
    assert (again["link"], again["code"]) == (None, None)
    token = first["link"].rsplit("/", 1)[1]
    assert token not in str(list(Counter.objects.values()) + list(Reply.objects.values()))


def test_a_shared_device_says_nothing_of_another_place(world: Round, contact: Caller) -> None:
    tablet = device(make(contact, world).json()["link"])
    other = str(world.containers[1].id)
    assert say(tablet, world, container_id=other).status_code == 404
    assert other not in look(tablet, world).content.decode()


def test_a_shared_device_is_of_one_community(world: Round, contact: Caller) -> None:
    tablet = device(make(contact, world).json()["link"])
    elsewhere = make_round(places=1)
    assert look(tablet, elsewhere).status_code == 403
    assert say(tablet, elsewhere).status_code == 403


def test_a_shared_device_cannot_read_a_phone_number_or_what_anyone_may(
    world: Round, contact: Caller
) -> None:
    tablet = device(make(contact, world).json()["link"])
    here = f"/api/v1/communities/{world.community.slug}/"
    for path in (f"places/{world.places[0].id}/", "places/", "pickups/", "streams/", ""):
        assert tablet.get(here + path).status_code == 403, path
    assert world.places[0].address not in look(tablet, world).content.decode()


def test_a_shared_device_that_was_taken_back_or_has_expired_opens_nothing(
    world: Round, contact: Caller
) -> None:
    revoked, expired = (make(contact, world, name=name).json() for name in ("A", "B"))
    assert contact.write(f"counters/{revoked['id']}/revoke/", {}).status_code == 200
    Counter.objects.filter(id=expired["id"]).update(expires_at=timezone.now())
    for made in (revoked, expired):
        assert look(device(made["link"]), world).status_code == 401
    for made_up in ("/x", "/", "/a b"):
        assert look(device(made_up), world).status_code == 401
    assert [row["name"] for row in contact.get("counters/").json()["results"]] == ["B"]


def test_only_the_places_own_contact_or_an_organiser_makes_and_takes_back(
    world: Round, contact: Caller
) -> None:
    made = make(contact, world).json()
    neighbour = Caller(world, Role.CONTACT, world.places[1].organisation)
    maker = Caller(world, Role.MAKER, world.maker)
    assert make(neighbour, world).status_code == 404
    assert make(maker, world).status_code == 403
    assert neighbour.write(f"counters/{made['id']}/revoke/", {}).status_code == 404
    organiser = Caller(world, Role.ORGANISER)
    assert organiser.write(f"counters/{made['id']}/revoke/", {}).status_code == 200
    acts = TrailEntry.objects.filter(act__startswith="counter").values_list("act", flat=True)
    assert sorted(acts) == ["counter_made", "counter_revoked"]


@pytest.mark.parametrize(
    ("field", "value"),
    [("percent", 151), ("percent", -1), ("percent", "full"), ("container_id", "x"), ("at", "soon")],
)
def test_what_cannot_be_is_refused_by_its_field(
    world: Round, contact: Caller, field: str, value: object
) -> None:
    tablet = device(make(contact, world).json()["link"])
    refused = say(tablet, world, **{field: value})
    assert refused.json()["errors"][0]["field"] == field


def test_a_shared_device_works_for_a_year_at_most(world: Round, contact: Caller) -> None:
    assert make(contact, world, valid_days=366).status_code == 422
    made = make(contact, world, valid_days=365).json()
    assert Counter.objects.get(id=made["id"]).expires_at > timezone.now() + timedelta(days=364)


def test_nothing_of_another_community_is_on_a_shared_device() -> None:
    here: Populated = populate("here")
    other: Populated = populate("other")
    tablet = Client(headers={"Authorization": f"Counter {here.counter_token}"})
    shown = tablet.get("/api/v1/communities/here/counter/").content.decode()
    assert not [row for row in other.ids() if row in shown]
    assert tablet.get("/api/v1/communities/other/counter/").status_code == 403
