"""Spreadsheets as organisers really keep them, sent as files."""

import io
from datetime import date
from http import HTTPStatus
from typing import Any
from uuid import uuid4

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from network.people.models import Organisation
from network.places.models import Place, PlaceImport
from network.places.services import register_place
from tests.api.places_browser import Browser, browse
from tests.services.places_story import Isle, a_place, make_isle

pytestmark = pytest.mark.django_db
ROWS = [
    ["PLACE ", "type", "Address", "Lat", "LONG", "Joined", "Bins"],
    ["Crème Café", "CAFÉ", "3 Quay", "45,01", "-29,99", "12/01/2026", "2"],
    ["Shore Salon", "hairdresser", "4 Quay", "45.02", "-29.98", "", ""],
]


@pytest.fixture
def isle() -> Isle:
    return make_isle()


@pytest.fixture
def organiser(isle: Isle) -> Browser:
    return browse(isle.community, isle.organiser)


def _csv(rows: list[list[str]], delimiter: str = ";") -> str:
    return "".join(delimiter.join(row) + "\r\n" for row in rows)


def _xlsx(rows: list[list[Any]]) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def _file(content: bytes, name: str = "places.csv") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


FILES = {
    "UTF-8 with a mark": _csv(ROWS).encode("utf-8-sig"),
    "Latin-1": _csv(ROWS).encode("latin-1"),
    "UTF-16": _csv(ROWS).encode("utf-16"),
    "tabs": _csv(ROWS, "\t").encode(),
    "XLSX": _xlsx(
        [
            ["Places of the isle, January"],
            [],
            ROWS[0],
            ["Crème Café", "CAFÉ", "3 Quay", 45.01, -29.99, date(2026, 1, 12), 2],
            ["Shore Salon", "hairdresser", "4 Quay", 45.02, -29.98, None, None],
        ]
    ),
}


@pytest.mark.parametrize("content", FILES.values(), ids=FILES)
def test_a_file_of_any_usual_kind_is_read_and_saved(organiser: Browser, content: bytes) -> None:
    answer = organiser.upload("place-imports/", _file(content))

    assert answer.status_code == HTTPStatus.CREATED, answer.json()
    preview = answer.json()
    assert preview["status"] == "preview"
    assert preview["errors"] == []
    assert preview["unknown_columns"] == ["Bins"]
    assert [(row["name"], row["kind"], row["starts_on"]) for row in preview["rows"]] == [
        ("Crème Café", "cafe", "2026-01-12"),
        ("Shore Salon", "salon", None),
    ]
    assert preview["rows"][0]["extra"] == {"Bins": "2"}

    saved = organiser.send(f"place-imports/{preview['id']}/save/", {})
    assert (saved.status_code, saved.json()["status"]) == (HTTPStatus.OK, "saved")
    assert Place.objects.get(name="Crème Café").longitude == -29.99
    assert organiser.get("place-imports/").json()["results"][0]["status"] == "saved"


def test_every_wrong_row_is_named_with_its_column_and_mend(organiser: Browser, isle: Isle) -> None:
    register_place(isle.contact, place=a_place(), organisation=isle.school.id)
    rows = [
        *ROWS,
        ["", "cafe", "5 Quay", "45.01", "-29.99", "", ""],
        ["No Address", "cafe", "", "45.01", "-29.99", "", ""],
        ["Nowhere", "cafe", "6 Quay", "95", "200", "", ""],
        ["Far", "cafe", "7 Quay", "10", "10", "", ""],
        ["Odd Day", "cafe", "8 Quay", "45.03", "-29.97", "31/02/2026", ""],
        ["Odd Kind", "blacksmith", "9 Quay", "45.04", "-29.96", "", ""],
        ["shore SALON", "salon", "4 quay", "45.02", "-29.98", "", ""],
        ["Quill School", "school", "1 Quay Lane", "45.0", "-29.975", "", ""],
        ["Short row"],
    ]

    preview = organiser.upload("place-imports/", _file(_csv(rows).encode())).json()

    assert {(error["row"], error["column"]) for error in preview["errors"]} == {
        (4, "name"),
        (5, "address"),
        (6, "position"),
        (7, "position"),
        (8, "starts_on"),
        (9, "kind"),
        (10, "name"),
        (11, "name"),
        (12, "address"),
        (12, "position"),
    }
    assert all(error["mend"] for error in preview["errors"])
    refused = organiser.send(f"place-imports/{preview['id']}/save/", {})
    assert refused.status_code == HTTPStatus.CONFLICT
    assert not Organisation.objects.filter(name="Crème Café").exists()
    read = organiser.get(f"place-imports/{preview['id']}/").json()
    assert read == preview


