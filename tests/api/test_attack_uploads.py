"""What is no file of the kind that is asked for is refused wherever files are taken."""

import io
import zipfile
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from openpyxl import Workbook

from network.lots.models import HistoryImport
from network.people.models import Role
from network.pickups.models import Photo, PickupLine
from network.places.models import PlaceImport
from tests.api.openapi import document
from tests.pictures import a_picture, unfolding
from tests.scenario import Populated, populate

pytestmark = pytest.mark.django_db
HERE = "/api/v1/communities/{community}/"
# Each address that takes a file, and who sends there.
UPLOADS = {
    "place-imports/": Role.ORGANISER,
    "history-imports/": Role.ORGANISER,
    "pickup-lines/{line_id}/photos/": Role.DRIVER,
}
SHEETS = ("place-imports/", "history-imports/")
MEGABYTE = 1024 * 1024


def zipped(files: dict[str, bytes]) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return packed.getvalue()


def a_workbook(**replaced: bytes) -> bytes:
    """Return a small workbook with parts of it replaced, by the beginning of their names."""
    book, file = Workbook(), io.BytesIO()
    book.worksheets[0].append(["name", "kind"])
    book.save(file)
    with zipfile.ZipFile(file) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for start, content in replaced.items():
        (name,) = [name for name in parts if name.rsplit("/", 1)[-1].startswith(start)]
        parts[name] = content
    return zipped(parts)


# Ten entities, each ten of the former, are 10^10 letters once they are put in.
LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a0 "ha">'
    + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 11))
    + "]><worksheet xmlns='http://schemas.openxmlformats.org/spreadsheetml/2006/main'>"
    "<sheetData><row r='1'><c r='A1' t='inlineStr'><is><t>&a10;</t></is></c></row></sheetData>"
    "</worksheet>"
).encode()
OF_THE_SERVER = (
    b'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    b"<worksheet xmlns='http://schemas.openxmlformats.org/spreadsheetml/2006/main'>"
    b"<sheetData><row r='1'><c r='A1' t='inlineStr'><is><t>&x;</t></is></c></row></sheetData>"
    b"</worksheet>"
)
BAD_SHEETS: dict[str, Callable[[], bytes]] = {
    "nothing": lambda: b"",
    "cut short": lambda: b"PK\x03\x04 and then nothing",
    "a program": lambda: b"\x7fELF\x02\x01\x01" + b"\x00" * 64,
    "zeros": lambda: b"\x00" * 64,
    "a picture": a_picture,
    "unfolds": lambda: zipped({"xl/worksheets/sheet1.xml": b" " * (60 * MEGABYTE)}),
    "ten thousand files": lambda: zipped({f"xl/{n}.xml": b"" for n in range(10_000)}),
    "laughs": lambda: a_workbook(sheet1=LAUGHS),
    "a file of the server": lambda: a_workbook(sheet1=OF_THE_SERVER),
}
BAD_PICTURES: dict[str, Callable[[], bytes]] = {
    "nothing": lambda: b"",
    "cut short": lambda: a_picture()[:200],
    "a program": lambda: b"\x7fELF\x02\x01\x01" + b"\x00" * 64,
    "a page": lambda: b"<html><script>alert(1)</script>",
    "a drawing": lambda: b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
    "unfolds": lambda: unfolding(width=20_000, height=20_000),
    "too large": lambda: a_picture() + b"\x00" * (4 * MEGABYTE),
}
BAD = [(path, what) for path in SHEETS for what in BAD_SHEETS]
BAD += [(path, what) for path in UPLOADS if path not in SHEETS for what in BAD_PICTURES]


@pytest.fixture
def isle() -> Populated:
    return populate("isle")


def upload(isle: Populated, path: str, name: str, content: bytes) -> Any:
    client = Client(raise_request_exception=False)
    client.force_login(isle.people[UPLOADS[path]])
    line = PickupLine.objects.filter(community=isle.community, photos__isnull=False).first()
    assert line is not None
    address = (HERE + path).format(community="isle", line_id=line.id)
    form = {"file": SimpleUploadedFile(name, content)}
    return client.post(address, form, headers={"Idempotency-Key": str(uuid4())})


def kept() -> list[int]:
    return [table.objects.count() for table in (PlaceImport, HistoryImport, Photo)]


def test_every_upload_there_is_is_tried() -> None:
    """As the API's own description has it."""
    taking = {
        path
        for path, methods in document()["paths"].items()
        for operation in methods.values()
        if "multipart/form-data" in operation.get("requestBody", {}).get("content", {})
    }
    assert taking == {HERE + path for path in UPLOADS}


@pytest.mark.parametrize(("path", "what"), BAD)
def test_what_is_no_such_file_is_refused_by_its_field_and_not_kept(
    isle: Populated, path: str, what: str
) -> None:
    before = kept()
    content = (BAD_SHEETS if path in SHEETS else BAD_PICTURES)[what]()
    answer = upload(isle, path, "places.xlsx" if path in SHEETS else "photo.jpg", content)
    assert answer.status_code == 422, answer.content
    assert [error["field"] for error in answer.json()["errors"]] == ["file"]
    assert kept() == before


@pytest.mark.parametrize("path", UPLOADS)
def test_a_body_of_more_than_five_megabytes_is_not_read(isle: Populated, path: str) -> None:
    before = kept()
    answer = upload(isle, path, "large.csv", b"a" * (6 * MEGABYTE))
    assert (answer.status_code, answer.json()["code"]) == (413, "too_big")
    assert kept() == before


@pytest.mark.parametrize("path", SHEETS)
def test_a_file_name_is_only_a_name(isle: Populated, path: str) -> None:
    sheet = b"name,kind,address,longitude,latitude\nQuill,school,1 Row,-30.01,45.01\n"
    answer = upload(isle, path, "../../etc/places.csv", sheet)
    assert answer.status_code == 201, answer.content
    assert answer.json()["file_name"] == "places.csv"


def test_a_photos_name_and_kind_are_ours_whatever_it_was_called(isle: Populated) -> None:
    answer = upload(isle, "pickup-lines/{line_id}/photos/", "../../x.html", a_picture())
    assert answer.status_code == 201, answer.content
    name = Photo.objects.get(id=answer.json()["id"]).file.name or ""
    assert name.endswith(".jpg")
    assert ".." not in name
    assert "html" not in name
