"""Bad input is refused with the field and the mend named, and changes nothing."""

import json
from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.utils import timezone

from api.rights import COUNTER, PUBLIC, RIGHTS, SIGNED_IN
from network.people.models import Role
from tests.api.openapi import example, request_schema, uuid_parts, with_ids, wrongs
from tests.api.walk import Walked, routes
from tests.factories import CommunityFactory
from tests.scenario import Populated, populate

pytestmark = pytest.mark.django_db
PROBLEM = "application/problem+json"
TOO_LARGE = 50 * 1024 * 1024
WRITES = [(route, method) for route in routes() for method in route.methods if method != "GET"]
OTHER_SHAPES: tuple[object, ...] = ([], [{}], "text", 7, None, True)
UNREADABLE = (
    b"{",
    b'{"a": NaN}',
    b'{"a": Infinity}',
    b'{"a": 1e999}',
    b'{"a": "\\u0000"}',
    b'{"a": "\\ud800"}',
    b'{"a\\u0000": 1}',
    b'{"a": ' + b"9" * 5_000 + b"}",
    b"[" * 100_000,
    b'{"a":' * 900 + b"1" + b"}" * 900,
    b"\xff\xfe",
)


class Caller:
    """Somebody whose role allows a call, so that it is the input that is refused."""

    def __init__(self, populated: Populated) -> None:
        self.populated = populated
        self.clients = {role: Client(raise_request_exception=False) for role in Role}
        for role, client in self.clients.items():
            client.force_login(populated.people[role])
        shown = {"Authorization": f"Counter {populated.counter_token}"}
        self.counter = Client(raise_request_exception=False, headers=shown)

    def client(self, route: Walked, method: str) -> Client:
        allowed = RIGHTS[route.name][method]
        if PUBLIC in allowed:
            return Client(raise_request_exception=False)
        if COUNTER in allowed:
            return self.counter
        able = [role for role in Role if role in allowed or SIGNED_IN in allowed]
        return self.clients[able[0]]

    def send(self, route: Walked, method: str, body: bytes, **headers: str) -> Any:
        return self.client(route, method).generic(
            method,
            self.address(route),
            body,
            content_type="application/json",
            headers={"Idempotency-Key": str(uuid4()), **headers},
        )

    def example(self, schema: Any) -> Any:
        """Return a body as right as one can be made without knowing what it is for."""
        world = self.populated.round
        rows = {
            "agreement_id": world.agreements[0],
            "driver_id": self.populated.people[Role.DRIVER],
            "maker_id": world.maker,
            "organisation_id": world.places[0].organisation,
            "place_id": world.places[0],
            "scale_id": world.scale,
            "stream_id": world.agreements[0].stream,
            "vehicle_id": world.vehicle,
        }
        return with_ids(example(schema), {name: str(row.id) for name, row in rows.items()})

    def address(self, route: Walked) -> str:
        here = self.populated
        row = here.row(route.subject).id if route.subject else here.community.id
        return route.address(community=here.community.slug, id=row)


def contents() -> dict[str, str]:
    """Return a digest of every table; sessions are no part of the trade."""
    tables = set(connection.introspection.table_names()) - {"django_session"}
    digest = "SELECT coalesce(md5(string_agg(t::text, '|' ORDER BY t::text)), '') FROM {} t"
    digests = {}
    with connection.cursor() as cursor:
        for table in sorted(tables):
            cursor.execute(digest.format(connection.ops.quote_name(table)))
            digests[table] = cursor.fetchone()[0]
    return digests


@pytest.fixture
def caller() -> Caller:
    return Caller(populate("isle"))


def faults_of(answer: Any, field: str | None = None) -> Iterator[str]:
    """Say in what a refusal falls short of a problem that names the field and the mend."""
    if not 400 <= answer.status_code < 500:
        yield f"answers {answer.status_code}"
        return
    if answer.headers["Content-Type"] != PROBLEM:
        yield f"is {answer.headers['Content-Type']}"
        return
    problem = json.loads(answer.content)
    if field is None:
        return
    if not problem["errors"]:
        yield f"{problem['status']} names no field: {problem['detail']}"
    elif not any(_root(error["field"]) == _root(field) for error in problem["errors"]):
        yield f"names {[error['field'] for error in problem['errors']]}"
    elif not all(error["mend"] for error in problem["errors"]):
        yield f"has no mend for {problem['errors']}"


