"""The numbers of docs/rules/ledger.md and docs/rules/diverted.md, worked by the program."""

from datetime import date
from typing import Any

import pytest

from network.ids import new_id
from network.lots import services
from network.lots.core.mass import by_eye, estimated, weighed
from network.lots.core.sampling import contamination
from network.lots.models import Lot, Movement
from network.people.models import Role
from network.reports.queries import Masses, Selection, diverted
from tests.factories import ContainerFactory, acting
from tests.services.lots_story import CLEAN, UNRINSED, Story, balances_g, make_story
from tests.services.reports_story import NOVEMBER, OCTOBER, bring, reverse


@pytest.fixture
def story() -> Story:
    return make_story()


def weigh_again(story: Story, lot: Lot, net_g: int) -> None:
    services.weigh_again(
        story.maker_actor,
        weighing_id=new_id(),
        lot_id=lot.id,
        gross_g=net_g + 150,
        tare_g=150,
        scale_id=story.scale.id,
        at=NOVEMBER,
    )


def inspect(story: Story, lot: Lot, **changes: Any) -> None:
    arguments: dict[str, Any] = {"observation": CLEAN, "at": OCTOBER, **changes}
    services.inspect(story.maker_actor, inspection_id=new_id(), lot_id=lot.id, **arguments)


@pytest.mark.django_db
def test_a_bags_way_through_the_ledger(story: Story) -> None:
    lot = story.collect(8_000, at=OCTOBER)[0]
    assert balances_g(lot) == {"container": -8_000, "vehicle": 8_000}
    services.bring_home(story.driver, lots=[lot], vehicle_id=story.vehicle_id, at=OCTOBER)
    assert balances_g(lot) == {"container": -8_000, "collected": 8_000}
    weigh_again(story, lot, 8_100)
    assert balances_g(lot) == {"container": -8_100, "collected": 8_100}
    inspect(story, lot, taken_out_g=300)
    assert balances_g(lot) == {"container": -8_100, "collected": 7_800, "residue": 300}


def test_how_sure_a_mass_is() -> None:
    bag: dict[str, Any] = {
        "gross_g": 12_340,
        "tare_g": 860,
        "interval_g": 20,
        "repeatability_g": 10,
    }
    assert weighed(**bag, in_service=False).standard_mg == pytest.approx(18_260, abs=5)
    in_service = weighed(**bag)
    assert in_service.standard_mg == pytest.approx(28_870, abs=5)
    assert in_service.expanded_mg == pytest.approx(58_000, abs=500)
    half_full = estimated(mass_g=4_500, low_g=3_300, high_g=6_000, amount_half_width_g=900)
    assert half_full.standard_mg == pytest.approx(758_000, abs=500)
    assert by_eye(gross_g=2_000, tare_g=0).standard_mg == pytest.approx(1_000_000 / 3**0.5)


def test_what_a_sample_says() -> None:
    caps = contamination(found_g=50, sample_g=1_000, piece_g=2, whole_g=8_000)
    bottles = contamination(found_g=50, sample_g=1_000, piece_g=40, whole_g=8_000)
    assert (round(caps.low, 3), round(caps.high, 3)) == (0.033, 0.073)
    assert (round(bottles.low, 3), round(bottles.high, 3)) == (0.001, 0.204)


def six_bags(story: Story) -> None:
    bring(story, story.container, OCTOBER, net_g=8_001)
    # 60 l at 40 % of loose caps at 150 kg/m3: 3600 g; a geometric estimate.
    told = bring(
        story, story.container, OCTOBER, reading=services.Reading(method="volume", percent=40)
    )
    dirty = bring(story, story.container, OCTOBER, net_g=4_000)
    labelled = bring(story, story.container, OCTOBER, net_g=6_007)
    wrong = bring(story, story.container, OCTOBER, net_g=1_234)
    inspect(story, labelled, taken_out_g=111)
    weigh_again(story, told, 3_307)
    inspect(story, dirty, observation=UNRINSED, turned_away_to="returned", at=NOVEMBER)
    for line in Movement.objects.filter(from_account__lot=wrong).order_by("-recorded_at"):
        reverse(story, line, NOVEMBER)
    story.collect(777, at=NOVEMBER)


def shown(masses: Masses) -> tuple[int, ...]:
    return (
        masses.collected_g,
        masses.on_the_way_g,
        masses.turned_away_g,
        masses.residue_g,
        masses.diverted_g,
    )


@pytest.mark.django_db
def test_six_bags_over_two_months(story: Story) -> None:
    six_bags(story)
    report = diverted(
        acting(story.community, Role.ORGANISER),
        community=story.community,
        selection=Selection(by=("month",), first_day=date(2025, 10, 1)),
    )
    assert {row.group["month"]: shown(row.masses) for row in report.rows} == {
        "2025-10": (22_842, 0, 0, 111, 22_731),
        "2025-11": (-750, 777, 4_000, 0, -5_527),
    }
    assert shown(report.total) == (22_092, 777, 4_000, 111, 17_204)


@pytest.mark.django_db
@pytest.mark.parametrize(("scales", "expanded_g"), [(1, 110), (2, 82)])
def test_two_bags_on_one_scale_or_two(story: Story, scales: int, expanded_g: int) -> None:
    """Gross 12,340 g and tare 860 g each, e = 20 g, repeatability 10 g."""
    other = make_story(story.community)
    for one in (story, other if scales == 2 else story):
        container = ContainerFactory.create(agreement=one.agreement, tare_g=860)
        bring(one, container, OCTOBER, reading=one.reading(11_480, tare_g=860))
    report = diverted(
        acting(story.community, Role.ORGANISER),
        community=story.community,
        selection=Selection(),
    )
    assert report.uncertainty.expanded_g == expanded_g
