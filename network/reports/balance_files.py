"""The balance of the flow as a table to take along: CSV for machines, XLSX for people."""

import io
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import xlsxwriter

from network.lots.models import Account, Movement
from network.reports.balances import FlowReport
from network.reports.core.balance import ENTRY, Balance
from network.reports.tables import csv_of, kilograms, write_pairs
from network.units import kg_text

_WORDS = ("Stream", "Where", "Why")
_MASSES = ("At the beginning (kg)", "Came (kg)", "Left (kg)", "At the end (kg)")
_ALL = "All streams"
_Row = tuple[tuple[str, str, str], tuple[int, int, int, int]]


def balance_csv(report: FlowReport) -> str:
    """Return the balance of each stream, a row for each place and way out; masses in kg."""
    rows: list[list[object]] = [[*_WORDS, *_MASSES]]
    for words, masses_g in _rows_by_stream(report):
        rows.append([*words, *(kilograms(mass_g) for mass_g in masses_g)])
    return csv_of(rows)


def balance_xlsx(report: FlowReport, *, generated_at: datetime) -> bytes:
    """Return a workbook: the balance in all, by stream, and each point with its method."""
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, {"in_memory": True}) as book:
        bold = book.add_format({"bold": True})
        number = book.add_format({"num_format": "#,##0.000"})
        whole = list(_rows_of(_ALL, report.balance))
        _write(book.add_worksheet("Balance"), whole, bold, number)
        _write(book.add_worksheet("By stream"), list(_rows_by_stream(report)), bold, number)
        write_pairs(book.add_worksheet("Methods"), _pairs(report, generated_at), bold)
    return file.getvalue()


def _rows_by_stream(report: FlowReport) -> Iterator[_Row]:
    for one in report.streams:
        yield from _rows_of(one.stream.name, one.balance)


def _rows_of(stream: str, balance: Balance) -> Iterator[_Row]:
    """Yield what was collected, each place where grams can lie, and each way out."""
    entry = str(Account.Kind(ENTRY).label)
    yield (stream, entry, ""), (0, 0, balance.collected_g, 0)
    for stock in balance.stocks:
        masses_g = (stock.opening_g, stock.in_g, stock.out_g, stock.closing_g)
        yield (stream, str(Account.Kind(stock.kind).label), ""), masses_g
    for one in balance.exits:
        kind, reason = Account.Kind(one.kind).label, Movement.Reason(one.reason).label
        yield (stream, str(kind), str(reason)), (0, one.mass_g, 0, 0)


def _write(sheet: Any, rows: list[_Row], bold: Any, number: Any) -> None:
    for column, header in enumerate((*_WORDS, *_MASSES)):
        sheet.write_string(0, column, header, bold)
    for index, (words, masses_g) in enumerate(rows, start=1):
        for column, text in enumerate(words):
            sheet.write_string(index, column, text)
        for column, mass_g in enumerate(masses_g, start=len(_WORDS)):
            sheet.write_number(index, column, kilograms(mass_g), number)
    sheet.freeze_panes(1, len(_WORDS))
    sheet.set_column(0, len(_WORDS) - 1, 30)
    sheet.set_column(len(_WORDS), len(_WORDS) + len(_MASSES) - 1, 18)


def _pairs(report: FlowReport, generated_at: datetime) -> list[tuple[str, str]]:
    period, balance = report.selection, report.balance
    pairs = [
        ("Community", report.community.name),
        ("Period", f"{period.first_day or 'beginning'} to {period.last_day or 'now'}"),
        ("Made at", f"{generated_at:%Y-%m-%d %H:%M %Z}"),
        ("Collected", kg_text(balance.collected_g)),
        ("There before", kg_text(balance.opening_g)),
        ("Left for good", kg_text(balance.gone_g)),
        ("There at the end", kg_text(balance.closing_g)),
        ("Does not add up", kg_text(balance.difference_g)),
    ]
    for point in report.points:
        method = point.method
        pairs += [
            (method.name, kg_text(point.mass_g)),
            ("Method", f"{method.code}, version {method.version}"),
            ("What is counted", method.statement),
        ]
        if point.uncertainty:
            expanded = f"{kg_text(point.uncertainty.expanded_g)} (k = {point.uncertainty.k})"
            pairs.append(("Expanded uncertainty", expanded))
        pairs += [("Source", source) for source in method.sources]
    return pairs
