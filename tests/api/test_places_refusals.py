"""What cannot be used about places is refused with the field and the mend, and changes nothing."""

from dataclasses import dataclass
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest

from network.people.models import Membership, Organisation
from network.places.models import (
    AccessWindow,
    Agreement,
    CalendarSpan,
    Container,
    FillReport,
    Place,
    PlaceImport,
)
from network.places.services import preview_import, register_place
from tests.api.places_browser import Browser, browse
from tests.services.places_story import Isle, a_place, an_agreement, make_isle

pytestmark = pytest.mark.django_db
TABLES = (
    Organisation,
    Membership,
    Place,
    AccessWindow,
    CalendarSpan,
    Agreement,
    Container,
    FillReport,
    PlaceImport,
)
IDS = ("stream", "place", "agreement", "container", "rules", "import")


@pytest.fixture
def isle() -> Isle:
    return make_isle()


@pytest.fixture
def place(isle: Isle) -> Place:
    return _settled(isle)


def _settled(isle: Isle) -> Place:
    return register_place(
        isle.contact,
        place=a_place(),
        organisation=isle.school.id,
        agreement=an_agreement(isle.stream.id),
    )


def _rows() -> list[Any]:
    return [list(table.objects.order_by("id").values()) for table in TABLES]


def _body(isle: Isle, **changes: object) -> dict[str, Any]:
    body = {
        "organisation_id": str(isle.school.id),
        "name": "Annexe",
        "kind": "school",
        "address": "3 Quay",
        "longitude": -29.98,
        "latitude": 45.01,
        **changes,
    }
    return {name: value for name, value in body.items() if value is not ...}


WINDOW = {"weekday": 1, "opens": "09:00", "closes": "12:00"}
SPAN = {"kind": "closure", "first_day": "2026-05-01", "last_day": "2026-05-02"}
BAG = {"kind": "bag", "volume_ml": 60_000, "tare_g": 150, "count": 1}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": ...}, "name"),
        ({"name": "   "}, "name"),
        ({"name": 7 * ["x"]}, "name"),
        ({"name": "x" * 161}, "name"),
        ({"kind": "shop"}, "kind"),
        ({"kind": "workshop"}, "kind"),
        ({"address": None}, "address"),
        ({"longitude": "far"}, "longitude"),
        ({"longitude": "nan"}, "longitude"),
        ({"longitude": 181}, "longitude"),
        ({"latitude": 1e300}, "latitude"),
        ({"district_id": str(uuid4())}, "district_id"),
        ({"district_id": "7"}, "district_id"),
        ({"organisation_id": str(uuid4())}, "organisation_id"),
        ({"organisation_id": ...}, "organisation"),
        ({"organisation": {"name": "X", "kind": "school"}}, "organisation"),
        ({"windows": {}}, "windows"),
        ({"windows": [{**WINDOW, "weekday": 7}]}, "windows[0].weekday"),
        ({"windows": [WINDOW, {**WINDOW, "opens": "25:00"}]}, "windows[1].opens"),
        ({"windows": [{**WINDOW, "closes": "08:00"}]}, "windows[0].closes"),
        ({"windows": [WINDOW, WINDOW]}, "windows[1].opens"),
        ({"windows": [WINDOW] * 51}, "windows"),
        ({"spans": [{**SPAN, "last_day": "2026-04-30"}]}, "spans[0].last_day"),
        ({"spans": [{**SPAN, "last_day": "2026-02-30"}]}, "spans[0].last_day"),
        ({"spans": [{**SPAN, "last_day": "9999-12-31"}]}, "spans[0].last_day"),
        ({"spans": [{**SPAN, "kind": "party"}]}, "spans[0].kind"),
        ({"agreement": {}}, "agreement.stream_id"),
        ({"agreement": {"main_item": "cork"}}, "agreement.main_item"),
        ({"agreement": {"starts_on": "soon"}}, "agreement.starts_on"),
        ({"agreement": {"starts_on": "0001-01-01"}}, "agreement.starts_on"),
        ({"agreement": {"stream_id": str(uuid4())}}, "agreement.stream_id"),
        (
            {"agreement": {"containers": [{**BAG, "volume_ml": 0}]}},
            "agreement.containers[0].volume_ml",
        ),
        (
            {"agreement": {"containers": [{**BAG, "volume_ml": 10**12}]}},
            "agreement.containers[0].volume_ml",
        ),
        (
            {"agreement": {"containers": [{**BAG, "tare_g": -1}]}},
            "agreement.containers[0].tare_g",
        ),
        (
            {"agreement": {"containers": [{**BAG, "count": 101}]}},
            "agreement.containers[0].count",
        ),
        ({"agreement": {"containers": [BAG] * 101}}, "agreement.containers"),
    ],
)
def test_a_place_that_cannot_be_is_refused_by_its_field(
    isle: Isle, changes: dict[str, Any], field: str
) -> None:
    agreement = changes.get("agreement")
    if agreement:
        whole = {
            "stream_id": str(isle.stream.id),
            "main_item": "bottle-cap",
            "starts_on": "2026-01-12",
            "containers": [BAG],
        }
        changes = {**changes, "agreement": {**whole, **agreement}}
    before = _rows()

    answer = browse(isle.community, isle.contact).send("places/", _body(isle, **changes))

    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY, answer.json()
    assert answer.headers["Content-Type"] == "application/problem+json"
    errors = {error["field"]: error["mend"] for error in answer.json()["errors"]}
    assert field in errors
    assert all(errors.values())
    assert _rows() == before