def test_the_same_file_sent_again_is_one_preview(organiser: Browser) -> None:
    key = uuid4()
    content = _csv(ROWS).encode()

    first = organiser.upload("place-imports/", _file(content), key=key)
    again = organiser.upload("place-imports/", _file(content), key=key)
    other = organiser.upload("place-imports/", _file(content + b"\r\n"), key=key)

    assert again.json() == first.json()
    assert other.status_code == HTTPStatus.CONFLICT
    assert PlaceImport.objects.count() == 1


def test_a_saved_import_is_not_saved_again(organiser: Browser) -> None:
    preview = organiser.upload("place-imports/", _file(_csv(ROWS).encode())).json()
    key = uuid4()
    organiser.send(f"place-imports/{preview['id']}/save/", {}, key=key)

    retried = organiser.send(f"place-imports/{preview['id']}/save/", {}, key=key)
    second = organiser.send(f"place-imports/{preview['id']}/save/", {})

    assert retried.status_code == HTTPStatus.OK
    assert second.status_code == HTTPStatus.CONFLICT
    assert Place.objects.count() == 3


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"   \r\n",
        b"\x00\x01\x02\x03" * 50,
        b"PK\x03\x04 not a zip at all",
        b"\xd0\xcf\x11\xe0 an old workbook",
    ],
)
def test_what_is_no_spreadsheet_is_refused_as_a_file(organiser: Browser, content: bytes) -> None:
    answer = organiser.upload("place-imports/", _file(content, "places.xlsx"))

    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert [error["field"] for error in answer.json()["errors"]] == ["file"]
    assert not PlaceImport.objects.exists()


def test_a_table_without_names_of_columns_says_so(organiser: Browser) -> None:
    preview = organiser.upload("place-imports/", _file(b"1,2\n3,4\n")).json()
    assert preview["rows"] == []
    assert preview["errors"][0]["row"] == 1


def test_a_body_that_is_no_form_is_refused(organiser: Browser) -> None:
    answer = organiser.send("place-imports/", {"file": "places"})
    assert answer.status_code == HTTPStatus.UNSUPPORTED_MEDIA_TYPE


def test_a_text_in_place_of_the_file_is_refused(organiser: Browser) -> None:
    answer = organiser.upload("place-imports/", "name,address")
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert [error["field"] for error in answer.json()["errors"]] == ["file"]


def test_a_file_of_more_than_five_megabytes_is_refused(organiser: Browser) -> None:
    answer = organiser.upload("place-imports/", _file(b"x" * (5 * 1024 * 1024 + 1)))
    assert answer.status_code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE
    assert not PlaceImport.objects.exists()


@pytest.mark.parametrize("who", ["contact", "making", "driver"])
def test_only_an_organiser_imports(isle: Isle, who: str) -> None:
    browser = browse(isle.community, getattr(isle, who))
    assert browser.get("place-imports/").status_code == HTTPStatus.FORBIDDEN
    answer = browser.upload("place-imports/", _file(_csv(ROWS).encode()))
    assert answer.status_code == HTTPStatus.FORBIDDEN


def test_two_thousand_rows_are_saved_in_one_go(organiser: Browser) -> None:
    rows = [
        [f"School {n}", "school", f"{n} Long Row", f"{44.8 + n / 5000:.5f}", "-30.1", "", ""]
        for n in range(2_000)
    ]
    preview = organiser.upload("place-imports/", _file(_csv([ROWS[0], *rows]).encode())).json()

    saved = organiser.send(f"place-imports/{preview['id']}/save/", {})

    assert saved.status_code == HTTPStatus.OK
    assert Place.objects.filter(name__startswith="School ").count() == 2_000
