"""Places over HTTP: from an offer to a container's level, and what is printed."""

import io
import threading
from datetime import timedelta
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.utils import timezone
from pypdf import PdfReader

from network.people.queries import actor_in
from network.pickups.models import Pickup
from network.places.models import Container, FillReport, Place
from network.places.services import register_place
from tests.api.places_browser import Browser, browse
from tests.factories import RuleVersionFactory, UserFactory
from tests.services.places_story import Isle, a_place, an_agreement, make_isle

pytestmark = pytest.mark.django_db


@pytest.fixture
def isle() -> Isle:
    return make_isle()


@pytest.fixture
def place(isle: Isle) -> Place:
    return register_place(
        isle.contact,
        place=a_place(),
        organisation=isle.school.id,
        agreement=an_agreement(isle.stream.id),
    )


@pytest.fixture
def contact(isle: Isle) -> Browser:
    return browse(isle.community, isle.contact)


@pytest.fixture
def organiser(isle: Isle) -> Browser:
    return browse(isle.community, isle.organiser)


def new_place(isle: Isle, **changes: object) -> dict[str, Any]:
    return {
        "organisation": {"name": "Cove School", "kind": "school"},
        "name": "Cove School",
        "kind": "school",
        "address": "3 Quay",
        "longitude": -29.98,
        "latitude": 45.01,
        "access_notes": "Ring at reception.",
        "contact_phone": "01632 960001",
        "observes_public_holidays": True,
        "windows": [{"weekday": 1, "opens": "09:00", "closes": "12:00"}],
        "spans": [
            {
                "kind": "term",
                "first_day": "2026-01-05",
                "last_day": "2026-07-17",
                "label": "Spring",
            }
        ],
        "agreement": {
            "stream_id": str(isle.stream.id),
            "main_item": "bottle-cap",
            "starts_on": "2026-01-12",
            "containers": [{"kind": "bag", "volume_ml": 60000, "tare_g": 150, "count": 2}],
        },
        **changes,
    }


def test_anyone_is_offered_the_streams_near_a_point(isle: Isle) -> None:
    answer = browse(isle.community).get("offers/", longitude=-29.98, latitude=45.0, kind="school")

    (offer,) = answer.json()
    assert offer["stream"]["id"] == str(isle.stream.id)
    assert offer["stream"]["rule_version"]["rules"]["smallest_g"] == 2_000
    assert offer["within_reach"] is True
    assert [line["code"] for line in offer["first_pickup_depends_on"]] == [
        "admitted",
        "container_placed",
        "worthwhile_amount",
        "on_a_route",
    ]


def test_a_stranger_registers_a_place_and_the_organiser_admits_it(
    isle: Isle, organiser: Browser
) -> None:
    stranger = browse(
        isle.community, actor_in(community=isle.community, user_id=UserFactory.create().id)
    )

    answer = stranger.send("places/", new_place(isle))

    assert answer.status_code == HTTPStatus.CREATED, answer.json()
    shown = answer.json()
    assert shown["status"] == "asked"
    assert shown["windows"] == [{"weekday": 1, "opens": "09:00", "closes": "12:00"}]
    assert shown["spans"][0]["first_day"] == "2026-01-05"
    (agreement,) = shown["agreements"]
    assert agreement["status"] == "asked"
    assert agreement["main_item"] == "bottle-cap"
    assert len(agreement["containers"]) == 2
    assert agreement["containers"][0]["expected"]["percent"] == 0
    assert shown["next_visit"] is None

    admitted = organiser.send(f"places/{shown['id']}/admit/", {}).json()
    assert admitted["status"] == "admitted"
    assert stranger.get(f"places/{shown['id']}/").json()["agreements"][0]["status"] == "running"


def test_a_registration_sent_again_is_answered_again_and_adds_nothing(
    isle: Isle, organiser: Browser
) -> None:
    key = uuid4()
    first = organiser.send("places/", new_place(isle), key=key)
    again = organiser.send("places/", new_place(isle), key=key)
    other = organiser.send("places/", new_place(isle, name="Other"), key=key)

    assert (first.json(), again.json()["id"]) == (again.json(), str(key))
    assert again.headers["Idempotent-Replay"] == "true"
    assert other.status_code == HTTPStatus.CONFLICT
    assert Place.objects.filter(name__in=["Cove School", "Other"]).count() == 1


