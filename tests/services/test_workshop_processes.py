"""Washing, labels, sorting and shredding: what goes in is what comes out."""

from decimal import Decimal

import pytest

from network.errors import (
    DifferentBody,
    InvalidInput,
    NotFound,
)
from network.ids import new_id
from network.lots.models import Movement
from network.lots.services import reverse_movement
from network.workshop.models import ProcessRun
from network.workshop.queries.yields import promise, yields_of
from network.workshop.services import Made, Taken
from tests.services.lots_story import balances_g
from tests.services.workshop_story import LATER, Workshop, make_workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


def test_what_goes_into_a_wash_is_what_comes_out_with_residue_and_loss(shop: Workshop) -> None:
    lot = shop.at_home(8_000)
    run = shop.run(
        "wash",
        [Taken(lot_id=lot.id, state="collected")],
        [Made(mass_g=7_600)],
        residue_g=250,
        water_ml=60_000,
    )
    (out,) = run.outputs.all()
    assert (run.loss_g, out.mass_g) == (150, 7_600)
    assert balances_g(lot) == {"container": -8_000, "residue": 250, "loss": 150}
    assert balances_g(out.lot) == {"washed": 7_600}


def test_a_sort_gives_a_lot_for_each_colour(shop: Workshop) -> None:
    lot = shop.at_home(8_000)
    run = shop.run(
        "sort",
        [Taken(lot_id=lot.id, state="collected", mass_g=6_000)],
        [
            Made(mass_g=4_000, colour_id=shop.green.id),
            Made(mass_g=1_900, colour_id=shop.white.id),
        ],
    )
    assert [out.lot.material.colour for out in run.outputs.order_by("id")] == [
        shop.green,
        shop.white,
    ]
    assert balances_g(lot) == {"container": -8_000, "collected": 2_000, "loss": 100}


def test_what_was_known_of_a_lot_is_known_of_what_came_of_it(shop: Workshop) -> None:
    washed = shop.clean(8_000, melt_flow=Decimal("2.0"), melt_flow_condition="190/2.16")
    run = shop.run("shred", [Taken(lot_id=washed.id, state="washed")], [Made(mass_g=7_950)])
    material = run.outputs.get().lot.material
    # The agreement takes polyethylene only, and its main item is an injection-moulded cap.
    assert (material.resin_id, material.forming) == ("PE-HD", "injection")
    assert (material.colour, material.melt_flow) == (shop.green, Decimal("2.0"))


def test_what_comes_of_two_lots_is_of_both_in_proportion(shop: Workshop) -> None:
    first, other = shop.at_home(3_000), shop.at_home(1_000, container=shop.second)
    run = shop.run(
        "wash",
        [Taken(lot_id=lot.id, state="collected") for lot in (first, other)],
        [Made(mass_g=3_600)],
        residue_g=400,
    )
    out = run.outputs.get().lot
    assert {link.parent_id: link.mass_g for link in out.parents.all()} == {
        first.id: 2_700,
        other.id: 900,
    }
    assert out.place is None
    assert balances_g(first)["residue"] == 300


def test_more_cannot_come_out_than_went_in(shop: Workshop) -> None:
    lot = shop.at_home(8_000)
    with pytest.raises(InvalidInput, match="more is said") as refusal:
        shop.run("wash", [Taken(lot_id=lot.id, state="collected")], [Made(mass_g=8_001)])
    assert refusal.value.fields[0].field == "outputs"
    assert not ProcessRun.objects.exists()


def test_no_more_goes_in_than_lies_there(shop: Workshop) -> None:
    lot = shop.at_home(500)
    for taken in (
        Taken(lot_id=lot.id, state="collected", mass_g=501),
        Taken(lot_id=lot.id, state="washed"),
    ):
        with pytest.raises(InvalidInput) as refusal:
            shop.run("shred", [taken], [Made(mass_g=1)])
        assert refusal.value.fields[0].field == "inputs[0].mass_g"


def test_what_is_shredded_is_not_washed_again(shop: Workshop) -> None:
    lot = shop.at_home(500)
    shredded = shop.run(
        "shred", [Taken(lot_id=lot.id, state="collected")], [Made(mass_g=500)]
    ).outputs.get()
    with pytest.raises(InvalidInput) as refusal:
        shop.run("wash", [Taken(lot_id=shredded.lot_id, state="shredded")], [Made(mass_g=500)])
    assert refusal.value.fields[0].field == "inputs[0].state"


def test_taking_labels_off_leaves_the_state_as_it_was(shop: Workshop) -> None:
    washed = shop.clean(1_000)
    out = shop.run(
        "delabel", [Taken(lot_id=washed.id, state="washed")], [Made(mass_g=970)], residue_g=30
    ).outputs.get()
    assert balances_g(out.lot) == {"washed": 970}


def test_lots_of_two_streams_are_not_washed_together(shop: Workshop) -> None:
    other = make_workshop(shop.story.community)
    other.story.maker_actor = shop.maker
    lot = shop.at_home(500)
    with pytest.raises(NotFound):
        shop.run(
            "wash",
            [Taken(lot_id=one.id, state="collected") for one in (lot, other.at_home(500))],
            [Made(mass_g=900)],
        )


def test_a_run_is_recorded_once(shop: Workshop) -> None:
    lot = shop.at_home(500)
    run = shop.run("wash", [Taken(lot_id=lot.id, state="collected")], [Made(mass_g=500)])
    with pytest.raises(DifferentBody):
        shop.run(
            "wash", [Taken(lot_id=lot.id, state="collected")], [Made(mass_g=500)], run_id=run.id
        )


def test_yields_are_learnt_from_own_runs_and_promised_at_their_low_end(shop: Workshop) -> None:
    before = {one.kind: one.learned for one in yields_of(shop.maker, shop.story.maker.id)}
    assert before["wash"].share == pytest.approx(0.95)
    for _ in range(3):
        lot = shop.at_home(5_000)
        shop.run(
            "wash",
            [Taken(lot_id=lot.id, state="collected")],
            [Made(mass_g=4_000)],
            residue_g=1_000,
        )
    after = {one.kind: one.learned for one in yields_of(shop.maker, shop.story.maker.id)}
    # By hand: (9.5 + 3 × 8) / 40.
    assert after["wash"].share == pytest.approx(33.5 / 40)
    assert after["shred"] == before["shred"]
    told = promise(shop.maker, shop.story.maker.id, mass_g=10_000, kinds=["wash"])
    assert told.promised_g < told.expected_g == 8_375
    line = Movement.objects.filter(reason="washed", to_account__kind="washed").first()
    assert line is not None
    reverse_movement(
        shop.maker, movement_id=new_id(), reverses_id=line.id, note="Not washed.", at=LATER
    )
    left = {one.kind: one.learned for one in yields_of(shop.maker, shop.story.maker.id)}
    assert left["wash"].runs == 2
    with pytest.raises(InvalidInput):
        promise(shop.maker, shop.story.maker.id, mass_g=1, kinds=["iron"])
