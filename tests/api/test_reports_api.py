"""The report of diverted mass over the API."""

import csv
import io
import json
from http import HTTPStatus

import pytest
from django.test import Client
from openpyxl import load_workbook

from network.lots.models import Movement
from network.people.models import Role
from tests.factories import member
from tests.services.reports_story import NOVEMBER, Months, months

pytestmark = pytest.mark.django_db


@pytest.fixture
def here() -> Months:
    return months()


@pytest.fixture
def organiser(here: Months) -> Client:
    client = Client()
    client.force_login(member(here.community, Role.ORGANISER))
    return client


def address(here: Months, end: str = "/") -> str:
    return f"/api/v1/communities/{here.community.slug}/reports/diverted{end}"


def test_the_report_has_its_method_its_rows_and_its_uncertainty(
    here: Months, organiser: Client
) -> None:
    answer = organiser.get(
        address(here), {"from": "2025-10-01", "to": "2025-11-30", "by": "month,place,district"}
    )
    assert answer.status_code == HTTPStatus.OK, answer.content
    report = answer.json()
    assert report["period"] == {"from": "2025-10-01", "to": "2025-11-30"}
    assert report["by"] == ["month", "place", "district"]
    assert report["method"]["calculation_point"] == "accepted at the workshop"
    assert sum(row["diverted_g"] for row in report["rows"]) == report["total"]["diverted_g"]
    assert report["total"]["diverted_g"] == 19_907
    assert set(report["rows"][0]) == {"month", "place", "district", *report["total"]}
    assert None in [row["district"] for row in report["rows"]]
    assert report["uncertainty"]["expanded_g"] > 0
    assert report["generated_at"].endswith("Z")


def test_it_narrows_by_every_filter(here: Months, organiser: Client) -> None:
    place = here.first.agreement.place
    for query in (
        {"place": str(place.id)},
        {"district": str(place.district_id)},
        {"kind": "school"},
    ):
        total = organiser.get(address(here), query).json()["total"]
        assert total["collected_g"] == 8_001 + 6_007 + 777 + 2_003, query
    stream = str(here.second.agreement.stream_id)
    assert organiser.get(address(here), {"stream": stream}).json()["total"]["pickups"] == 1


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ({"by": "month,colour"}, "by"),
        ({"by": "month,month"}, "by"),
        ({"from": "yesterday"}, "from"),
        ({"from": "2025-12-01", "to": "2025-11-01"}, "to"),
        ({"from": "0001-01-01"}, "from"),
        ({"place": "school"}, "place"),
        ({"kind": "castle"}, "kind"),
    ],
)
@pytest.mark.parametrize("end", ["/", ".csv", ".xlsx"])
def test_a_question_that_cannot_be_is_refused_by_name(
    here: Months, organiser: Client, query: dict[str, str], field: str, end: str
) -> None:
    answer = organiser.get(address(here, end), query)
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert answer.headers["Content-Type"] == "application/problem+json"
    error = answer.json()["errors"][0]
    assert error["field"].startswith(field)
    assert error["mend"]


def test_the_files_have_the_same_rows_whatever_the_client_accepts(
    here: Months, organiser: Client
) -> None:
    query = {"by": "month,place"}
    rows = organiser.get(address(here), query).json()["rows"]
    for accept in ("text/csv", "application/json", "*/*"):
        answer = organiser.get(address(here, ".csv"), query, headers={"Accept": accept})
        assert answer.headers["Content-Type"].startswith("text/csv")
        assert 'filename="diverted.csv"' in answer.headers["Content-Disposition"]
        table = list(csv.DictReader(io.StringIO(answer.content.decode(), newline="")))
        assert [row["Month"] for row in table] == [row["month"] for row in rows]
    book = load_workbook(io.BytesIO(organiser.get(address(here, ".xlsx"), query).content))
    assert book.worksheets[0].max_row == len(rows) + 2


def test_a_contact_and_a_stranger_get_no_report(here: Months) -> None:
    contact = Client()
    school = here.first.agreement.place.organisation
    contact.force_login(member(here.community, Role.CONTACT, school))
    for end in ("/", ".csv", ".xlsx"):
        assert contact.get(address(here, end)).status_code == HTTPStatus.FORBIDDEN
        assert Client().get(address(here, end)).status_code == HTTPStatus.UNAUTHORIZED


def test_the_lines_of_a_period_are_taken_along_as_they_are_read(
    here: Months, organiser: Client
) -> None:
    place = here.containers[2].agreement.place
    answer = organiser.get(
        address(here, "/").replace("diverted/", "lines.csv"), {"from": "2025-11-01"}
    )
    assert answer.headers["Content-Type"].startswith("text/csv")
    pieces = [bytes(piece).decode() for piece in answer]
    assert len(pieces) == 2  # the headers at once, then what was read
    rows = list(csv.DictReader(io.StringIO("".join(pieces))))
    lines = Movement.objects.filter(community=here.community, counts_at__gte=NOVEMBER)
    assert {row["Line"] for row in rows} == {str(line.id) for line in lines}
    assert sum(int(row["Mass (g)"]) for row in rows) == sum(line.mass_g for line in lines)
    # A name that a spreadsheet would run is made harmless.
    assert f"'{place.name}" in {row["Place"] for row in rows}


def test_the_events_of_a_period_are_a_file_of_linked_data(here: Months, organiser: Client) -> None:
    asked = address(here, "/").replace("diverted/", "events.jsonld")
    answer = organiser.get(asked, {"to": "2025-10-31"}, headers={"Accept": "text/html"})
    assert answer.headers["Content-Type"] == "application/ld+json"
    assert 'filename="events.jsonld"' in answer.headers["Content-Disposition"]
    found = json.loads(b"".join(bytes(piece) for piece in answer))
    assert found["type"] == "EPCISDocument"
    assert {event["eventTime"][:7] for event in found["epcisBody"]["eventList"]} == {"2025-10"}
    refused = organiser.get(asked, {"place": str(here.containers[0].id)})
    assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    contact = Client()
    contact.force_login(
        member(here.community, Role.CONTACT, here.first.agreement.place.organisation)
    )
    assert contact.get(asked).status_code == HTTPStatus.FORBIDDEN