@pytest.mark.django_db(transaction=True)
def test_one_registration_sent_twice_at_once_is_one_place() -> None:
    isle = make_isle()
    key = uuid4()
    start = threading.Barrier(2)
    answers: list[Any] = []

    def register() -> None:
        browser = browse(isle.community, isle.organiser)
        start.wait()
        try:
            answers.append(browser.send("places/", new_place(isle), key=key))
        finally:
            connection.close()

    threads = [threading.Thread(target=register) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert [answer.status_code for answer in answers] == [HTTPStatus.CREATED] * 2
    assert answers[0].json() == answers[1].json()
    assert Place.objects.filter(name="Cove School").count() == 1
    assert Container.objects.count() == 2


def test_a_contact_changes_its_place(contact: Browser, place: Place) -> None:
    answer = contact.send(
        f"places/{place.id}/",
        {"access_notes": "Side gate.", "windows": []},
        method="patch",
    )

    assert answer.json()["access_notes"] == "Side gate."
    assert answer.json()["windows"] == []
    assert answer.json()["spans"] != []


def test_a_contact_says_when_a_visit_is_best(contact: Browser, place: Place) -> None:
    hours = {"prefers_from": "10:00", "prefers_until": "11:30"}
    answer = contact.send(f"places/{place.id}/", hours, method="patch")
    assert {name: answer.json()[name] for name in hours} == hours
    late = contact.send(f"places/{place.id}/", {"prefers_from": "12:00"}, method="patch")
    half = contact.send(f"places/{place.id}/", {"prefers_until": None}, method="patch")
    for refused in (late, half):
        assert [fault["field"] for fault in refused.json()["errors"]] == ["prefers_until"]
    nothing = {"prefers_from": None, "prefers_until": None}
    answer = contact.send(f"places/{place.id}/", nothing, method="patch")
    assert answer.json()["prefers_from"] is None


def test_a_refused_place_reads_why(isle: Isle, organiser: Browser, place: Place) -> None:
    Place.objects.filter(id=place.id).update(status=Place.Status.ASKED)

    answer = organiser.send(f"places/{place.id}/refuse/", {"reason": "Not on the isle."})

    assert (answer.json()["status"], answer.json()["status_reason"]) == (
        "refused",
        "Not on the isle.",
    )


def test_a_place_shows_when_it_is_visited_next(isle: Isle, contact: Browser, place: Place) -> None:
    asked = Pickup.objects.create(
        community=isle.community,
        maker=isle.maker,
        place=place,
        status=Pickup.Status.ASKED,
        created_at=timezone.now(),
        asked_at=timezone.now(),
    )

    assert contact.get(f"places/{place.id}/").json()["next_visit"] == {
        "pickup_id": str(asked.id),
        "day": None,
        "planned_arrival": None,
        "status": "asked",
    }


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"kind": "school"}, 1),
        ({"kind": "cafe"}, 0),
        ({"status": "admitted"}, 2),
        ({"search": "quILL"}, 1),
        ({"search": "quay lane"}, 1),
        ({"search": "100%"}, 0),
    ],
)
def test_places_are_found_by_kind_status_and_words(
    organiser: Browser, place: Place, query: dict[str, str], found: int
) -> None:
    assert len(organiser.get("places/", **query).json()["results"]) == found


def test_places_are_found_by_stream_and_district(
    isle: Isle, organiser: Browser, place: Place
) -> None:
    district = isle.workshop.district_id

    by_stream = organiser.get("places/", stream=str(isle.stream.id)).json()["results"]
    by_district = organiser.get("places/", district=str(district)).json()["results"]

    assert [row["name"] for row in by_stream] == ["Quill School"]
    assert [row["name"] for row in by_district] == [isle.workshop.name]


def test_the_map_is_geojson_with_longitude_first(organiser: Browser, place: Place) -> None:
    """RFC 7946 §3.1.1: a position is longitude, then latitude."""
    shown = organiser.get("places/map/").json()

    assert shown["type"] == "FeatureCollection"
    (feature,) = [f for f in shown["features"] if f["id"] == str(place.id)]
    assert feature["geometry"] == {"type": "Point", "coordinates": [-29.975, 45.0]}
    assert feature["properties"]["name"] == "Quill School"