@pytest.mark.parametrize("body", [[], "place", None, 7, {}])
def test_what_is_no_place_at_all_is_refused(isle: Isle, body: object) -> None:
    before = _rows()
    answer = browse(isle.community, isle.contact).send("places/", body)
    assert HTTPStatus.BAD_REQUEST <= answer.status_code < HTTPStatus.INTERNAL_SERVER_ERROR
    assert _rows() == before


def _ids(isle: Isle, place: Place) -> dict[str, str]:
    agreement = place.agreements.get()
    preview = preview_import(
        isle.organiser,
        file_name="places.csv",
        content=b"Name,Address,Lat,Long\nCove,3 Quay,45.01,-29.99\n",
    )
    return {
        "stream": str(isle.stream.id),
        "place": str(place.id),
        "agreement": str(agreement.id),
        "container": str(agreement.containers.all()[0].id),
        "rules": str(isle.rules.id),
        "import": str(preview.id),
    }


@dataclass(frozen=True, kw_only=True)
class Write:
    """A write that names something by its id, and who may do it."""

    who: str
    path: str
    body: dict[str, Any]
    method: str = "post"


AGREEMENT = {
    "place_id": "{place}",
    "stream_id": "{stream}",
    "main_item": "bottle-cap",
    "starts_on": "2026-01-12",
}
WRITES = [
    Write(who="contact", path="places/{place}/", body={"name": "Mine"}, method="patch"),
    Write(who="organiser", path="places/{place}/", body={"name": "Mine"}, method="patch"),
    Write(who="organiser", path="places/{place}/admit/", body={}),
    Write(who="organiser", path="places/{place}/refuse/", body={"reason": "No."}),
    Write(who="contact", path="agreements/", body=AGREEMENT),
    Write(who="contact", path="agreements/{agreement}/end/", body={"ends_on": "2026-02-01"}),
    Write(who="contact", path="agreements/{agreement}/move/", body={"rule_version_id": "{rules}"}),
    Write(who="making", path="containers/", body={"agreement_id": "{agreement}", **BAG}),
    Write(who="making", path="containers/{container}/retire/", body={}),
    Write(who="contact", path="containers/{container}/fill-reports/", body={"percent": 50}),
    Write(who="organiser", path="place-imports/{import}/save/", body={}),
]


@pytest.mark.parametrize("write", WRITES, ids=lambda write: f"{write.who} {write.path}")
@pytest.mark.parametrize("whose", ["another community's", "nobody's"])
def test_ids_from_elsewhere_change_nothing(isle: Isle, write: Write, whose: str) -> None:
    elsewhere = make_isle()
    ids = (
        _ids(elsewhere, _settled(elsewhere))
        if whose == "another community's"
        else {name: str(uuid4()) for name in IDS}
    )
    filled = {
        name: value.format(**ids) if isinstance(value, str) else value
        for name, value in write.body.items()
    }
    before = _rows()

    answer = browse(isle.community, getattr(isle, write.who)).send(
        write.path.format(**ids), filled, method=write.method
    )

    assert answer.status_code == HTTPStatus.NOT_FOUND, answer.json()
    assert _rows() == before


