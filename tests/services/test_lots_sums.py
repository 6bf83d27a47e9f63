"""The sums by month are what the lines add up to, whatever happens, and writers never wait."""

from collections.abc import Callable
from datetime import date
from itertools import combinations
from typing import Any

import pytest
from django.db.models import F

from network.ids import new_id
from network.lots import services
from network.lots.models import Movement
from network.lots.month_models import (
    MASSES,
    FlowSum,
    FlowTotal,
    MassSum,
    PlaceMass,
    PlaceVisits,
    UnsummedLine,
    VisitSum,
    VisitTotal,
)
from network.lots.queries.sums import sum_faults
from network.people.models import Role
from network.places.models import Place
from network.reports.queries import Report, Selection, diverted
from network.reports.summing import lines_of, standing_months
from tests.factories import acting
from tests.services.lots_story import Story, make_story
from tests.services.reports_story import NOVEMBER, OCTOBER, Months, bring, months, reverse

pytestmark = pytest.mark.django_db

NO_KEY = {"id", "folded", "mass_g", "visits", *MASSES}
KEPT = ("month", "stream", "kind", "district", "place")
IN_OCTOBER, IN_NOVEMBER = date(2025, 10, 1), date(2025, 11, 1)
SLICES = [by for size in range(len(KEPT) + 1) for by in combinations(KEPT, size)]
EDGES = (None, date(2025, 10, 1), date(2025, 10, 14), date(2025, 11, 4), date(2025, 11, 30))
PERIODS = [
    (first, last) for first in EDGES for last in EDGES if not first or not last or first <= last
]


@pytest.fixture
def here() -> Months:
    return months()


def faults(story: Story) -> list[str]:
    return [fault.detail for fault in sum_faults(story.community.id)]


def report(here: Months, **selection: Any) -> Report:
    return diverted(here.organiser, community=here.community, selection=Selection(**selection))


@pytest.mark.parametrize("fold", [services.fold_sums, lambda: None])
def test_the_sums_are_what_the_lines_add_up_to(here: Months, fold: Callable[[], None]) -> None:
    fold()
    assert faults(here.first) == []
    assert FlowTotal.objects.filter(community=here.community).exists()


def test_a_line_written_alone_is_summed_later_and_read_at_once(here: Months) -> None:
    services.fold_sums()
    before = report(here, by=KEPT).total
    lot = here.first.collect(5_000, at=NOVEMBER)[0]
    line = Movement.objects.get(from_account__lot=lot)
    unsummed = UnsummedLine.objects.filter(community=here.community)
    assert list(unsummed.values_list("id", flat=True)) == [line.id]
    assert report(here, by=KEPT).total.collected_g == before.collected_g + 5_000
    services.fold_sums()
    assert not unsummed.exists()
    assert report(here, by=KEPT).total.collected_g == before.collected_g + 5_000


def test_several_lines_of_one_statement_are_summed_at_once(here: Months) -> None:
    lots = [here.first.collect(mass_g, at=NOVEMBER)[0] for mass_g in (5_000, 6_000)]
    services.fold_sums()
    services.bring_home(here.first.driver, lots=lots, vehicle_id=here.first.vehicle_id, at=NOVEMBER)
    assert not UnsummedLine.objects.exists()
    assert faults(here.first) == []


@pytest.mark.parametrize("folds", [(), (1,), (2,), (1, 2)])
def test_a_visit_is_one_whichever_of_its_lines_are_summed(
    here: Months, folds: tuple[int, ...]
) -> None:
    """Two bags of one morning, of which both, either or none is in the sums; one is reversed."""
    story = make_story(here.community)
    visits = VisitTotal.objects.filter(maker=story.maker, stream=None)
    for bag in (1, 2):
        lot = story.collect(5_000, at=NOVEMBER)[0]
        if bag in folds:
            services.fold_sums()
        assert sum(visits.values_list("visits", flat=True)) == 1
    reverse(story, Movement.objects.get(from_account__lot=lot), NOVEMBER)
    assert sum(visits.values_list("visits", flat=True)) == 1
    assert faults(story) == []
    services.fold_sums()
    assert sum(visits.values_list("visits", flat=True)) == 1
    assert faults(story) == []