def test_a_container_is_found_by_its_tag_however_it_is_typed(
    contact: Browser, place: Place
) -> None:
    tag = place.agreements.get().containers.all()[0].tag

    (found,) = contact.get("containers/", tag=tag.lower()).json()["results"]

    assert (found["tag"], found["place"]["name"]) == (tag, "Quill School")
    assert found["expected"]["rests_on"].startswith("Put there empty on")


def test_how_full_a_bag_is_takes_one_request(contact: Browser, place: Place) -> None:
    bag = place.agreements.get().containers.all()[0]
    key = uuid4()

    first = contact.send(f"containers/{bag.id}/fill-reports/", {"percent": 75}, key=key)
    again = contact.send(f"containers/{bag.id}/fill-reports/", {"percent": 75}, key=key)

    assert first.status_code == HTTPStatus.CREATED
    assert again.json() == first.json()
    assert FillReport.objects.count() == 1
    listed = contact.get(f"containers/{bag.id}/fill-reports/").json()["results"]
    assert [row["percent"] for row in listed] == [75]
    shown = contact.get(f"places/{place.id}/").json()["agreements"][0]["containers"]
    assert {row["tag"]: row["last_report"] and row["last_report"]["percent"] for row in shown}[
        bag.tag
    ] == 75


def test_the_maker_adds_and_retires_containers(isle: Isle, place: Place) -> None:
    maker = browse(isle.community, isle.making)
    agreement = place.agreements.get()
    crates = {"kind": "crate", "volume_ml": 40_000, "tare_g": 1_800, "count": 2}

    added = maker.send("containers/", {"agreement_id": str(agreement.id), **crates})
    gone = maker.send(f"containers/{added.json()[0]['id']}/retire/", {})

    assert added.status_code == HTTPStatus.CREATED
    assert gone.json()["retired_at"] is not None
    assert len(maker.get("containers/", retired="false").json()["results"]) == 3
    assert len(maker.get(f"places/{place.id}/").json()["agreements"][0]["containers"]) == 3


def test_a_place_sees_newer_rules_until_it_has_agreed_to_them(
    isle: Isle, contact: Browser, place: Place
) -> None:
    agreed = place.agreements.get()

    def newer_rules() -> Any:
        return contact.get(f"places/{place.id}/").json()["agreements"][0]["newer_rules"]

    assert newer_rules() is None
    newer = RuleVersionFactory.create(community=isle.community, stream=isle.stream, number=2)
    assert (newer_rules()["number"], newer_rules()["id"]) == (2, str(newer.id))
    contact.send(f"agreements/{agreed.id}/move/", {"rule_version_id": str(newer.id)})
    assert newer_rules() is None


def test_agreements_are_made_moved_and_ended(isle: Isle, contact: Browser, place: Place) -> None:
    first = place.agreements.get()
    newer = RuleVersionFactory.create(community=isle.community, stream=isle.stream, number=2)
    today = timezone.now().date()

    moved = contact.send(f"agreements/{first.id}/move/", {"rule_version_id": str(newer.id)})
    ended = contact.send(
        f"agreements/{first.id}/end/",
        {"ends_on": str(today - timedelta(days=2)), "reason": "Moving house."},
    )
    made = contact.send("agreements/", {"place_id": str(place.id), **new_place(isle)["agreement"]})

    assert moved.json()["rule_version"]["number"] == 2
    assert (ended.json()["status"], ended.json()["end_reason"]) == ("ended", "Moving house.")
    assert (made.status_code, made.json()["status"]) == (HTTPStatus.CREATED, "running")
    assert len(contact.get("agreements/", status="running").json()["results"]) == 1


@pytest.mark.parametrize("paper", ["card", "labels"])
@pytest.mark.parametrize("accept", ["application/pdf", "text/html,*/*;q=0.8"])
def test_papers_come_as_pdf(contact: Browser, place: Place, paper: str, accept: str) -> None:
    answer = contact.client.get(
        f"{contact.root}places/{place.id}/{paper}/", headers={"Accept": accept}
    )

    assert answer.headers["Content-Type"] == "application/pdf"
    assert len(PdfReader(io.BytesIO(answer.content)).pages) == 1


def test_a_paper_that_is_not_there_is_a_problem_detail(isle: Isle, organiser: Browser) -> None:
    answer = organiser.client.get(
        f"{organiser.root}places/{isle.workshop.id}/card/", headers={"Accept": "application/pdf"}
    )

    assert answer.status_code == HTTPStatus.NOT_FOUND
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert answer.json()["code"] == "not_found"
