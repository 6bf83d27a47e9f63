"""From recipes to pieces, with every gram accounted for."""

import threading
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from network.errors import (
    Conflict,
    InvalidInput,
    NotEnough,
    NotFound,
)
from network.ids import new_id
from network.lots.models import Movement
from network.lots.queries.balances import ledger_faults
from network.lots.services import pass_on, record_loss, reverse_movement
from network.workshop import services
from network.workshop.models import Batch
from network.workshop.queries.mixing import mix_for
from network.workshop.refusals import CannotServe, IncompatibleResin
from network.workshop.services import Charged, Made, Taken
from tests.services.lots_story import MORNING, balances_g
from tests.services.workshop_story import LATER, Workshop, balances_of, make_workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


def recipe(shop: Workshop, mass_g: int = 1_000, **shares: str) -> Any:
    named = {"green": shop.green.id, "white": shop.white.id}
    colours = [{"colour_id": named[c], "share": Decimal(s)} for c, s in shares.items()]
    return services.save_recipe(
        shop.maker,
        recipe_id=new_id(),
        maker_id=shop.story.maker.id,
        name=f"Mix {new_id()}",
        resin="PE-HD",
        mass_g=mass_g,
        steps=[{"name": "all", "share": Decimal(1), "colours": colours}],
    )


def test_a_recipe_takes_lots_of_its_colours_from_stock(shop: Workshop) -> None:
    green = shop.clean(2_000)
    white = shop.clean(2_000, colour=shop.white, container=shop.second)
    shop.at_home(9_000)  # unwashed, so not to be melted
    wish = recipe(shop, green="0.7", white="0.3")
    answer = mix_for(shop.maker, wish.id)
    assert answer.mix is not None
    assert {c.lot: c.mass_g for c in answer.mix.charges} == {green: 700, white: 300}
    batch = services.charge_by_recipe(
        shop.maker, batch_id=new_id(), name="First", recipe_id=wish.id, at=LATER
    )
    assert balances_g(green) == {"washed": 1_300, "batch": 700}
    assert batch.charges.count() == 2


def test_a_recipe_the_stock_cannot_serve_comes_with_the_nearest(shop: Workshop) -> None:
    shop.clean(300)
    shop.clean(900, colour=shop.white)
    wish = recipe(shop, green="0.7", white="0.3")
    with pytest.raises(CannotServe) as refusal:
        services.charge_by_recipe(
            shop.maker, batch_id=new_id(), name="First", recipe_id=wish.id, at=LATER
        )
    assert refusal.value.extra["short"] == [{"colour": "sea green", "needs_g": 700, "has_g": 300}]
    nearest: Any = refusal.value.extra["nearest"]
    assert [one["kind"] for one in nearest] == ["smaller", "other_shares"]
    assert not Batch.objects.exists()


def test_a_lot_of_unknown_colour_or_another_resin_is_left_out_with_the_reason(
    shop: Workshop,
) -> None:
    odd = shop.clean(500, resin="PS")
    plain = shop.at_home(500)
    shop.run("wash", [Taken(lot_id=plain.id, state="collected")], [Made(mass_g=500)])
    answer = mix_for(shop.maker, recipe(shop, green="1").id)
    assert {one.code for one in answer.left_out} == {"resin_does_not_fit", "colour_unknown"}
    assert odd in {one.lot for one in answer.left_out}
    assert answer.mix is None


@pytest.mark.parametrize(("resin", "words"), [("PVC", "never melted"), ("PS", "not go together")])
def test_a_resin_that_does_not_fit_is_never_charged(shop: Workshop, resin: str, words: str) -> None:
    good, bad = shop.clean(500), shop.clean(500, resin=resin)
    with pytest.raises(IncompatibleResin, match=words) as refusal:
        shop.charge((good, 100), (bad, 100))
    assert refusal.value.fields[0].field == "charges[1].lot_id"
    assert refusal.value.fields[0].mend
    assert balances_g(bad) == {"washed": 500}