@pytest.mark.parametrize(("first_day", "last_day"), PERIODS)
def test_a_report_read_from_the_sums_is_that_read_line_by_line(
    here: Months, first_day: date | None, last_day: date | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whole months come from the sums, ragged ends from the lines."""
    services.fold_sums()
    assert set(standing_months(here.community.id)) == {IN_OCTOBER, IN_NOVEMBER}
    asked = [{"by": by, "first_day": first_day, "last_day": last_day} for by in SLICES]
    from_sums = [report(here, **selection) for selection in asked]
    for name in ("parts_of", "place_parts_of"):
        monkeypatch.setattr(f"network.reports.queries.{name}", lambda *days: lines_of(*days[:2]))
    assert [report(here, **selection) for selection in asked] == from_sums


def test_a_month_in_which_something_was_written_since_is_read_line_by_line(here: Months) -> None:
    services.fold_sums()
    before = report(here, by=("place",)).total
    bring(here.first, here.containers[2], OCTOBER, net_g=5_000)
    assert IN_OCTOBER not in standing_months(here.community.id)
    assert report(here, by=("place",)).total.collected_g == before.collected_g + 5_000
    services.fold_sums()
    assert IN_OCTOBER in standing_months(here.community.id)
    assert report(here, by=("place",)).total.collected_g == before.collected_g + 5_000
    assert faults(here.first) == []


@pytest.mark.parametrize("table", [PlaceMass, PlaceVisits])
def test_a_changed_sum_by_place_is_found(here: Months, table: Any) -> None:
    services.fold_sums()
    name = "collected_g" if table is PlaceMass else "visits"
    table.objects.filter(month=IN_OCTOBER).update(**{name: F(name) + 1})
    assert all(name in fault for fault in faults(here.first))
    assert faults(here.first)


def test_a_place_that_changes_its_kind_takes_its_past_with_it(here: Months) -> None:
    school = here.first.agreement.place
    before = report(here, kind="school").total
    Place.objects.filter(id=school.id).update(kind="cleaner", district=None)
    assert report(here, kind="school").total.collected_g == 0
    assert report(here, kind="cleaner").total == before
    assert faults(here.first) == []


def test_a_community_that_changes_its_clock_counts_by_the_new_one(here: Months) -> None:
    """8,001 g of 30 September, 23:30 in UTC, are of October in London only."""
    here.community.timezone = "UTC"
    here.community.save(update_fields=["timezone"])
    rows = {row.group["month"]: row.masses.collected_g for row in report(here, by=("month",)).rows}
    assert rows["2025-09"] == 8_001
    assert faults(here.first) == []


def test_a_lot_weighed_later_and_withdrawn_again_is_moved_between_the_sums(here: Months) -> None:
    reweighed = Movement.objects.get(reason="reweighed")
    assert report(here).total.estimated_g == 2_700
    reverse(here.first, reweighed, NOVEMBER)
    assert report(here).total.estimated_g == 2_700 + 3_600
    assert faults(here.first) == []


def test_a_line_written_late_is_in_the_sum_of_the_month_it_counts_in() -> None:
    story = make_story()
    organiser = acting(story.community, Role.ORGANISER)
    bring(story, story.container, OCTOBER)
    services.seal_period(organiser, seal_id=new_id(), last_day=date(2025, 10, 31))
    bring(story, story.container, OCTOBER)
    late = FlowTotal.objects.filter(community=story.community, late=True)
    assert set(late.values_list("month", flat=True)) == {date(2025, 11, 1)}
    assert faults(story) == []


def test_folding_leaves_one_row_for_each_sum(here: Months) -> None:
    before = report(here, by=KEPT)
    services.fold_sums()
    for table in (FlowSum, MassSum, VisitSum):
        rows: list[dict[str, Any]] = [
            dict(row) for row in table.objects.filter(community=here.community).values()
        ]
        told = [tuple(str(row[name]) for name in row if name not in NO_KEY) for row in rows]
        assert len(set(told)) == len(told)
        assert all(row.get("folded", True) for row in rows)
    assert report(here, by=KEPT) == before


def test_a_visit_reversed_whole_is_none(here: Months) -> None:
    story = make_story(here.community)
    lot = bring(story, story.container, NOVEMBER)
    visits = VisitTotal.objects.filter(maker=story.maker, stream=None)
    assert sum(visits.values_list("visits", flat=True)) == 1
    for line in Movement.objects.filter(from_account__lot=lot).order_by("-recorded_at"):
        reverse(story, line, NOVEMBER)
    assert sum(visits.values_list("visits", flat=True)) == 0
    assert faults(story) == []