def test_the_stream_and_district_of_another_community_are_not_known_here(isle: Isle) -> None:
    elsewhere = make_isle()
    agreement = {
        "stream_id": str(elsewhere.stream.id),
        "main_item": "bottle-cap",
        "starts_on": "2026-01-12",
    }
    browser = browse(isle.community, isle.contact)

    for changes, field in (
        ({"agreement": agreement}, "agreement.stream_id"),
        ({"district_id": str(elsewhere.workshop.district_id)}, "district_id"),
        ({"organisation_id": str(elsewhere.school.id)}, "organisation_id"),
    ):
        answer = browser.send("places/", _body(isle, **changes))
        assert [error["field"] for error in answer.json()["errors"]] == [field]
    assert not Place.objects.filter(name="Annexe").exists()


READS = [
    "places/{place}/",
    "places/{place}/card/",
    "places/{place}/labels/",
    "containers/{container}/fill-reports/",
    "place-imports/{import}/",
]


@pytest.mark.parametrize("path", READS)
def test_nothing_of_another_community_is_read(isle: Isle, path: str) -> None:
    elsewhere = make_isle()
    ids = _ids(elsewhere, _settled(elsewhere))

    answer = browse(isle.community, isle.organiser).get(path.format(**ids))

    assert answer.status_code == HTTPStatus.NOT_FOUND


@pytest.mark.parametrize("path", ["places/", "agreements/", "containers/", "place-imports/"])
def test_lists_are_of_one_community_only(isle: Isle, path: str) -> None:
    elsewhere = make_isle()
    ids = set(_ids(elsewhere, _settled(elsewhere)).values())

    shown = browse(isle.community, isle.organiser).get(path).json()["results"]

    assert ids.isdisjoint(row["id"] for row in shown)


@pytest.mark.parametrize(
    ("path", "query", "field"),
    [
        ("offers/", {"latitude": "45"}, "longitude"),
        ("offers/", {"longitude": "x", "latitude": "45"}, "longitude"),
        ("offers/", {"longitude": "1", "latitude": "91"}, "latitude"),
        ("offers/", {"longitude": "nan", "latitude": "45"}, "longitude"),
        ("places/", {"kind": "shop"}, "kind"),
        ("places/", {"stream": "7"}, "stream"),
        ("places/", {"district": "x"}, "district"),
        ("places/map/", {"status": "lost"}, "status"),
        ("containers/", {"tag": "x" * 30}, "tag"),
        ("agreements/", {"place": "7"}, "place"),
    ],
)
def test_a_query_that_means_nothing_is_refused_by_its_name(
    isle: Isle, path: str, query: dict[str, str], field: str
) -> None:
    answer = browse(isle.community, isle.organiser).get(path, **query)

    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert [error["field"] for error in answer.json()["errors"]] == [field]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"percent": 151}, "percent"),
        ({"percent": -1}, "percent"),
        ({"percent": "much"}, "percent"),
        ({}, "percent"),
        ({"percent": 50, "at": "2999-01-01T00:00:00Z"}, "at"),
        ({"percent": 50, "at": "1999-01-01T00:00:00Z"}, "at"),
        ({"percent": 50, "at": "yesterday"}, "at"),
    ],
)
def test_a_level_that_cannot_be_is_refused(
    isle: Isle, place: Place, body: dict[str, Any], field: str
) -> None:
    bag = place.agreements.get().containers.all()[0]

    answer = browse(isle.community, isle.contact).send(f"containers/{bag.id}/fill-reports/", body)

    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert [error["field"] for error in answer.json()["errors"]] == [field]
    assert not FillReport.objects.exists()


def test_a_person_without_a_role_here_reads_no_list(isle: Isle, place: Place) -> None:
    elsewhere = make_isle()
    browser: Browser = browse(isle.community, elsewhere.organiser)
    for path in ("places/", "places/map/", f"places/{place.id}/", "agreements/", "containers/"):
        assert browser.get(path).status_code == HTTPStatus.FORBIDDEN