def _root(path: str) -> str:
    return path.split(".", maxsplit=1)[0].split("[", maxsplit=1)[0]


def as_json(body: Any) -> bytes:
    return json.dumps(body).encode()


def shown(body: Any) -> str:
    return json.dumps(body)[:120]


def bodies() -> Iterator[tuple[Walked, str, Any]]:
    """Yield the writes that take JSON, each with its schema."""
    for route, method in WRITES:
        schema = request_schema(route.template, method)
        if schema is not None:
            yield route, method, schema


def test_what_is_no_json_is_refused_and_changes_nothing(caller: Caller) -> None:
    before, wrong = contents(), []
    for route, method, _ in bodies():
        for body in UNREADABLE:
            answer = caller.send(route, method, body)
            fault = next(faults_of(answer), "")
            named = answer.status_code < 500 and json.loads(answer.content)["errors"]
            if fault or not named:
                wrong.append(f"{method} {route.name} {body[:20]!r} {fault or 'names nothing'}")
    assert not wrong
    assert contents() == before


def test_a_body_of_another_shape_is_refused_and_changes_nothing(caller: Caller) -> None:
    before, wrong = contents(), []
    for route, method, _ in bodies():
        for body in OTHER_SHAPES:
            faults = faults_of(caller.send(route, method, as_json(body)), "body")
            wrong += [f"{method} {route.name} {body!r}: {fault}" for fault in faults]
    assert not wrong
    assert contents() == before


def test_each_wrong_field_is_named_with_its_mend_and_changes_nothing(
    caller: Caller, capsys: pytest.CaptureFixture[str]
) -> None:
    before, wrong, count = contents(), [], 0
    for route, method, schema in bodies():
        for field, body in wrongs(schema, caller.example(schema)):
            count += 1
            faults = faults_of(caller.send(route, method, as_json(body)), field)
            wrong += [f"{method} {route.name} {field}: {f} of {shown(body)}" for f in faults]
    with capsys.disabled():
        print(f"\n{count} wrong fields", end=" ")  # noqa: T201  # a walk of nothing shows
    assert not wrong
    assert contents() == before


def test_the_ids_of_another_community_are_refused_and_change_nothing(caller: Caller) -> None:
    other = populate("other").round
    foreign = [other.maker, other.vehicle, other.scale, other.places[0], other.containers[0]]
    foreign_ids = [str(row.id) for row in (*foreign, other.agreements[0].stream)]
    before, wrong = contents(), []
    for route, method, schema in bodies():
        body = caller.example(schema)
        for field in uuid_parts(schema, body):
            for row in foreign_ids:
                answer = caller.send(route, method, as_json({**body, field: row}))
                wrong += [f"{method} {route.name} {field}: {f}" for f in faults_of(answer)]
    assert not wrong
    assert contents() == before


def test_fifty_megabytes_are_refused_unread(caller: Caller) -> None:
    before, wrong = contents(), []
    for route, method in WRITES:
        answer = caller.client(route, method).generic(
            method,
            caller.address(route),
            b"{}",
            content_type="application/json",
            CONTENT_LENGTH=str(TOO_LARGE),
        )
        wrong += [f"{method} {route.name}: {fault}" for fault in faults_of(answer, "body")]
        assert answer.status_code == 413
    (route,) = [route for route in routes() if route.name == "districts"]
    assert caller.send(route, "POST", b'{"name": "' + b"x" * TOO_LARGE + b'"}').status_code == 413
    assert not wrong
    assert contents() == before


def test_a_body_of_another_content_type_is_refused(caller: Caller) -> None:
    before, wrong = contents(), []
    for route, method, _ in bodies():
        answer = caller.client(route, method).generic(
            method,
            caller.address(route),
            b"name=x",
            content_type="application/x-www-form-urlencoded",
            headers={"Idempotency-Key": str(uuid4())},
        )
        wrong += [f"{method} {route.name}: {f}" for f in faults_of(answer, "Content-Type")]
    assert not wrong
    assert contents() == before


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("cursor=nonsense", "cursor"),
        ("cursor=cD1ub25zZW5zZQ%3D%3D", "cursor"),  # a page that starts at 'nonsense'
        ("page_size=0", "page_size"),
        ("page_size=-1", "page_size"),
        ("page_size=many", "page_size"),
        ("page_size=%C2%B2", "page_size"),  # a superscript two is a digit, not a number
        ("q=%00", "query"),
    ],
)
def test_a_query_that_cannot_be_used_is_refused_by_its_part(query: str, field: str) -> None:
    CommunityFactory.create(slug="isle")
    answer = Client().get(f"/api/v1/communities/isle/streams/?{query}")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == field