def test_unwashed_material_is_not_charged(shop: Workshop) -> None:
    lot = shop.at_home(500)
    with pytest.raises(InvalidInput, match="smokes") as refusal:
        shop.charge(charges=[Charged(lot_id=lot.id, state="collected", mass_g=100)])
    assert refusal.value.fields[0].field == "charges[0].state"


def test_no_more_is_charged_than_lies_there_in_all_charges_together(shop: Workshop) -> None:
    lot = shop.clean(500)
    twice = [Charged(lot_id=lot.id, state="washed", mass_g=300, step=step) for step in ("a", "b")]
    with pytest.raises(InvalidInput) as refusal:
        shop.charge(charges=twice)
    assert refusal.value.fields[0].field == "charges[1].mass_g"


def test_a_recipe_of_a_dangerous_resin_or_of_shares_that_do_not_add_up_is_refused(
    shop: Workshop,
) -> None:
    with pytest.raises(InvalidInput) as refusal:
        recipe(shop, green="0.7", white="0.2")
    assert refusal.value.fields[0].field == "steps"
    with pytest.raises(IncompatibleResin):
        services.save_recipe(
            shop.maker,
            recipe_id=new_id(),
            maker_id=shop.story.maker.id,
            name="Never",
            resin="PVC",
            mass_g=10,
            steps=[],
        )


def test_pieces_take_from_each_lot_in_proportion_and_offcuts_go_back(shop: Workshop) -> None:
    green, white = shop.clean(3_000), shop.clean(1_000, colour=shop.white)
    batch = shop.charge((green, 3_000), (white, 1_000))
    shop.make(batch, 3_200, offcut_g=600, loss_g=40)
    assert balances_g(green) == {"product": 2_400, "offcut": 450, "loss": 30, "batch": 120}
    assert balances_g(white) == {"product": 800, "offcut": 150, "loss": 10, "batch": 40}
    again = shop.charge(
        charges=[Charged(lot_id=green.id, state="offcut", mass_g=450)], name="Again"
    )
    assert again.charges.get().state == "offcut"


def test_what_was_bought_is_in_the_pieces_but_not_in_the_ledger(shop: Workshop) -> None:
    lot = shop.clean(950)
    batch = shop.charge((lot, 950), additive=services.Additive(name="Pigment", mass_g=50))
    product = shop.make(batch, 800, offcut_g=200)
    assert (product.additive_g, product.additive_gone_g) == (40, 10)
    assert balances_g(lot) == {"product": 760, "offcut": 190}


def test_a_batch_gives_no_more_than_was_charged(shop: Workshop) -> None:
    batch = shop.charge((shop.clean(1_000), 1_000))
    shop.make(batch, 900)
    with pytest.raises(InvalidInput) as refusal:
        shop.make(batch, 101)
    assert refusal.value.fields[0].field == "mass_g"
    with pytest.raises(InvalidInput):
        shop.make(batch, 5, pieces=6)


def test_worked_material_is_lost_and_passed_on_out_of_its_state(shop: Workshop) -> None:
    lot = shop.clean(1_000)
    out: dict[str, Any] = {"lot_id": lot.id, "note": "", "at": LATER}
    pass_on(shop.maker, movement_id=new_id(), mass_g=600, state="washed", **out)
    record_loss(shop.maker, movement_id=new_id(), mass_g=50, state="washed", **out)
    assert balances_g(lot) == {"washed": 350, "passed_on": 600, "loss": 50}
    with pytest.raises(NotEnough):
        pass_on(shop.maker, movement_id=new_id(), mass_g=1, **out)
    with pytest.raises(InvalidInput) as refusal:
        record_loss(shop.maker, movement_id=new_id(), mass_g=1, state="batch", **out)
    assert refusal.value.fields[0].field == "state"
    assert not ledger_faults()


