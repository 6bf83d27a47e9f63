"""What was measured on the way to some pieces, as their price takes it."""

from typing import Any

import pytest

from network.errors import NotFound
from network.ids import new_id
from network.people.models import Role
from network.workshop import services
from network.workshop.models import Batch
from network.workshop.queries.heating import PieceWish
from network.workshop.queries.times import MeasuredTime, measured_times
from network.workshop.services import Charged, Made, Measured, Taken
from tests.factories import acting
from tests.services.workshop_story import LATER, Workshop, make_workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


def washed_and_shredded(shop: Workshop, **shred: Any) -> Batch:
    """Wash 8,000 g to 7,500 g in two hours, shred them to 7,200 g, and charge 6,000 g."""
    bag = shop.at_home(8_000)
    wash = shop.run(
        "wash",
        [Taken(lot_id=bag.id, state="collected")],
        [Made(mass_g=7_500, colour_id=shop.green.id)],
        duration_s=7_200,
    )
    shredded = shop.run(
        "shred",
        [Taken(lot_id=wash.outputs.get().lot_id, state="washed")],
        [Made(mass_g=7_200)],
        **shred,
    )
    lot_id = shredded.outputs.get().lot_id
    return shop.charge(charges=[Charged(lot_id=lot_id, state="shredded", mass_g=6_000)])


def press(shop: Workshop, batch: Batch, **measured: Any) -> None:
    wish = PieceWish(
        press_id=shop.press.id,
        resin="PE-HD",
        thickness_um=10_000,
        width_mm=300,
        length_mm=300,
        pressure_kpa=1_000,
    )
    begun = services.record_pressing(
        shop.maker, pressing_id=new_id(), batch_id=batch.id, wish=wish, at=LATER
    )
    services.finish_pressing(shop.maker, pressing_id=begun.id, measured=Measured(**measured))


def test_pieces_have_their_part_of_the_time_of_all_that_led_up_to_them(shop: Workshop) -> None:
    """By hand: 7,200 s for 7,200 g that were left is 1 s a gram; 600 s for them is 1/12 s a gram.

    The pieces took 4,800 g, and 1,200 g were cut off them: 6,000 s of washing, 500 s of shredding.
    """
    product = shop.make(washed_and_shredded(shop, duration_s=600), 4_800, offcut_g=1_200)
    whole: dict[str, Any] = {"pieces": 10, "is_attended": True, "is_whole": True}
    assert measured_times(shop.maker, product.id) == [
        MeasuredTime(name="wash", duration_s=6_000, **whole),
        MeasuredTime(name="shred", duration_s=500, **whole),
    ]


def test_what_was_timed_in_part_says_so_and_what_was_not_is_left_out(shop: Workshop) -> None:
    product = shop.make(washed_and_shredded(shop), 6_000)
    assert [one.name for one in measured_times(shop.maker, product.id)] == ["wash"]
    batch = product.batch
    press(shop, batch, outcome="good", melted_s=900, cooled_s=800)
    press(shop, batch, outcome="good", melted_s=1_100)
    press(shop, batch, outcome="smoked", melted_s=9_000)
    alone: dict[str, Any] = {"pieces": 1, "is_attended": False}
    assert measured_times(shop.maker, product.id)[1:] == [
        MeasuredTime(name="melt", duration_s=1_000, is_whole=True, **alone),
        MeasuredTime(name="press", duration_s=800, is_whole=False, **alone),
    ]


def test_only_those_who_see_the_pieces_see_their_times(shop: Workshop) -> None:
    product = shop.make(washed_and_shredded(shop), 6_000)
    with pytest.raises(NotFound):
        measured_times(shop.contact(shop.places[0]), product.id)
    organiser = acting(shop.story.community, Role.ORGANISER)
    assert measured_times(organiser, product.id)