def a_place(populated: Populated, **particulars: object) -> dict[str, object]:
    return {
        "organisation_id": str(populated.round.places[0].organisation_id),
        "name": "Quill School",
        "kind": "school",
        "address": "1 Quill Row",
        "longitude": -30.01,
        "latitude": 45.01,
        "access_notes": "",
        "contact_phone": "",
        "observes_public_holidays": True,
        "windows": [{"weekday": 0, "opens": "08:00", "closes": "12:00"}],
        "spans": [],
        **particulars,
    }


def a_shift(populated: Populated, **particulars: object) -> dict[str, object]:
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()
    shift = {"day": tomorrow, "starts": "08:00", "ends": "12:00", **particulars}
    vehicle_id = str(populated.round.vehicle.id)
    return {"shifts": [{"vehicle_id": vehicle_id, **shift}], "must_visit": [], "never_visit": []}


@pytest.mark.parametrize(
    ("name", "field", "make", "wrong"),
    [
        ("places", "windows", a_place, {"windows": [{"weekday": 0, "opens": "12", "closes": "8"}]}),
        (
            "places",
            "windows",
            a_place,
            {"windows": [{"weekday": 0, "opens": "12:00", "closes": "08:00"}]},
        ),
        (
            "places",
            "spans",
            a_place,
            {
                "spans": [
                    {
                        "kind": "term",
                        "first_day": "2026-07-01",
                        "last_day": "2026-01-01",
                        "label": "",
                    }
                ]
            },
        ),
        ("places", "longitude", a_place, {"longitude": 200}),
        ("proposals", "shifts", a_shift, {"starts": "12:00", "ends": "08:00"}),
        ("proposals", "shifts", a_shift, {"day": "1999-01-01"}),
    ],
)
def test_dates_and_times_out_of_order_are_refused(
    caller: Caller, name: str, field: str, make: Any, wrong: dict[str, object]
) -> None:
    (route,) = [route for route in routes() if route.name == name]
    before = contents()
    body = as_json(make(caller.populated, **wrong))
    assert not list(faults_of(caller.send(route, "POST", body), field))
    assert contents() == before
    right = caller.send(route, "POST", as_json(make(caller.populated)))
    assert right.status_code < 300, right.content


def test_an_agreement_does_not_end_before_it_starts(caller: Caller) -> None:
    (route,) = [route for route in routes() if route.name == "agreement-end"]
    before = contents()
    answer = caller.send(route, "POST", as_json({"ends_on": "2001-01-01", "reason": "Moved."}))
    assert not list(faults_of(answer, "ends_on"))
    assert contents() == before


def test_a_report_does_not_end_before_it_starts(caller: Caller) -> None:
    url = "/api/v1/communities/isle/reports/diverted/?from=2026-04-01&to=2026-03-01"
    answer = caller.clients[Role.ORGANISER].get(url)
    assert {error["field"] for error in answer.json()["errors"]} & {"from", "to"}
    assert answer.status_code == 422


@pytest.mark.parametrize(
    "content",
    [b"", b"\x00\x01\x02", b"PK\x03\x04 no zip", b"no,columns\n1,2\n", b'"'],
)
def test_a_file_that_is_no_table_of_places_is_refused_or_its_faults_are_told(
    caller: Caller, content: bytes
) -> None:
    before = contents()
    answer = caller.clients[Role.ORGANISER].post(
        "/api/v1/communities/isle/place-imports/",
        {"file": SimpleUploadedFile("places.xlsx", content)},
        headers={"Idempotency-Key": str(uuid4())},
    )
    if answer.status_code < 300:
        assert answer.json()["errors"]
    else:
        assert not list(faults_of(answer, "file"))
        assert contents() == before


@pytest.mark.parametrize("paper", ["card", "labels"])
def test_a_paper_is_not_had_in_another_form(caller: Caller, paper: str) -> None:
    place = caller.populated.round.places[0]
    url = f"/api/v1/communities/isle/places/{place.id}/{paper}/"
    client = caller.clients[Role.ORGANISER]
    assert client.get(url, {"format": "json"}).headers["Content-Type"] == "application/pdf"
    refused = client.get(url, headers={"Accept": "application/json"})
    assert refused.status_code == 406
    assert refused.json()["code"] == "not_acceptable"