def test_a_line_of_the_workshop_can_be_reversed_like_any_other(shop: Workshop) -> None:
    lot = shop.clean(1_000)
    shop.charge((lot, 400))
    line = Movement.objects.get(reason="charged")
    reverse_movement(
        shop.maker, movement_id=new_id(), reverses_id=line.id, note="Wrong lot.", at=LATER
    )
    assert balances_g(lot) == {"washed": 1_000}


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    masses=st.lists(st.integers(100, 9_000), min_size=1, max_size=3),
    shares=st.lists(st.integers(1, 100), min_size=5, max_size=5),
)
def test_mass_is_conserved_through_any_chain(masses: list[int], shares: list[int]) -> None:
    shop = make_workshop()
    entered = [shop.at_home(mass_g) for mass_g in masses]
    whole_g = sum(masses)
    out_g = max(1, whole_g * shares[0] // 100)
    residue_g = (whole_g - out_g) * shares[1] // 200
    run = shop.run(
        "wash",
        [Taken(lot_id=lot.id, state="collected") for lot in entered],
        [Made(mass_g=out_g)],
        residue_g=residue_g,
    )
    charged_g = max(1, out_g * shares[2] // 100)
    batch = shop.charge((run.outputs.get().lot, charged_g))
    pieces_g = max(1, charged_g * shares[3] // 100)
    offcut_g = (charged_g - pieces_g) * shares[4] // 100
    shop.make(batch, pieces_g, pieces=1, offcut_g=offcut_g)
    balances = balances_of(shop.story.community.id)
    assert sum(balances.values()) == 0
    assert balances["container"] == -whole_g
    assert balances.get("product") == pieces_g
    assert balances.get("offcut", 0) == offcut_g
    assert balances.get("residue", 0) == residue_g
    assert all(mass_g >= 0 for kind, mass_g in balances.items() if kind != "container")
    assert not ledger_faults()


def test_a_maker_works_its_own_lots_batches_and_pieces_only(shop: Workshop) -> None:
    other = make_workshop(shop.story.community)
    lot = shop.clean(1_000)
    batch = shop.charge((lot, 500))
    with pytest.raises(NotFound):
        other.charge((lot, 100))
    with pytest.raises(InvalidInput, match="no such batch"):
        other.make(batch, 100)
    with pytest.raises(NotFound):
        services.describe_lot(other.maker, lot_id=lot.id, resin="PP")
    with pytest.raises(NotFound):
        services.measure_colour(other.maker, colour_id=shop.green.id, lab=[Decimal(1)] * 3)
    with pytest.raises(InvalidInput):
        shop.run(
            "shred",
            [Taken(lot_id=lot.id, state="washed")],
            [Made(mass_g=1, colour_id=other.green.id)],
        )


def test_a_colour_or_press_has_one_name(shop: Workshop) -> None:
    with pytest.raises(InvalidInput, match="name"):
        services.add_colour(
            shop.maker, colour_id=new_id(), maker_id=shop.story.maker.id, name="white"
        )


@pytest.mark.django_db(transaction=True)
def test_of_two_who_charge_the_same_lot_at_once_one_gets_it() -> None:
    shop = make_workshop()
    lot = shop.clean(1_000)
    gate, results = threading.Barrier(2), []

    def charge() -> None:
        try:
            gate.wait(timeout=10)
            shop.charge((lot, 700))
            results.append("charged")
        except (InvalidInput, Conflict, NotEnough) as refusal:
            results.append(refusal.code)
        finally:
            connection.close()

    threads = [threading.Thread(target=charge) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    assert sorted(results) == ["charged", "invalid_input"]
    assert balances_g(lot) == {"washed": 300, "batch": 700}
    assert not ledger_faults()


def test_nothing_is_done_before_the_lot_was_there(shop: Workshop) -> None:
    lot = shop.clean(1_000)
    with pytest.raises(InvalidInput) as refusal:
        shop.charge((lot, 10), at=MORNING)
    assert refusal.value.fields[0].field == "at"
