"""Vans, proposals, routes and visits over the API."""

from datetime import date, timedelta
from http import HTTPStatus
from typing import Any
from uuid import uuid4
from xml.etree import ElementTree as ET

import gpxpy
import icalendar
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from network.ids import new_id
from network.lots.models import Account, Lot
from network.people.models import Role
from network.pickups import services
from network.pickups.models import PickupLine, Proposal, Route, Vehicle
from tests.api.pickups_caller import Caller
from tests.factories import member
from tests.services.pickups_story import CLEAN, UNRINSED, Round, make_round, on_monday

pytestmark = pytest.mark.django_db

VAN = {
    "name": "Brown van",
    "payload_g": 700_000,
    "volume_ml": 5_500_000,
    "cost_per_shift": "25.00",
    "cost_per_km": "0.4000",
    "cost_per_hour": "13.50",
}


def next_monday() -> date:
    today = date.today()  # noqa: DTZ011  # any coming Monday will do
    return today + timedelta(days=7 - today.weekday())


@pytest.fixture
def world() -> Round:
    world = make_round(places=0)
    for _ in range(3):
        world.add_place(observes_public_holidays=False)
    return world


@pytest.fixture
def maker(world: Round) -> Caller:
    return Caller(world, Role.MAKER, world.maker)


@pytest.fixture
def driver(world: Round) -> Caller:
    return Caller(world, Role.DRIVER, world.maker)


@pytest.fixture
def contact(world: Round) -> Caller:
    return Caller(world, Role.CONTACT, world.places[0].organisation)


def shifts_of(world: Round, **changes: object) -> dict[str, Any]:
    shift = {
        "vehicle_id": str(world.vehicle.id),
        "day": next_monday().isoformat(),
        "starts": "08:00",
        "ends": "12:00",
    }
    return {"shifts": [{**shift, **changes}]}


def ready_proposal(world: Round, maker: Caller) -> str:
    asked = maker.write("proposals/", shifts_of(world))
    assert asked.status_code == HTTPStatus.ACCEPTED, asked.content
    services.solve_proposal(proposal_id=asked.json()["id"])
    return str(asked.json()["id"])


def booked_route(world: Round, maker: Caller) -> dict[str, Any]:
    proposal_id = ready_proposal(world, maker)
    order = [str(place.id) for place in world.places]
    maker.write(f"proposals/{proposal_id}/change/", {"routes": [{"shift": 0, "place_ids": order}]})
    booked = maker.write(f"proposals/{proposal_id}/book/", {})
    assert booked.status_code == HTTPStatus.CREATED, booked.content
    [route] = booked.json()["routes"]
    found: dict[str, Any] = maker.get(f"routes/{route['id']}/").json()
    return found


def test_the_whole_round_over_the_api(
    world: Round, maker: Caller, driver: Caller, contact: Caller
) -> None:
    place = world.places[0]
    asked = contact.write(f"places/{place.id}/ask-pickup/", {"note": "Full."})
    assert (asked.status_code, asked.json()["status"]) == (HTTPStatus.CREATED, "asked")
    route = booked_route(world, maker)
    first, second, third = route["pickups"]
    assert first["id"] == asked.json()["id"]
    assert first["place"]["address"] == place.address
    assert [window["opens_at"][:10] for window in first["windows"]] == [route["day"]]
    seen = contact.get(f"pickups/{first['id']}/").json()
    assert (seen["status"], seen["day"]) == ("planned", route["day"])

    url = f"routes/{route['id']}/"
    assert driver.write(f"{url}start/", {}).json()["status"] == "under_way"
    driver.write(f"pickups/{first['id']}/arrive/", {})
    line = first["lines"][0]["id"]
    taken = {
        "method": "weighed",
        "gross_g": 6_150,
        "tare_g": 150,
        "scale_id": str(world.scale.id),
        "percent": 80,
        "look": CLEAN,
    }
    collected = driver.write(f"pickup-lines/{line}/collect/", taken).json()
    assert (collected["mass_g"], collected["verdict"]) == (6_000, "taken")
    assert driver.write(f"pickups/{first['id']}/finish/", {}).json()["status"] == "done"
    driver.write(f"pickups/{second['id']}/arrive/", {})
    line = second["lines"][0]["id"]
    away = driver.write(f"pickup-lines/{line}/turn-away/", {"look": UNRINSED}).json()
    assert (away["outcome"], away["mass_g"]) == ("turned_away", None)
    assert away["reasons"][0]["words"]
    refused = driver.write(f"{url}finish/", {})
    assert refused.status_code == HTTPStatus.CONFLICT
    assert [one["pickup_id"] for one in refused.json()["unsettled"]] == [third["id"]]
    driver.write(f"pickups/{third['id']}/skip/", {"reason": "Nobody there."})
    assert driver.write(f"{url}finish/", {}).json()["status"] == "done"
    stored = Account.objects.get(kind=Account.Kind.COLLECTED)
    assert stored.balance_g == 6_000


