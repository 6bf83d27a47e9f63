"""The balance of the flow: from the ledger, for any period and any slicing, to the gram."""

import csv
import io
from datetime import UTC, date, datetime, timedelta
from typing import Any

import openpyxl
import pytest
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from network.ids import new_id
from network.lots import services as lots
from network.lots.models import Account
from network.people.core.actor import Actor
from network.people.models import Role
from network.reports.balance_files import balance_csv, balance_xlsx
from network.reports.balances import FlowReport, balance
from network.reports.core.balance import STOCKS
from network.reports.queries import Selection, diverted
from network.workshop.services import Made, Taken
from tests.factories import acting
from tests.services.reports_story import Months, months
from tests.services.workshop_story import LATER, Workshop, make_workshop

pytestmark = pytest.mark.django_db

OCTOBER = Selection(first_day=date(2025, 10, 1), last_day=date(2025, 10, 31))
NOVEMBER = Selection(first_day=date(2025, 11, 1), last_day=date(2025, 11, 30))
days = st.dates(date(2025, 9, 25), date(2025, 11, 10))


@pytest.fixture
def here() -> Months:
    return months()


def of(here: Months, selection: Selection, actor: Actor | None = None) -> FlowReport:
    return balance(actor or here.organiser, community=here.community, selection=selection)


def point_g(report: FlowReport, name: str) -> int:
    return next(one.mass_g for one in report.points if one.point == name)


def test_what_came_in_and_was_there_is_what_left_and_is_there(here: Months) -> None:
    october, november = of(here, OCTOBER).balance, of(here, NOVEMBER).balance
    assert october.collected_g == 25_542
    assert (october.opening_g, october.gone_g, october.closing_g) == (0, 111, 25_431)
    assert november.opening_g == october.closing_g
    # 777 g on the van and 2,003 g of the second maker, less 293 g weighed less and 1,234 g undone.
    assert november.collected_g == 777 + 2_003 - 293 - 1_234
    assert {(one.kind, one.reason): one.mass_g for one in november.exits} == {
        ("loss", "lost"): 70,
        ("residue", "turned_away"): 2_000,
        ("returned", "turned_away"): 4_000,
    }
    for found in (october, november):
        assert found.difference_g == 0


def test_what_lies_there_is_what_the_accounts_hold(here: Months) -> None:
    """The report adds up lines, and the accounts are kept one by one."""
    held = Account.objects.filter(community=here.community, kind__in=STOCKS)
    kept_g = dict(held.order_by("kind").values_list("kind").annotate(Sum("balance_g")))
    stocks = of(here, Selection()).balance.stocks
    assert {one.kind: one.closing_g for one in stocks if one.kind in kept_g} == kept_g
    assert sum(one.closing_g for one in stocks) == sum(kept_g.values())


