"""The report taken along: for machines as CSV, for people as a workbook."""

import csv
import io
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from openpyxl import load_workbook

from network.reports.exports import to_csv, to_xlsx
from network.reports.queries import Report, Selection, diverted
from tests.services.reports_story import Months, months

pytestmark = pytest.mark.django_db

NOW = datetime(2025, 12, 1, 12, tzinfo=UTC)


@pytest.fixture
def here() -> Months:
    return months()


def report(here: Months, *by: str) -> Report:
    return diverted(here.organiser, community=here.community, selection=Selection(by=by))


def test_a_csv_adds_up_to_the_gram_and_names_its_units_and_method(here: Months) -> None:
    whole = report(here, "month", "place")
    rows = list(csv.DictReader(io.StringIO(to_csv(whole), newline="")))
    diverted_kg = sum(Decimal(row["Diverted (kg)"]) for row in rows)
    assert diverted_kg * 1000 == whole.total.diverted_g
    assert {row["Method"] for row in rows} == {"accepted-at-workshop v2"}
    assert list(rows[0])[:3] == ["Month", "Place", "Collected (kg)"]


def test_a_csv_keeps_names_whole_and_ends_lines_as_rfc_4180_has_it(here: Months) -> None:
    """RFC 4180 §2: CRLF between records, quotes doubled inside of quotes."""
    text = to_csv(report(here, "place"))
    assert '"Café ""Zum Eck"", Port"' in text
    assert text.count("\r\n") == text.count("\n")


def test_a_name_that_would_run_in_a_spreadsheet_is_made_harmless(here: Months) -> None:
    whole = report(here, "place")
    rows = list(csv.reader(io.StringIO(to_csv(whole), newline="")))
    assert "'=1+1 Hair" in [row[0] for row in rows]
    sheet = load_workbook(io.BytesIO(to_xlsx(whole, generated_at=NOW))).worksheets[0]
    cell = next(cell for (cell,) in sheet.iter_rows(max_col=1) if "Hair" in str(cell.value))
    assert (cell.data_type, cell.value) == ("s", "=1+1 Hair")


def test_without_groups_the_csv_has_the_total(here: Months) -> None:
    (row,) = csv.DictReader(io.StringIO(to_csv(report(here)), newline=""))
    assert Decimal(row["Diverted (kg)"]) * 1000 == report(here).total.diverted_g


def test_a_workbook_has_numbers_with_their_total_and_the_method_beside(here: Months) -> None:
    whole = report(here, "month", "district")
    book = load_workbook(io.BytesIO(to_xlsx(whole, generated_at=NOW)))
    table, method = book.worksheets
    headers = [cell.value for cell in table[1]]
    column = headers.index("Diverted (kg)") + 1
    values = [table.cell(row, column).value for row in range(2, table.max_row + 1)]
    assert all(isinstance(value, int | float) for value in values)
    grams = [round(float(str(value)) * 1000) for value in values]
    assert sum(grams[:-1]) == grams[-1] == whole.total.diverted_g
    assert table.cell(2, column).number_format == "#,##0.000"
    assert table.cell(table.max_row, 1).value == "Total"
    said = {row[0].value: row[1].value for row in method.iter_rows(max_col=2)}
    assert said["What is counted"] == whole.method.statement
    assert said["Calculation point"] == "accepted at the workshop"
    assert "k = 2" in str(said["Expanded uncertainty"])