class TestVehicles:
    def test_a_maker_adds_a_van_and_its_driver_sees_it(
        self, world: Round, maker: Caller, driver: Caller
    ) -> None:
        key = new_id()
        made = maker.write("vehicles/", VAN, key=key)
        assert made.status_code == HTTPStatus.CREATED, made.content
        assert made.json()["id"] == str(key)
        assert made.json()["currency"] == world.community.currency
        listed = driver.get("vehicles/", retired="false").json()["results"]
        assert [van["name"] for van in listed] == ["Brown van", world.vehicle.name]

    def test_a_van_is_changed_and_retired(self, world: Round, maker: Caller) -> None:
        path = f"vehicles/{world.vehicle.id}/"
        changed = maker.write(path, {"payload_g": 650_000, "retired": True}, method="patch")
        assert changed.status_code == HTTPStatus.OK, changed.content
        assert changed.json()["payload_g"] == 650_000
        assert changed.json()["retired_at"] is not None
        assert maker.get("vehicles/", retired="false").json()["results"] == []

    @pytest.mark.parametrize(
        ("field", "value"),
        [
            ("payload_g", -5),
            ("payload_g", 10**15),
            ("volume_ml", "much"),
            ("cost_per_km", "-1"),
            ("name", ""),
            ("maker_id", "nobody"),
        ],
    )
    def test_a_van_that_cannot_be_is_refused_by_its_field(
        self, maker: Caller, field: str, value: object
    ) -> None:
        before = Vehicle.objects.count()
        refused = maker.write("vehicles/", {**VAN, field: value})
        assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
        assert [error["field"] for error in refused.json()["errors"]] == [field]
        assert Vehicle.objects.count() == before


class TestProposals:
    def test_a_proposal_is_queued_and_then_read_with_its_plan(
        self, world: Round, maker: Caller
    ) -> None:
        asked = maker.write("proposals/", shifts_of(world))
        assert asked.json()["status"] == "queued"
        path = f"proposals/{asked.json()['id']}/"
        assert maker.get(path).json()["plan"] is None
        services.solve_proposal(proposal_id=asked.json()["id"])
        ready = maker.get(path).json()
        assert (ready["status"], ready["failure"]) == ("ready", "")
        plan = ready["plan"]
        assert plan["totals"]["currency"] == "GBP"
        visited = [stop for route in plan["routes"] for stop in route["stops"]]
        assert len(visited) + len(plan["left_out"]) == len(world.places)
        assert all(one["why"] for one in [*visited, *plan["left_out"]])
        assert set(plan["caution_texts"]) == set(plan["cautions"])

    @pytest.mark.parametrize(
        ("change", "field"),
        [
            ({"day": "2020-01-01"}, "shifts[0].day"),
            ({"day": "0001-01-01"}, "shifts[0].day"),
            ({"day": "9999-12-31"}, "shifts[0].day"),
            ({"day": "yesterday"}, "shifts[0].day"),
            ({"starts": "13:00"}, "shifts[0].ends"),
            ({"starts": "8 o'clock"}, "shifts[0].starts"),
            ({"vehicle_id": str(uuid4())}, "shifts[0].vehicle_id"),
            ({"drive_s_max": 0}, "shifts[0].drive_s_max"),
        ],
    )
    def test_a_shift_that_cannot_be_is_refused_by_its_field(
        self, world: Round, maker: Caller, change: dict[str, object], field: str
    ) -> None:
        refused = maker.write("proposals/", shifts_of(world, **change))
        assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
        assert [error["field"] for error in refused.json()["errors"]] == [field]
        assert all(error["mend"] for error in refused.json()["errors"])
        assert not Proposal.objects.exists()

    def test_a_plan_that_breaks_rules_is_refused_with_them(
        self, world: Round, maker: Caller
    ) -> None:
        world.vehicle.volume_ml = 1_000
        world.vehicle.save()
        path = f"proposals/{ready_proposal(world, maker)}/"
        order = {"routes": [{"shift": 0, "place_ids": [str(world.places[0].id)]}]}
        changed = maker.write(f"{path}change/", order).json()
        [fault] = changed["plan"]["routes"][0]["violations"]
        assert fault["code"] == "too_bulky"
        refused = maker.write(f"{path}book/", {})
        assert refused.status_code == HTTPStatus.CONFLICT
        assert refused.json()["code"] == "plan_breaks_rules"
        assert refused.json()["violations"] == [fault]

    def test_booking_again_with_the_same_key_books_once(self, world: Round, maker: Caller) -> None:
        path, key = f"proposals/{ready_proposal(world, maker)}/book/", uuid4()
        place = next(iter(world.places))
        order = {"routes": [{"shift": 0, "place_ids": [str(place.id)]}]}
        maker.write(path.replace("book", "change"), order)
        answers = [maker.write(path, {}, key=key).json() for _ in range(2)]
        assert answers[0] == answers[1]
        assert Route.objects.count() == 1

    def test_a_shift_named_twice_is_refused(self, world: Round, maker: Caller) -> None:
        path = f"proposals/{ready_proposal(world, maker)}/change/"
        refused = maker.write(path, {"routes": [{"shift": 0, "place_ids": []}] * 2})
        assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
        assert refused.json()["errors"][0]["field"].startswith("routes")


