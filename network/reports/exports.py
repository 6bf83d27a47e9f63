"""A report as a table to take along: CSV for machines, XLSX for people."""

import io
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

import xlsxwriter

from network.reports.queries import Masses, Named, Report, Row
from network.reports.tables import csv_of, kilograms, write_pairs
from network.units import kg_text

_NO_DISTRICT = "(no district)"
_HEADERS = {
    "month": "Month",
    "stream": "Stream",
    "kind": "Kind of place",
    "district": "District",
    "place": "Place",
}
_SUMS = {
    "collected_g": "Collected (kg)",
    "on_the_way_g": "On the way (kg)",
    "turned_away_g": "Turned away (kg)",
    "residue_g": "Taken out as residue (kg)",
    "diverted_g": "Diverted (kg)",
    "late_g": "Of diverted: written down late (kg)",
    "weighed_g": "Of collected: weighed (kg)",
    "estimated_g": "Of collected: estimated (kg)",
}


def to_csv(report: Report) -> str:
    """Return the rows as CSV (RFC 4180), or the total where the report has no groups.

    Masses are in kg with all three places; the method stands in each row.
    """
    method = f"{report.method.code} v{report.method.version}"
    rows: list[Sequence[object]] = [[*_headers(report), "Pickups", "Method"]]
    for row in _rows(report):
        labels = [_label(row, dimension) for dimension in report.selection.by]
        rows.append([*labels, *_kilograms(row.masses), row.masses.pickups, method])
    return csv_of(rows)


def to_xlsx(report: Report, *, generated_at: datetime) -> bytes:
    """Return a workbook: the table with its total, and a sheet with the method and sources."""
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"in_memory": True}) as book:
        bold = book.add_format({"bold": True})
        _write_table(report, book.add_worksheet("Diverted mass"), bold, _formats(book))
        _write_method(report, book.add_worksheet("Method"), bold, generated_at)
    return file.getvalue()


def _formats(book: Any) -> tuple[Any, Any]:
    return (
        book.add_format({"num_format": "#,##0.000"}),
        book.add_format({"num_format": "#,##0.000", "bold": True}),
    )


def _write_table(report: Report, sheet: Any, bold: Any, formats: tuple[Any, Any]) -> None:
    plain, total = formats
    headers = [*_headers(report), "Pickups"]
    for column, header in enumerate(headers):
        sheet.write_string(0, column, header, bold)
    for index, row in enumerate(report.rows, start=1):
        for column, dimension in enumerate(report.selection.by):
            sheet.write_string(index, column, _label(row, dimension))
        _write_masses(sheet, index, len(report.selection.by), row.masses, plain)
    last = len(report.rows) + 1
    if report.selection.by:
        sheet.write_string(last, 0, "Total", bold)
    _write_masses(sheet, last, len(report.selection.by), report.total, total)
    sheet.freeze_panes(1, len(report.selection.by))
    sheet.set_column(0, len(headers) - 1, 18)


def _write_masses(sheet: Any, row: int, first_column: int, masses: Masses, number: Any) -> None:
    for offset, mass_kg in enumerate(_kilograms(masses)):
        sheet.write_number(row, first_column + offset, mass_kg, number)
    sheet.write_number(row, first_column + len(_SUMS), masses.pickups)


def _write_method(report: Report, sheet: Any, bold: Any, generated_at: datetime) -> None:
    period, method, uncertainty = report.selection, report.method, report.uncertainty
    lines = [
        ("Community", report.community.name),
        ("Period", f"{period.first_day or 'beginning'} to {period.last_day or 'now'}"),
        ("Made at", f"{generated_at:%Y-%m-%d %H:%M %Z}"),
        ("Method", f"{method.name} ({method.code}, version {method.version})"),
        ("Calculation point", method.calculation_point),
        ("What is counted", method.statement),
        ("Diverted in all", kg_text(report.total.diverted_g)),
        ("Expanded uncertainty", f"{kg_text(uncertainty.expanded_g)} (k = {uncertainty.k})"),
        ("How that is found", uncertainty.note),
        *(("Source", source) for source in method.sources),
    ]
    write_pairs(sheet, lines, bold)


def _headers(report: Report) -> list[str]:
    return [*(_HEADERS[dimension] for dimension in report.selection.by), *_SUMS.values()]


def _rows(report: Report) -> Sequence[Row]:
    return report.rows if report.selection.by else [Row(group={}, masses=report.total)]


def _label(row: Row, dimension: str) -> str:
    value = row.group[dimension]
    if value is None:
        return _NO_DISTRICT
    return value.name if isinstance(value, Named) else value


def _kilograms(masses: Masses) -> list[Decimal]:
    return [kilograms(getattr(masses, name)) for name in _SUMS]
