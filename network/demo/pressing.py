"""A batch of the isle: a trial, boards, what was cut off, a price and a passport."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime, timedelta
from decimal import Decimal

from network.demo.founding import Maker
from network.ids import new_id
from network.workshop.models import Batch, Press, ProductRun
from network.workshop.queries.heating import PieceWish
from network.workshop.queries.pricing import PriceQuestion, StageTime
from network.workshop.services import (
    Measured,
    add_press,
    finish_pressing,
    publish_passport,
    record_pressing,
    record_product,
    save_price_sheet,
)

SIDE_MM = 300
THICKNESS_UM = 10_000
PRESSURE_KPA = 800
BOARDS, BOARDS_G, OFFCUT_G, RESIDUE_G, LOSS_G = 5, 4_250, 560, 150, 40
TRIAL_C, BOARD_C = 165, 175
MINUTE = timedelta(minutes=1)
# A day's work on five boards, measured in minutes; the press melts by itself.
STAGES: Mapping[str, tuple[int, bool]] = {
    "collect": (35, True),
    "sort": (40, True),
    "wash": (25, True),
    "melt": (150, False),
    "press": (75, True),
    "finish": (90, True),
    "pack": (30, True),
}
MEASURED = (
    (TRIAL_C, True, Measured(outcome="not_filled", melted_s=2_520, note="A corner stayed open.")),
    (BOARD_C, False, Measured(outcome="good", melted_s=2_640, cooled_s=2_040)),
    (BOARD_C, False, Measured(outcome="good", melted_s=2_700, cooled_s=2_100)),
)


def press_and_sell(maker: Maker, batch: Batch, at: datetime) -> None:
    """Press a batch, finish its boards, and reckon and tell what they are."""
    press = _add_press(maker)
    for number, (set_c, is_trial, measured) in enumerate(MEASURED):
        pressing = record_pressing(
            maker.actor,
            pressing_id=new_id(),
            batch_id=batch.id,
            wish=_wish(press, set_c),
            is_trial=is_trial,
            at=at + number * 90 * MINUTE,
        )
        finish_pressing(maker.actor, pressing_id=pressing.id, measured=measured)
    product = record_product(
        maker.actor,
        product_id=new_id(),
        batch_id=batch.id,
        name="Harbour board",
        pieces=BOARDS,
        mass_g=BOARDS_G,
        offcut_g=OFFCUT_G,
        residue_g=RESIDUE_G,
        loss_g=LOSS_G,
        at=at + 480 * MINUTE,
    )
    _price(maker, product)
    publish_passport(maker.actor, passport_id=new_id(), product_id=product.id, at=at + 500 * MINUTE)


def _add_press(maker: Maker) -> Press:
    return add_press(
        maker.actor,
        press_id=new_id(),
        maker_id=maker.organisation.id,
        name="Oven and ten-tonne jack",
        is_settable=True,
        heats_c_max=250,
        rating_n=98_000,
        cooling="two_faces",
    )


def _wish(press: Press, set_c: int) -> PieceWish:
    return PieceWish(
        press_id=press.id,
        resin="PE-HD",
        thickness_um=THICKNESS_UM,
        width_mm=SIDE_MM,
        length_mm=SIDE_MM,
        pressure_kpa=PRESSURE_KPA,
        set_c=set_c,
    )


def _price(maker: Maker, product: ProductRun) -> None:
    stages = [
        StageTime(name=name, duration_s=60 * minutes, pieces=BOARDS, is_attended=is_attended)
        for name, (minutes, is_attended) in STAGES.items()
    ]
    question = PriceQuestion(
        day_rate=Decimal(140),
        overhead_per_day=Decimal(35),
        stages=stages,
        yield_share=Decimal("0.9"),
        energy_kwh=Decimal("1.6"),
        energy_price_per_kwh=Decimal("0.30"),
        consumables=Decimal("0.40"),
        packaging=Decimal("0.60"),
        over_share=Decimal("0.2"),
        piece_mass_g=BOARDS_G // BOARDS,
        new_material_per_kg=Decimal("1.50"),
    )
    save_price_sheet(
        maker.actor,
        sheet_id=new_id(),
        maker_id=maker.organisation.id,
        name="Harbour board",
        product_id=product.id,
        question=question,
        inputs=json.loads(json.dumps(asdict(question), default=str)),
    )
