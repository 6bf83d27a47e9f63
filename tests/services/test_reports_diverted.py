"""Diverted mass: what it counts, when, and that its parts are the whole to the gram."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from itertools import combinations
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from network.errors import InvalidInput
from network.lots.models import Movement
from network.people.core.actor import Actor
from network.people.models import Role
from network.reports.queries import DIMENSIONS, Masses, Report, Selection, diverted
from tests.factories import acting
from tests.services.lots_story import make_story
from tests.services.reports_story import NOVEMBER, OCTOBER, Months, bring, months, reverse

pytestmark = pytest.mark.django_db

SUBSETS = [by for size in range(len(DIMENSIONS) + 1) for by in combinations(DIMENSIONS, size)]
ADDING_UP = [field.name for field in fields(Masses) if field.name.endswith("_g")]


@pytest.fixture
def here() -> Months:
    return months()


def report(here: Months, actor: Actor | None = None, **selection: Any) -> Report:
    return diverted(
        actor or here.organiser, community=here.community, selection=Selection(**selection)
    )


def group_of(line: Movement, by: tuple[str, ...]) -> tuple[str, ...]:
    lot = line.from_account.lot
    assert lot.place is not None
    local = line.at.astimezone(ZoneInfo(line.community.timezone))
    labels = {
        "month": f"{local:%Y-%m}",
        "stream": lot.stream.name,
        "kind": lot.place.kind,
        "district": lot.place.district.name if lot.place.district else "",
        "place": lot.place.name,
    }
    return tuple(labels[dimension] for dimension in by)


def counted_by_hand(here: Months, by: tuple[str, ...]) -> Mapping[tuple[str, ...], Counter[str]]:
    """Go through the lines one by one, as a person with a ruler would."""
    sums: dict[tuple[str, ...], Counter[str]] = {}
    for line in Movement.objects.filter(community=here.community):
        first = line.reverses or line
        sign = -1 if line.reverses else 1
        found: Counter[str] = Counter()
        if first.reason == "collected":
            found["collected_g"] = sign * line.mass_g
        elif first.reason == "brought_home":
            found["diverted_g"] = sign * line.mass_g
        elif first.reason == "reweighed":
            more = first.from_account.kind == "container"
            found["collected_g"] = found["diverted_g"] = (sign if more else -sign) * line.mass_g
        elif first.reason == "turned_away":
            found["turned_away_g"], found["diverted_g"] = sign * line.mass_g, -sign * line.mass_g
        elif first.reason == "inspected_out":
            found["residue_g"], found["diverted_g"] = sign * line.mass_g, -sign * line.mass_g
        else:
            continue
        sums.setdefault(group_of(line, by), Counter()).update(found)
    return sums


def named(row: Mapping[str, Any], by: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(getattr(row[dimension], "name", row[dimension] or "") for dimension in by)


@pytest.mark.parametrize("by", SUBSETS)
def test_the_parts_are_the_whole_and_each_is_what_the_lines_say(
    here: Months, by: tuple[str, ...]
) -> None:
    found = report(here, by=by)
    if by:
        for name in ADDING_UP:
            whole = getattr(found.total, name)
            assert sum(getattr(row.masses, name) for row in found.rows) == whole, name
    by_hand = counted_by_hand(here, by)
    rows = {named(row.group, by): row.masses for row in found.rows} if by else {(): found.total}
    assert rows.keys() == by_hand.keys()
    for group, masses in rows.items():
        for name in ("collected_g", "turned_away_g", "residue_g", "diverted_g"):
            assert getattr(masses, name) == by_hand[group][name], (group, name)


def test_diverted_is_what_was_weighed_less_what_was_turned_away_or_taken_out(here: Months) -> None:
    """8001 + 3307 + 2700 + 4000 + 6007 + 2003 g home, 4000 + 2000 g turned away, 111 g out."""
    total = report(here).total
    assert total.collected_g == 8_001 + 3_307 + 2_700 + 4_000 + 6_007 + 2_003 + 777
    assert total.turned_away_g == 6_000
    assert total.residue_g == 111
    assert total.on_the_way_g == 777
    assert total.diverted_g == 26_018 - 6_000 - 111
    for masses in (total, *(row.masses for row in report(here, by=DIMENSIONS).rows)):
        assert masses.collected_g == masses.weighed_g + masses.estimated_g
        assert masses.collected_g == (
            masses.on_the_way_g + masses.turned_away_g + masses.residue_g + masses.diverted_g
        )


def test_an_estimate_counts_as_weighed_once_a_scale_has_had_it(here: Months) -> None:
    """Two were told by their level and one of them then weighed: 2700 g rest on the eye."""
    assert report(here).total.estimated_g == 2_700
    reweighed = Movement.objects.get(reason="reweighed")
    reverse(here.first, reweighed, NOVEMBER)
    assert report(here).total.estimated_g == 2_700 + 3_600


def test_a_line_counts_in_its_month_by_the_communitys_clock(here: Months) -> None:
    collected = {row.group["month"]: row.masses for row in report(here, by=("month",)).rows}
    assert list(collected) == ["2025-10", "2025-11"]
    october = report(here, first_day=date(2025, 10, 1), last_day=date(2025, 10, 31)).total
    assert collected["2025-10"] == october
    assert report(here, last_day=date(2025, 9, 30)).total.collected_g == 0


def test_a_correction_leaves_the_month_that_was_reported_as_it_was(here: Months) -> None:
    october: dict[str, Any] = {"first_day": date(2025, 10, 1), "last_day": date(2025, 10, 31)}
    before = report(here, **october).total
    out = Movement.objects.get(reason="inspected_out")
    reverse(here.first, out, NOVEMBER)
    assert report(here, **october).total == before
    assert report(here).total.residue_g == 0


def test_filters_narrow_to_the_row_of_the_same_name(here: Months) -> None:
    for dimension, name in (
        ("stream", "stream_id"),
        ("place", "place_id"),
        ("district", "district_id"),
        ("kind", "kind"),
    ):
        for row in report(here, by=(dimension,)).rows:
            value = row.group[dimension]
            if value is None:
                continue
            wanted: Any = value if isinstance(value, str) else value.id
            assert report(here, None, **{name: wanted}).total == row.masses


def test_a_visit_counts_once_however_many_bags_it_brought() -> None:
    story = make_story()
    organiser = acting(story.community, Role.ORGANISER)
    for _ in range(3):
        bring(story, story.container, OCTOBER)
    bring(story, story.container, NOVEMBER)
    found = diverted(organiser, community=story.community, selection=Selection(by=("month",)))
    assert [row.masses.pickups for row in found.rows] == [1, 1]
    assert found.total.pickups == 2


def test_a_maker_sees_its_own_part_and_another_community_nothing(here: Months) -> None:
    own = report(here, here.second.maker_actor)
    assert own.total.collected_g == 2_003
    assert report(here, here.first.maker_actor).total.collected_g == 24_792
    stranger = make_story()
    for actor in (stranger.maker_actor, acting(stranger.community, Role.ORGANISER)):
        assert report(here, actor, by=DIMENSIONS).rows == []
        assert report(here, actor).total.collected_g == 0
    nobody = acting(here.community, Role.CONTACT, here.first.agreement.place.organisation)
    assert report(here, nobody).total.collected_g == 0


def test_the_bias_of_one_scale_is_added_up_and_that_of_two_is_not() -> None:
    """GUM 5.2.2: fully correlated parts add linearly; 4.3.7 for each."""
    story = make_story()
    other = make_story(story.community)
    organiser = acting(story.community, Role.ORGANISER)

    def standard_g() -> int:
        found = diverted(organiser, community=story.community, selection=Selection())
        return found.uncertainty.standard_g

    weighing = bring(story, story.container, OCTOBER).weighings.get()
    one_g = standard_g()
    assert one_g * 1000 == pytest.approx(weighing.uncertainty_mg, abs=1000)
    bring(story, story.container, OCTOBER)
    same_scale_g = standard_g()
    bring(other, other.container, OCTOBER)
    two_scales_g = standard_g()
    shared_mg, own_mg = weighing.budget["shared_mg"], weighing.budget["own_mg"]
    assert same_scale_g == pytest.approx(
        ((2 * shared_mg) ** 2 + 2 * own_mg**2) ** 0.5 / 1000, abs=1
    )
    assert two_scales_g == pytest.approx(
        ((2 * shared_mg) ** 2 + shared_mg**2 + 3 * own_mg**2) ** 0.5 / 1000, abs=1
    )


def test_the_uncertainty_is_that_of_the_last_weighing(here: Months) -> None:
    story = here.first
    before_g = report(here).uncertainty.standard_g
    reverse(story, Movement.objects.get(reason="reweighed"), NOVEMBER)
    assert report(here).uncertainty.standard_g > before_g


def test_the_method_is_named_and_does_not_claim_the_later_point(here: Months) -> None:
    method = report(here).method
    assert (method.code, method.version) == ("accepted-at-workshop", 2)
    assert method.calculation_point == "accepted at the workshop"
    assert "2019/1004" in method.statement
    assert "not a recycling rate" in method.statement


@pytest.mark.parametrize(
    ("selection", "field"),
    [
        ({"first_day": date(2025, 11, 2), "last_day": date(2025, 11, 1)}, "to"),
        ({"first_day": date(1, 1, 1)}, "from"),
        ({"last_day": date(9999, 12, 31)}, "to"),
    ],
)
def test_a_period_that_cannot_be_is_refused(selection: dict[str, Any], field: str) -> None:
    with pytest.raises(InvalidInput) as refusal:
        Selection(**selection)
    assert refusal.value.fields[0].field == field
