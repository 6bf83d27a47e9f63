"""Pieces under the press: limits, refusals and the log."""

from typing import Any

import pytest

from network.errors import (
    InvalidInput,
    WrongState,
)
from network.ids import new_id
from network.people.models import Role
from network.workshop import services
from network.workshop.models import Batch
from network.workshop.queries.heating import PieceWish
from network.workshop.refusals import BeyondPress, IncompatibleResin, TooHot
from network.workshop.services import Measured
from tests.factories import acting
from tests.services.workshop_story import LATER, Workshop, make_workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


def wish(shop: Workshop, **changes: Any) -> PieceWish:
    arguments: dict[str, Any] = {
        "press_id": shop.press.id,
        "resin": "PE-HD",
        "thickness_um": 10_000,
        "width_mm": 300,
        "length_mm": 300,
        "pressure_kpa": 1_000,
    }
    return PieceWish(**{**arguments, **changes})


def pressing(shop: Workshop, batch: Batch, **changes: Any) -> Any:
    return services.record_pressing(
        shop.maker,
        pressing_id=new_id(),
        batch_id=batch.id,
        wish=wish(shop, **changes),
        at=LATER,
    )


def test_a_temperature_above_the_limit_is_refused_also_when_the_limit_was_lowered(
    shop: Workshop,
) -> None:
    batch = shop.charge((shop.clean(1_000), 1_000))
    with pytest.raises(TooHot, match="181") as refusal:
        pressing(shop, batch, set_c=181)
    assert refusal.value.fields[0].field == "set_c"
    organiser = acting(shop.story.community, Role.ORGANISER)
    services.set_heat_limit(organiser, set_c_max=170)
    with pytest.raises(TooHot, match="170"):
        pressing(shop, batch, set_c=175)
    assert pressing(shop, batch).set_c == 170
    with pytest.raises(TooHot, match="wants at least"):
        pressing(shop, batch, resin="PP")
    with pytest.raises(InvalidInput, match="180"):
        services.set_heat_limit(organiser, set_c_max=181)


def test_a_press_beyond_its_jack_is_refused_with_what_it_can_do(shop: Workshop) -> None:
    batch = shop.charge((shop.clean(1_000), 1_000))
    with pytest.raises(BeyondPress) as refusal:
        pressing(shop, batch, pressure_kpa=1_090)
    (fault,) = refusal.value.fields
    assert fault.field == "pressure_kpa"
    assert "1089 kPa" in fault.mend


@pytest.mark.parametrize("resin", ["PVC", "POM", "PC"])
def test_a_resin_that_must_not_or_cannot_be_pressed_here_is_refused(
    shop: Workshop, resin: str
) -> None:
    batch = shop.charge((shop.clean(1_000), 1_000))
    with pytest.raises(IncompatibleResin):
        pressing(shop, batch, resin=resin)


def test_a_source_that_cannot_be_set_lower_is_refused(shop: Workshop) -> None:
    hot = services.add_press(
        shop.maker,
        press_id=new_id(),
        maker_id=shop.story.maker.id,
        name="Grill",
        is_settable=False,
        heats_c_max=230,
        rating_n=10_000,
        cooling="air",
    )
    batch = shop.charge((shop.clean(1_000), 1_000))
    with pytest.raises(TooHot, match="cannot be set lower"):
        pressing(shop, batch, press_id=hot.id, pressure_kpa=10)


def test_measured_times_of_good_pieces_move_the_next_plan(shop: Workshop) -> None:
    batch = shop.charge((shop.clean(1_000), 1_000))
    first = pressing(shop, batch)
    services.finish_pressing(
        shop.maker,
        pressing_id=first.id,
        measured=Measured(
            outcome="good",
            melted_s=2 * first.plan["melt"]["s"],
            cooled_s=first.plan["hold"]["s"],
        ),
    )
    second = pressing(shop, batch)
    # By hand: one piece twice as slow, with one 'as reckoned' beforehand, is √2 times slower.
    assert second.plan["melt"]["s"] == pytest.approx(2**0.5 * first.plan["melt"]["s"], abs=2)
    assert second.plan["hold"] == first.plan["hold"]
    assert second.plan["rests_on_pressings"] == 1
    with pytest.raises(WrongState):
        services.finish_pressing(
            shop.maker, pressing_id=first.id, measured=Measured(outcome="good")
        )