class TestRoutes:
    def test_a_route_is_gpx_with_its_stops_in_order(self, world: Round, maker: Caller) -> None:
        route = booked_route(world, maker)
        sent = maker.get(f"routes/{route['id']}/gpx/")
        assert sent.status_code == HTTPStatus.OK
        assert sent["Content-Type"].startswith("application/gpx+xml")
        # The GPX 1.1 namespace and version, as its schema states them.
        root = ET.fromstring(sent.content)  # noqa: S314  # our own answer
        assert root.tag == "{http://www.topografix.com/GPX/1/1}gpx"
        assert root.attrib["version"] == "1.1"
        [way] = gpxpy.parse(sent.content.decode()).routes
        names = [point.name for point in way.points]
        assert names[1:-1] == [place.name for place in world.places]
        assert names[0] == names[-1] == route["workshop"]["name"]

    def test_a_route_that_is_not_there_is_a_problem_detail_also_as_gpx(self, maker: Caller) -> None:
        missing = maker.get(f"routes/{uuid4()}/gpx/")
        assert missing.status_code == HTTPStatus.NOT_FOUND
        assert missing["Content-Type"].startswith("application/problem+json")
        assert missing.json()["code"] == "not_found"

    def test_routes_are_filtered_by_day_state_and_van(self, world: Round, maker: Caller) -> None:
        route = booked_route(world, maker)
        assert maker.get("routes/", day=route["day"]).json()["results"][0]["stops"] == 3
        assert len(maker.get("routes/", status="planned").json()["results"]) == 1
        for query in ({"day": "2026-01-01"}, {"status": "done"}, {"vehicle": str(uuid4())}):
            assert maker.get("routes/", **query).json()["results"] == []
        assert maker.get("routes/", status="lost").status_code == HTTPStatus.UNPROCESSABLE_ENTITY

    def test_a_driver_is_assigned(self, world: Round, maker: Caller) -> None:
        route = booked_route(world, maker)
        person = member(world.community, Role.DRIVER, world.maker)
        path = f"routes/{route['id']}/assign/"
        assert maker.write(path, {"driver_id": str(person.id)}).json()["driver"] == {
            "id": str(person.id),
            "name": person.name,
        }
        stranger = maker.write(path, {"driver_id": str(uuid4())})
        assert stranger.status_code == HTTPStatus.UNPROCESSABLE_ENTITY

    def test_calling_off_needs_a_reason(self, world: Round, maker: Caller) -> None:
        path = f"routes/{booked_route(world, maker)['id']}/call-off/"
        refused = maker.write(path, {"reason": " "})
        assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
        assert maker.write(path, {"reason": "Snow."}).json()["status"] == "called_off"


