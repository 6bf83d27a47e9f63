"""A private address that calendar programs read, checked with two parsers that share no code."""

from datetime import datetime
from typing import Any
from uuid import uuid4

import icalendar
import pytest
import vobject
from django.test import Client

from network.notices.models import CalendarFeed
from network.people.core.actor import Actor
from network.people.models import Membership, User
from network.pickups import services
from network.pickups.models import Pickup
from tests.services.notices_story import stop_clock
from tests.services.pickups_story import SUNDAY_EVENING, Round, make_round, on_monday, route_id_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def world(monkeypatch: pytest.MonkeyPatch) -> Round:
    stop_clock(monkeypatch, on_monday(8))
    return make_round(places=2)


@pytest.fixture
def contact(world: Round) -> User:
    return account_of(world.contact())


def account_of(actor: Actor) -> User:
    assert actor.user_id is not None
    return User.objects.get(id=actor.user_id)


def send(world: Round, user: User, path: str, body: object = None) -> Any:
    client = Client()
    client.force_login(user)
    return client.post(
        f"/api/v1/communities/{world.community.slug}/{path}",
        body or {},
        content_type="application/json",
        headers={"Idempotency-Key": str(uuid4())},
    )


def make(world: Round, user: User, **of: object) -> str:
    answer = send(world, user, "calendar-feeds/", of)
    assert answer.status_code == 201, answer.content
    link: str = answer.json()["link"]
    return link


def read(link: str) -> bytes:
    answer = Client().get(link)  # without any session
    assert answer.status_code == 200, answer.content
    assert answer.headers["Content-Type"].startswith("text/calendar")
    content: bytes = answer.content
    return content


def as_icalendar(content: bytes) -> list[dict[str, object]]:
    return [
        {
            "uid": str(event["UID"]),
            "sequence": int(str(event["SEQUENCE"])),
            "status": str(event["STATUS"]),
            "starts": event.decoded("DTSTART"),
        }
        for event in icalendar.Calendar.from_ical(content).walk("VEVENT")
    ]


def as_vobject(content: bytes) -> list[dict[str, object]]:
    calendar = vobject.readOne(content.decode())
    calendar.validate(raiseException=True)
    return [
        {
            "uid": event.uid.value,
            "sequence": int(event.sequence.value),
            "status": event.status.value,
            "starts": event.dtstart.value,
        }
        for event in calendar.contents.get("vevent", [])
    ]


def events(link: str) -> list[dict[str, object]]:
    """Return the events as both parsers read them."""
    content = read(link)
    first = as_icalendar(content)
    assert as_vobject(content) == first
    return first


def test_a_place_has_its_visits_and_no_others(world: Round, contact: User) -> None:
    link = make(world, contact, place_id=str(world.places[0].id))
    assert events(link) == []
    route = world.booked()
    pickup = route.pickups.get(place=world.places[0])
    assert events(link) == [
        {
            "uid": f"{pickup.id}@millrace",
            "sequence": 0,
            "status": "CONFIRMED",
            "starts": pickup.planned_arrival,
        }
    ]


def test_a_visit_that_is_moved_is_the_same_event_at_another_time(
    world: Round, contact: User
) -> None:
    link = make(world, contact, place_id=str(world.places[0].id))
    route = world.booked()
    [booked] = events(link)
    services.call_off_route(
        world.maker_actor, route_id=route.id, reason="The van broke down.", at=SUNDAY_EVENING
    )
    [called_off] = events(link)
    moved = world.booked()
    arrival = datetime.fromisoformat("2026-03-02T10:30:00+00:00")
    moved.pickups.filter(place=world.places[0]).update(planned_arrival=arrival)
    [again] = events(link)
    assert {event["uid"] for event in (booked, called_off, again)} == {booked["uid"]}
    assert [event["sequence"] for event in (booked, called_off, again)] == [0, 1, 2]
    assert [e["status"] for e in (booked, called_off, again)] == [
        "CONFIRMED",
        "CANCELLED",
        "CONFIRMED",
    ]
    assert again["starts"] == arrival


def test_a_visit_after_one_that_was_done_is_another_event(world: Round, contact: User) -> None:
    link = make(world, contact, place_id=str(world.places[0].id))
    first, *others = world.on_the_road()
    for pickup in (first, *others):
        services.skip_pickup(world.driver, pickup_id=pickup.id, reason="Shut.", at=on_monday(8))
    services.finish_route(world.driver, route_id=route_id_of(first), at=on_monday(8))
    [missed] = events(link)
    assert (missed["sequence"], missed["status"]) == (1, "CANCELLED")
    world.booked()
    assert len({event["uid"] for event in events(link)}) == 2


def test_a_van_has_the_visits_of_its_routes(world: Round) -> None:
    driver = account_of(world.driver)
    link = make(world, driver, vehicle_id=str(world.vehicle.id))
    world.booked()
    assert len(events(link)) == 2
    assert Pickup.objects.count() == 2


def test_the_secret_is_shown_once_and_not_kept(world: Round, contact: User) -> None:
    link = make(world, contact, place_id=str(world.places[0].id))
    token = link.rstrip("/").rsplit("/", 1)[1]
    assert len(token) >= 43  # 32 random bytes
    feed = CalendarFeed.objects.get()
    assert token not in {str(value) for value in vars(feed).values()}
    client = Client()
    client.force_login(contact)
    listed = client.get(f"/api/v1/communities/{world.community.slug}/calendar-feeds/").json()
    assert [one["link"] for one in listed["results"]] == [None]


def test_a_feed_that_is_taken_back_shows_nothing(world: Round, contact: User) -> None:
    link = make(world, contact, place_id=str(world.places[0].id))
    feed = CalendarFeed.objects.get()
    stranger = account_of(world.driver)
    assert send(world, stranger, f"calendar-feeds/{feed.id}/revoke/").status_code == 404
    read(link)
    assert send(world, contact, f"calendar-feeds/{feed.id}/revoke/").status_code == 200
    assert Client().get(link).status_code == 410
    assert Client().get(link[:-2] + "x/").status_code == 404


def test_a_feed_shows_no_more_than_its_owner_may_see(world: Round, contact: User) -> None:
    link = make(world, contact, place_id=str(world.places[0].id))
    world.booked()
    assert len(events(link)) == 1
    Membership.objects.filter(user=contact).delete()
    assert events(link) == []
    User.objects.filter(id=contact.id).update(is_active=False)
    assert Client().get(link).status_code == 404


def test_a_feed_is_of_one_thing_that_its_owner_can_see(world: Round, contact: User) -> None:
    own, other = (str(place.id) for place in world.places)
    for wish, field in (
        ({}, "place_id"),
        ({"place_id": own, "vehicle_id": str(world.vehicle.id)}, "place_id"),
        ({"place_id": other}, "place_id"),
        ({"vehicle_id": str(world.vehicle.id)}, "vehicle_id"),
    ):
        refused = send(world, contact, "calendar-feeds/", wish)
        assert refused.status_code == 422, wish
        assert refused.json()["errors"][0]["field"] == field


def test_programs_are_told_how_often_to_look_again(world: Round, contact: User) -> None:
    link = make(world, contact, place_id=str(world.places[0].id))
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in read(link)
    feed = CalendarFeed.objects.get()
    assert feed.last_read_at == on_monday(8)
