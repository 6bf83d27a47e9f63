"""What happens to a bag, from the doorstep to the store and out of it."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from network.errors import InvalidInput, NotAllowed, NotEnough, NotFound, WrongState
from network.ids import new_id
from network.lots import services
from network.lots.models import Inspection, Lot, Movement, Weighing
from network.lots.queries.balances import balances_seen_by
from network.lots.queries.quality import sampled_contamination
from network.lots.queries.seen import children_of, lot_seen_by, parents_of
from network.lots.services import Reading
from network.materials.models import Item
from network.people.models import Role
from network.places.models import Agreement
from tests.factories import AgreementFactory, ContainerFactory, RuleVersionFactory, acting
from tests.services.lots_story import CLEAN, MORNING, UNRINSED, Story, balances_g, make_story

pytestmark = pytest.mark.django_db


@pytest.fixture
def story() -> Story:
    return make_story()


def inspect(story: Story, lot: Lot, **changes: Any) -> Inspection:
    arguments: dict[str, Any] = {
        "inspection_id": new_id(),
        "lot_id": lot.id,
        "observation": CLEAN,
        "at": MORNING,
    }
    return services.inspect(story.maker_actor, **{**arguments, **changes})


def weigh(story: Story, lot: Lot, gross_g: int, tare_g: int = 150) -> Weighing:
    return services.weigh_again(
        story.maker_actor,
        weighing_id=new_id(),
        lot_id=lot.id,
        gross_g=gross_g,
        tare_g=tare_g,
        scale_id=story.scale.id,
        at=MORNING,
    )


def field_of(refusal: pytest.ExceptionInfo[InvalidInput]) -> str:
    return refusal.value.fields[0].field


def test_a_bag_weighed_at_the_door_is_on_the_van_to_the_gram(story: Story) -> None:
    lot, weighing, look = story.collect(11_480)
    assert weighing.net_g == 11_480
    assert weighing.scale == story.scale
    assert look is None
    assert balances_g(lot) == {"container": -11_480, "vehicle": 11_480}


def test_coming_home_moves_all_of_it_to_the_store_and_again_moves_nothing(story: Story) -> None:
    lots = [story.collect(mass_g)[0] for mass_g in (8_000, 3_000)]
    home = services.bring_home(story.driver, lots=lots, vehicle_id=story.vehicle_id, at=MORNING)
    assert [line.mass_g for line in home] == [8_000, 3_000]
    assert balances_g(*lots) == {"container": -11_000, "collected": 11_000}
    assert not services.bring_home(story.driver, lots=lots, vehicle_id=story.vehicle_id, at=MORNING)


def test_a_bag_told_by_its_level_is_an_estimate_and_says_so(story: Story) -> None:
    """60 l of loose caps at 150 kg/m3: 9.0 kg full; a geometric estimate, no published source."""
    half = Reading(method="volume", percent=50)
    lot, weighing, _ = story.collect(reading=half)
    assert weighing.net_g == 4_500
    assert weighing.method == Weighing.Method.VOLUME
    assert weighing.scale is None
    assert weighing.uncertainty_mg > 10 * story.collect(4_500)[1].uncertainty_mg
    assert balances_g(lot)["vehicle"] == 4_500


def test_a_thousand_caps_are_two_kilograms_more_or_less(story: Story) -> None:
    """A cap of 2.0 g (1.1 to 3.0), unit mass from memory, unverified."""
    _, weighing, _ = story.collect(reading=Reading(method="counted", pieces=1_000))
    assert weighing.net_g == 2_000
    assert weighing.budget["shared_by"] == "counted:bottle-cap"


def test_where_no_figure_is_known_it_must_be_weighed(story: Story) -> None:
    unknown = AgreementFactory.create(
        community=story.community,
        rule_version=story.agreement.rule_version,
        main_item=Item.objects.get(slug="sports-bottle-cap"),
    )
    container = ContainerFactory.create(agreement=unknown)
    with pytest.raises(InvalidInput) as refusal:
        story.collect(container=container, reading=Reading(method="volume", percent=50))
    assert field_of(refusal) == "percent"


IMPOSSIBLE = [
    (Reading(method="guessed"), "method"),
    (Reading(method="weighed", gross_g=5_000, tare_g=150), "scale_id"),
    (Reading(method="estimated"), "gross_g"),
    (Reading(method="estimated", gross_g=0), "gross_g"),
    (Reading(method="estimated", gross_g=6_000_000), "gross_g"),
    (Reading(method="estimated", gross_g=150), "tare_g"),
    (Reading(method="estimated", gross_g=150, tare_g=-1), "tare_g"),
    (Reading(method="volume"), "percent"),
    (Reading(method="volume", percent=0), "percent"),
    (Reading(method="volume", percent=151), "percent"),
    (Reading(method="counted"), "pieces"),
    (Reading(method="counted", pieces=-3), "pieces"),
]


@pytest.mark.parametrize(("reading", "field"), IMPOSSIBLE)
def test_a_reading_that_cannot_be_is_refused_by_name(
    story: Story, reading: Reading, field: str
) -> None:
    with pytest.raises(InvalidInput) as refusal:
        story.collect(reading=reading)
    assert field_of(refusal) == field
    assert not Lot.objects.exists()


def test_a_scale_is_not_read_past_its_highest_load(story: Story) -> None:
    with pytest.raises(InvalidInput, match="60000") as refusal:
        story.collect(60_001)
    assert field_of(refusal) == "gross_g"


def test_the_scale_of_another_maker_is_not_there(story: Story) -> None:
    other = make_story(story.community)
    with pytest.raises(NotFound):
        story.collect(reading=other.reading(5_000))


@pytest.mark.parametrize(("max_g", "interval_g"), [(60_000, 5), (20, 20), (60_000, 0)])
def test_a_plate_that_no_class_iii_scale_has_is_refused(
    story: Story, max_g: int, interval_g: int
) -> None:
    """At most 10 000 intervals: OIML R 76-1, Table 3."""
    with pytest.raises(InvalidInput):
        services.add_scale(
            story.maker_actor,
            scale_id=new_id(),
            maker_id=story.maker.id,
            name="Bench",
            max_g=max_g,
            interval_g=interval_g,
        )


def test_what_must_not_be_melted_is_not_collected(story: Story) -> None:
    with pytest.raises(WrongState) as refusal:
        story.collect(observation={"resins": ["PVC"]})
    verdict = refusal.value.extra["verdict"]
    assert verdict["reasons"][0]["code"] == "dangerous_resin"  # type: ignore[index]
    assert not Lot.objects.exists()


def test_an_unrinsed_bag_stays_at_the_place_with_the_reason_and_no_gram_moves(
    story: Story,
) -> None:
    look = services.turn_away_at_door(
        story.driver, container=story.container, observation=UNRINSED, note="", at=MORNING
    )
    assert look.verdict == Inspection.Verdict.TURNED_AWAY
    assert look.reasons[0]["next_time"].startswith("Rinse")
    assert not Movement.objects.exists()


def test_turning_away_what_the_rules_take_needs_a_word(story: Story) -> None:
    turn: dict[str, Any] = {"container": story.container, "observation": CLEAN, "at": MORNING}
    with pytest.raises(InvalidInput) as refusal:
        services.turn_away_at_door(story.driver, note=" ", **turn)
    assert field_of(refusal) == "note"
    look = services.turn_away_at_door(story.driver, note="The bag is torn.", **turn)
    assert look.verdict == Inspection.Verdict.TURNED_AWAY


@pytest.mark.parametrize(("gross_g", "net_g"), [(8_250, 8_100), (7_950, 7_800), (8_150, 8_000)])
def test_weighed_again_the_difference_goes_against_the_container(
    story: Story, gross_g: int, net_g: int
) -> None:
    lot = story.at_home(8_000)
    weighing = weigh(story, lot, gross_g)
    assert weighing.stage == Weighing.Stage.WORKSHOP
    assert balances_g(lot) == {"container": -net_g, "collected": net_g}


def test_a_lot_is_weighed_again_only_while_it_is_as_it_came(story: Story) -> None:
    aboard = story.collect()[0]
    with pytest.raises(WrongState):
        weigh(story, aboard, 8_000)
    lot = story.at_home()
    parts = services.split_lot(
        story.maker_actor, first_id=new_id(), lot_id=lot.id, parts_g=[500], at=MORNING
    )
    for one in (lot, *parts):
        with pytest.raises(WrongState):
            weigh(story, one, 8_000)


def test_a_little_contamination_is_extra_work_and_what_is_taken_out_is_residue(
    story: Story,
) -> None:
    lot = story.at_home(8_000)
    look = inspect(story, lot, sample_g=1_000, findings=[("label", 50)], taken_out_g=300)
    assert look.verdict == Inspection.Verdict.EXTRA_WORK
    assert balances_g(lot) == {"container": -8_000, "collected": 7_700, "residue": 300}
    share = sampled_contamination(look)
    assert share is not None
    assert share.low < 0.05 < share.high


@pytest.mark.parametrize("destination", ["returned", "residue"])
def test_turned_away_at_the_workshop_all_of_it_goes_where_someone_says(
    story: Story, destination: str
) -> None:
    lot = story.at_home(8_000)
    findings = {"sample_g": 1_000, "findings": [("food_residue", 200)]}
    with pytest.raises(InvalidInput) as refusal:
        inspect(story, lot, **findings)
    assert field_of(refusal) == "turned_away_to"
    inspect(story, lot, turned_away_to=destination, **findings)
    assert balances_g(lot) == {"container": -8_000, destination: 8_000}


WRONG_FINDINGS: list[tuple[dict[str, Any], str]] = [
    ({"sample_g": 8_001}, "sample_g"),
    ({"taken_out_g": 8_001}, "taken_out_g"),
    ({"findings": [("label", 5)]}, "sample_g"),
    ({"findings": [("label", 60), ("metal", 60)], "sample_g": 100}, "sample_g"),
    ({"findings": [("label", 5), ("label", 6)], "sample_g": 100}, "findings"),
    ({"turned_away_to": "residue"}, "turned_away_to"),
    ({"observation": {"colours": ["tartan"]}}, "observation.colours[0]"),
    ({"observation": {"met": ["dry"], "unmet": ["dry"]}}, "observation"),
    ({"observation": {"smell": "bad"}}, "observation.smell"),
]


@pytest.mark.parametrize(("changes", "field"), WRONG_FINDINGS)
def test_an_inspection_that_cannot_be_is_refused_by_name(
    story: Story, changes: dict[str, Any], field: str
) -> None:
    lot = story.at_home(8_000)
    with pytest.raises(InvalidInput) as refusal:
        inspect(story, lot, **changes)
    assert field_of(refusal) == field
    assert not Inspection.objects.exists()


def test_parts_and_what_stays_add_up_to_the_whole(story: Story) -> None:
    lot = story.at_home(8_000)
    parts = services.split_lot(
        story.maker_actor, first_id=new_id(), lot_id=lot.id, parts_g=[3_333, 1], at=MORNING
    )
    assert [balances_g(part) for part in parts] == [{"collected": 3_333}, {"collected": 1}]
    assert balances_g(lot, *parts) == {"container": -8_000, "collected": 8_000}
    assert [part.place for part in parts] == [lot.place, lot.place]
    assert children_of(lot) == {parts[0]: 3_333, parts[1]: 1}
    assert parents_of(parts[0]) == {lot: 3_333}
    line = Movement.objects.get(to_account__lot=parts[0])
    services.reverse_movement(
        story.maker_actor,
        movement_id=new_id(),
        reverses_id=line.id,
        note="The wrong bag.",
        at=MORNING,
    )
    assert children_of(lot) == {parts[1]: 1}


def test_more_than_there_is_cannot_be_taken(story: Story) -> None:
    lot = story.at_home(8_000)
    with pytest.raises(NotEnough):
        services.split_lot(
            story.maker_actor, first_id=new_id(), lot_id=lot.id, parts_g=[8_000, 1], at=MORNING
        )
    out: dict[str, Any] = {"lot_id": lot.id, "note": "", "at": MORNING}
    for take in (services.record_loss, services.pass_on):
        with pytest.raises(NotEnough):
            take(story.maker_actor, movement_id=new_id(), mass_g=8_001, **out)
    services.pass_on(story.maker_actor, movement_id=new_id(), mass_g=7_900, **out)
    services.record_loss(story.maker_actor, movement_id=new_id(), mass_g=100, **out)
    assert balances_g(lot) == {"container": -8_000, "passed_on": 7_900, "loss": 100}


def test_a_mix_of_two_schools_no_longer_comes_from_one_place(story: Story) -> None:
    """ISO 22095:2020, 3.3: mixing sources ends 'identity preserved'; read in a secondary source."""
    other: Agreement = AgreementFactory.create(
        community=story.community, rule_version=story.agreement.rule_version
    )
    lots = [story.at_home(), story.at_home(container=ContainerFactory.create(agreement=other))]
    mixed = services.merge_lots(
        story.maker_actor, lot_id=new_id(), lot_ids=[lot.id for lot in lots], at=MORNING
    )
    assert (mixed.place, mixed.agreement) == (None, None)
    assert balances_g(mixed) == {"collected": 16_000}
    assert parents_of(mixed) == dict.fromkeys(lots, 8_000)
    with pytest.raises(WrongState, match="rules"):
        inspect(story, mixed)
    same = services.merge_lots(
        story.maker_actor,
        lot_id=new_id(),
        lot_ids=[story.at_home().id, story.at_home().id],
        at=MORNING,
    )
    assert same.place == story.agreement.place


def test_lots_that_cannot_be_mixed_stay_apart(story: Story) -> None:
    lot = story.at_home()
    rules = RuleVersionFactory.create(community=story.community, stream__maker=story.maker)
    agreement = AgreementFactory.create(community=story.community, rule_version=rules)
    other = story.at_home(container=ContainerFactory.create(agreement=agreement))
    aboard = story.collect()[0]
    merge = services.merge_lots
    for lot_ids, refusal in (
        ([lot.id, other.id], WrongState),
        ([lot.id, aboard.id], WrongState),
        ([lot.id], InvalidInput),
        ([lot.id, lot.id], InvalidInput),
    ):
        with pytest.raises(refusal):
            merge(story.maker_actor, lot_id=new_id(), lot_ids=lot_ids, at=MORNING)


def test_a_wrong_bag_is_put_back_by_reversing_each_line_from_the_last(story: Story) -> None:
    lot = story.at_home()
    home, collected = Movement.objects.filter(from_account__lot=lot).order_by("-recorded_at")
    undo: dict[str, Any] = {"note": "It was the other bag.", "at": MORNING}
    with pytest.raises(NotEnough):
        services.reverse_movement(
            story.maker_actor, movement_id=new_id(), reverses_id=collected.id, **undo
        )
    for line in (home, collected):
        services.reverse_movement(
            story.maker_actor, movement_id=new_id(), reverses_id=line.id, **undo
        )
    assert balances_g(lot) == {}
    with pytest.raises(InvalidInput):
        services.reverse_movement(
            story.maker_actor, movement_id=new_id(), reverses_id=home.id, note=" ", at=MORNING
        )


def test_nothing_is_done_in_the_future_or_before_the_lot_was_there(story: Story) -> None:
    lot = story.at_home()
    for at in (timezone.now() + timedelta(hours=1), MORNING - timedelta(seconds=1)):
        with pytest.raises(InvalidInput) as refusal:
            inspect(story, lot, at=at)
        assert field_of(refusal) == "at"


def test_only_those_who_work_for_the_maker_touch_its_lots(story: Story) -> None:
    lot = story.at_home()
    rival = make_story(story.community)
    stranger = make_story()
    organiser = acting(story.community, Role.ORGANISER)
    for actor in (rival.maker_actor, stranger.maker_actor, organiser, story.driver):
        with pytest.raises(NotFound):
            services.record_loss(
                actor, movement_id=new_id(), lot_id=lot.id, mass_g=1, note="", at=MORNING
            )
    with pytest.raises(NotAllowed):
        services.turn_away_at_door(
            rival.driver, container=story.container, observation=UNRINSED, note="", at=MORNING
        )
    with pytest.raises(NotFound):
        lot_seen_by(rival.maker_actor, lot.id)
    assert lot_seen_by(organiser, lot.id) == lot


def test_all_balances_with_the_containers_add_up_to_nothing(story: Story) -> None:
    lot = story.at_home()
    inspect(story, lot, sample_g=500, findings=[("label", 20)], taken_out_g=70)
    rows = balances_seen_by(story.maker_actor)
    assert {row.kind: row.mass_g for row in rows if row.mass_g} == balances_g(lot)
    assert sum(row.mass_g for row in rows) == 0
    assert not balances_seen_by(make_story(story.community).maker_actor)