class TestCalendar:
    def events(self, caller: Caller) -> list[Any]:
        sent = caller.get("pickups/calendar/")
        assert sent.status_code == HTTPStatus.OK
        assert sent["Content-Type"].startswith("text/calendar")
        return icalendar.Calendar.from_ical(sent.content.decode()).walk("VEVENT")

    def test_a_place_has_its_visits_in_its_calendar(
        self, world: Round, maker: Caller, contact: Caller
    ) -> None:
        route = booked_route(world, maker)
        assert len(self.events(maker)) == len(world.places)
        [event] = self.events(contact)
        assert event.decoded("dtstart").isoformat().startswith(route["day"])
        assert (event["status"], event["location"]) == ("CONFIRMED", world.places[0].address)

    def test_a_visit_that_was_called_off_is_cancelled_in_it(
        self, world: Round, maker: Caller, contact: Caller
    ) -> None:
        route = booked_route(world, maker)
        [before] = self.events(contact)
        maker.write(f"routes/{route['id']}/call-off/", {"reason": "Snow."})
        [event] = self.events(contact)
        assert event["uid"] == before["uid"]
        assert (event["status"], event["description"]) == ("CANCELLED", "Snow.")

    def test_it_is_as_the_standard_has_it(self, world: Round, maker: Caller) -> None:
        """RFC 5545: lines end in CRLF and fold at 75 octets; UID and DTSTAMP are required."""
        booked_route(world, maker)
        sent = maker.get("pickups/calendar/").content
        lines = sent.split(b"\r\n")
        assert lines[-1] == b""
        assert not any(b"\n" in line or len(line) > 75 for line in lines)
        assert sent.count(b"DTSTAMP") == sent.count(b"UID") == len(world.places)


class TestVisits:
    def test_a_visit_collected_twice_with_one_key_is_collected_once(
        self, world: Round, driver: Caller
    ) -> None:
        line, key = world.at_the_door(), uuid4()
        body = {"method": "estimated", "gross_g": 3_000, "tare_g": 0}
        answers = [
            driver.write(f"pickup-lines/{line.id}/collect/", body, key=key).json() for _ in range(2)
        ]
        assert answers[0] == answers[1]
        assert answers[0]["lot_id"] == str(key)
        assert Lot.objects.count() == 1

    @pytest.mark.parametrize(
        ("body", "field"),
        [
            ({"method": "guessed", "gross_g": 9}, "method"),
            ({"method": "estimated", "gross_g": -1}, "gross_g"),
            ({"method": "estimated", "gross_g": 10**12}, "gross_g"),
            ({"method": "estimated", "gross_g": 100, "tare_g": 100}, "tare_g"),
            ({"method": "weighed", "gross_g": 900}, "scale_id"),
            ({"method": "volume", "percent": 900}, "percent"),
            ({"method": "estimated", "gross_g": 9, "tare_g": 0, "at": "2199-01-01T00:00Z"}, "at"),
            ({"method": "estimated", "gross_g": 9, "tare_g": 0, "at": "0001-01-01T00:00Z"}, "at"),
            ({"method": "estimated", "gross_g": 900, "look": {"met": ["shiny"]}}, "look.met[0]"),
        ],
    )
    def test_a_reading_that_cannot_be_is_refused_by_its_field(
        self, world: Round, driver: Caller, body: dict[str, object], field: str
    ) -> None:
        line = world.at_the_door()
        refused = driver.write(f"pickup-lines/{line.id}/collect/", body)
        assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY, refused.content
        assert [error["field"] for error in refused.json()["errors"]] == [field]
        assert not Lot.objects.exists()
        assert PickupLine.objects.get(id=line.id).outcome == PickupLine.Outcome.OPEN

    def test_a_contact_is_shown_no_costs(self, world: Round, contact: Caller) -> None:
        world.booked()
        [pickup] = contact.get("pickups/").json()["results"]
        assert pickup["place"]["id"] == str(world.places[0].id)
        assert "why" not in pickup

    def test_visits_are_filtered_by_place_and_state(self, world: Round, maker: Caller) -> None:
        world.booked()
        place = world.places[1]
        [one] = maker.get("pickups/", place=str(place.id)).json()["results"]
        assert one["place"]["name"] == place.name
        assert maker.get("pickups/", status="done").json()["results"] == []

    def test_a_longer_list_is_read_in_as_many_queries(self, world: Round, maker: Caller) -> None:
        world.booked()

        def queries_of(**query: str) -> int:
            with CaptureQueriesContext(connection) as queries:
                assert maker.get("pickups/", **query).status_code == HTTPStatus.OK
            return len(queries)

        assert queries_of() == queries_of(place=str(world.places[0].id))


def test_a_visit_happened_when_the_phone_says(world: Round, driver: Caller) -> None:
    pickup = world.on_the_road()[0]
    told = driver.write(f"pickups/{pickup.id}/arrive/", {"at": on_monday(8, 12).isoformat()})
    assert told.json()["arrived_at"] == "2026-03-02T08:12:00Z"


def test_a_place_that_asked_without_a_signal_asked_then(world: Round, contact: Caller) -> None:
    ask = f"places/{world.places[0].id}/ask-pickup/"
    asked = contact.write(ask, {"at": "2026-03-01T19:30:00Z", "note": "Full."})
    assert asked.json()["asked_at"] == "2026-03-01T19:30:00Z"
