"""What a place hears of what it set aside."""

from datetime import timedelta
from typing import Any

import pytest

from network.errors import NotFound
from network.ids import new_id
from network.lots import services
from network.lots.models import Lot, Movement
from network.lots.queries.feedback import Feedback, feedback_for
from network.people.models import Role
from tests.factories import AgreementFactory, ContainerFactory, OrganisationFactory, acting
from tests.services.lots_story import CLEAN, MORNING, UNRINSED, Story, make_story

pytestmark = pytest.mark.django_db


@pytest.fixture
def story() -> Story:
    return make_story()


def read(story: Story) -> Feedback:
    contact = acting(story.community, Role.CONTACT, story.agreement.place.organisation)
    return feedback_for(contact, story.agreement.place_id)


def inspect(story: Story, lot: Lot, **changes: Any) -> None:
    arguments: dict[str, Any] = {"observation": CLEAN, "at": lot.made_at, **changes}
    services.inspect(story.maker_actor, inspection_id=new_id(), lot_id=lot.id, **arguments)


def test_a_visit_is_told_in_kilograms_findings_and_words(story: Story) -> None:
    clean = story.at_home(8_000)
    labelled = story.at_home(
        3_000, container=ContainerFactory.create(agreement=story.agreement, tag="B2")
    )
    inspect(story, clean)
    inspect(story, labelled, sample_g=1_000, findings=[("label", 50)], taken_out_g=100)
    visit = read(story).visits[0]
    assert visit.mass_g == 11_000
    lines = {line.container_tag: line for line in visit.lines}
    assert lines["B2"].findings == [("label", 50)]
    assert lines["B2"].verdict == "taken_with_extra_work"
    assert lines[story.container.tag].reasons == []
    ((code, advice),) = read(story).next_time
    assert code == "contamination_extra_work"
    assert advice.startswith("What we found most was labels. Peel the label off.")


def test_what_was_weighed_again_is_what_the_place_is_told(story: Story) -> None:
    lot = story.at_home(8_000)
    services.weigh_again(
        story.maker_actor,
        weighing_id=new_id(),
        lot_id=lot.id,
        gross_g=8_250,
        tare_g=150,
        scale_id=story.scale.id,
        at=MORNING,
    )
    assert read(story).visits[0].mass_g == 8_100


def test_an_estimate_is_told_as_one_until_it_is_weighed(story: Story) -> None:
    lot = story.at_home(reading=services.Reading(method="volume", percent=50))
    assert read(story).visits[0].lines[0].estimated
    services.weigh_again(
        story.maker_actor,
        weighing_id=new_id(),
        lot_id=lot.id,
        gross_g=4_000,
        tare_g=150,
        scale_id=story.scale.id,
        at=MORNING,
    )
    line = read(story).visits[0].lines[0]
    assert (line.mass_g, line.estimated) == (3_850, False)
    services.reverse_movement(
        story.maker_actor,
        movement_id=new_id(),
        reverses_id=Movement.objects.get(reason="reweighed").id,
        note="Another bag was on the scale.",
        at=MORNING,
    )
    line = read(story).visits[0].lines[0]
    assert (line.mass_g, line.estimated) == (4_500, True)


def test_a_bag_turned_away_at_the_door_has_no_mass_and_the_advice(story: Story) -> None:
    services.turn_away_at_door(
        story.driver, container=story.container, observation=UNRINSED, note="", at=MORNING
    )
    feedback = read(story)
    line = feedback.visits[0].lines[0]
    assert (line.outcome, line.mass_g, line.container_tag) == (
        "turned_away",
        None,
        story.container.tag,
    )
    assert feedback.next_time[0][0] == "state_must"


def test_the_drivers_own_words_are_advice_where_no_rule_was_broken(story: Story) -> None:
    services.turn_away_at_door(
        story.driver,
        container=story.container,
        observation=CLEAN,
        note="Please use a bag without holes.",
        at=MORNING,
    )
    assert read(story).next_time == [("note", "Please use a bag without holes.")]


def test_a_bag_turned_away_at_the_workshop_says_so_also_when_it_was_divided(story: Story) -> None:
    lot = story.at_home(8_000)
    half = services.split_lot(
        story.maker_actor, first_id=new_id(), lot_id=lot.id, parts_g=[4_000], at=MORNING
    )[0]
    inspect(story, half, observation=UNRINSED, turned_away_to="returned")
    line = read(story).visits[0].lines[0]
    assert (line.outcome, line.mass_g) == ("turned_away", 8_000)


def test_a_bag_that_was_put_back_is_no_visit(story: Story) -> None:
    lot = story.collect()[0]
    line = lot.accounts.get(kind="container").given.get()
    services.reverse_movement(
        story.maker_actor, movement_id=new_id(), reverses_id=line.id, note="Empty.", at=MORNING
    )
    assert read(story).visits == []
    assert read(story).next_time == []


def test_when_nothing_has_to_change_that_is_said(story: Story) -> None:
    story.at_home()
    assert read(story).next_time[0][0] == "as_it_is"


def test_the_trend_runs_by_month_of_the_communitys_clock(story: Story) -> None:
    """31 October 2025, 23:30 UTC is still October in London, in winter time since the 26th."""
    last_minute = MORNING.replace(month=10, day=31, hour=23, minute=30)
    first = story.at_home(5_000, at=MORNING)
    second = story.collect(2_000, at=last_minute)[0]
    third = story.collect(1_000, at=last_minute + timedelta(hours=1))[0]
    services.bring_home(
        story.driver,
        lots=[second, third],
        vehicle_id=story.vehicle_id,
        at=last_minute + timedelta(hours=2),
    )
    inspect(story, first, sample_g=1_000, findings=[("label", 10)])
    months = {f"{month.first_day:%Y-%m}": month for month in read(story).trend}
    assert {name: month.mass_g for name, month in months.items()} == {
        "2025-10": 7_000,
        "2025-11": 1_000,
    }
    assert months["2025-10"].contamination_percent == 1.0
    assert months["2025-11"].contamination_percent is None


def test_another_place_and_another_maker_hear_nothing_of_it(story: Story) -> None:
    story.at_home(8_000)
    place = story.agreement.place
    neighbour = acting(
        story.community, Role.CONTACT, OrganisationFactory.create(community=story.community)
    )
    with pytest.raises(NotFound):
        feedback_for(neighbour, place.id)
    with pytest.raises(NotFound):
        feedback_for(make_story().maker_actor, place.id)
    rival = make_story(story.community)
    agreement = AgreementFactory.create(
        community=story.community, place=place, rule_version=rival.agreement.rule_version
    )
    rival.at_home(500, container=ContainerFactory.create(agreement=agreement))
    assert [visit.mass_g for visit in feedback_for(rival.maker_actor, place.id).visits] == [500]
    assert [visit.mass_g for visit in read(story).visits] == [8_500]