@settings(
    deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(first=days, length=st.integers(0, 40), cut=st.integers(0, 40))
def test_any_two_parts_of_a_period_are_the_whole(
    here: Months, first: date, length: int, cut: int
) -> None:
    last, between = first + timedelta(days=length), first + timedelta(days=min(cut, length))
    whole = of(here, Selection(first_day=first, last_day=last)).balance
    left = of(here, Selection(first_day=first, last_day=between)).balance
    parts = [left]
    if between < last:
        after = between + timedelta(days=1)
        parts.append(of(here, Selection(first_day=after, last_day=last)).balance)
        assert parts[1].opening_g == left.closing_g
    for name in ("collected_g", "gone_g"):
        assert sum(getattr(part, name) for part in parts) == getattr(whole, name)
    assert (parts[0].opening_g, parts[-1].closing_g) == (whole.opening_g, whole.closing_g)
    assert whole.difference_g == 0


@settings(
    deadline=None, max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(first=days, last=days)
def test_streams_and_makers_add_up_to_the_whole(here: Months, first: date, last: date) -> None:
    period = Selection(first_day=min(first, last), last_day=max(first, last))
    whole = of(here, period)
    by_stream = [one.balance for one in whole.streams]
    by_maker = [of(here, period, story.maker_actor).balance for story in (here.first, here.second)]
    for name in ("collected_g", "opening_g", "gone_g", "closing_g", "difference_g"):
        assert sum(getattr(one, name) for one in by_stream) == getattr(whole.balance, name)
        assert sum(getattr(one, name) for one in by_maker) == getattr(whole.balance, name)
    for one in whole.streams:
        alone = of(
            here,
            Selection(
                first_day=period.first_day, last_day=period.last_day, stream_id=one.stream.id
            ),
        )
        assert alone.balance == one.balance


@settings(
    deadline=None, max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(first=days, last=days)
def test_the_balance_and_the_report_of_diverted_mass_agree(
    here: Months, first: date, last: date
) -> None:
    period = Selection(first_day=min(first, last), last_day=max(first, last))
    found = of(here, period)
    total = diverted(here.organiser, community=here.community, selection=period).total
    assert point_g(found, "collected") == found.balance.collected_g == total.collected_g
    assert point_g(found, "accepted") == total.diverted_g


def worked() -> Workshop:
    """8,000 g washed to 7,500 with 300 g residue; 7,000 g charged; pieces, offcuts, used again."""
    shop = make_workshop()
    lot = shop.at_home(8_000)
    run = shop.run(
        "wash", [Taken(lot_id=lot.id, state="collected")], [Made(mass_g=7_500)], residue_g=300
    )
    clean = run.outputs.get().lot
    batch = shop.charge((clean, 7_000))
    shop.make(batch, 6_000, offcut_g=500, residue_g=20, loss_g=30)
    lots.pass_on(
        shop.maker,
        movement_id=new_id(),
        lot_id=shop.at_home(1_000).id,
        mass_g=400,
        note="To the next town.",
        at=LATER,
    )
    return shop


def test_every_stage_of_the_workshop_is_in_the_balance() -> None:
    shop = worked()
    organiser = acting(shop.story.community, Role.ORGANISER)
    found = balance(organiser, community=shop.story.community, selection=Selection())
    stocks = {one.kind: one.closing_g for one in found.balance.stocks if one.closing_g}
    assert stocks == {
        "collected": 600,
        "washed": 500,
        "batch": 450,
        "offcut": 500,
        "product": 6_000,
    }
    exits = {(one.kind, one.reason): one.mass_g for one in found.balance.exits}
    assert exits == {
        ("loss", "washed"): 200,
        ("residue", "washed"): 300,
        ("residue", "trimmed"): 20,
        ("loss", "lost"): 30,
        ("passed_on", "passed_on"): 400,
    }
    assert {one.point: one.mass_g for one in found.points} == {
        "collected": 9_000,
        "accepted": 9_000,
        "entering": 7_000,
        "products": 6_000,
    }
    assert found.balance.difference_g == 0
    bands = {(band.source, band.target): band.mass_g for band in found.picture.bands}
    assert bands["prepared", "making"] == 7_000
    assert bands["store", "residue"] == 300
    assert bands["making", "products"] == 6_000


def total_of(sheet: Any, column: int) -> int:
    """Return the sum of a column of kilograms, in g."""
    cells = sheet.iter_rows(min_row=2, min_col=column, max_col=column, values_only=True)
    return sum(round(cell * 1_000) for (cell,) in cells)


def test_the_files_say_what_the_balance_says(here: Months) -> None:
    report = of(here, OCTOBER)
    rows = list(csv.DictReader(io.StringIO(balance_csv(report))))
    left = sum(float(row["Left (kg)"]) for row in rows if row["Where"] == "container at a place")
    assert left == pytest.approx(25.542)
    book = openpyxl.load_workbook(
        io.BytesIO(balance_xlsx(report, generated_at=datetime(2026, 1, 9, tzinfo=UTC)))
    )
    for column in range(4, 8):
        assert total_of(book["Balance"], column) == total_of(book["By stream"], column)
    stated = {str(name): text for name, text in book["Methods"].iter_rows(values_only=True)}
    assert stated["Mass collected from places"] == "25.542 kg"
    assert stated["Does not add up"] == "0.000 kg"


def test_a_period_without_anything_is_a_balance_of_nothing(here: Months) -> None:
    found = of(here, Selection(first_day=date(2024, 1, 1), last_day=date(2024, 12, 31)))
    assert (found.balance.collected_g, found.balance.closing_g) == (0, 0)
    assert found.picture.bars == ()
