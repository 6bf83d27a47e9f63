"""What people do in the workshop: each function is one thing that someone does."""

from network.workshop.services.describing import (
    add_colour,
    add_press,
    describe_lot,
    measure_colour,
    set_certainty,
    set_heat_limit,
)
from network.workshop.services.making import (
    Measured,
    finish_pressing,
    record_pressing,
    record_product,
)
from network.workshop.services.mixing import (
    Additive,
    Charged,
    charge_batch,
    charge_by_recipe,
    save_recipe,
)
from network.workshop.services.processes import Made, Taken, record_process
from network.workshop.services.selling import publish_passport, save_price_sheet

__all__ = [
    "Additive",
    "Charged",
    "Made",
    "Measured",
    "Taken",
    "add_colour",
    "add_press",
    "charge_batch",
    "charge_by_recipe",
    "describe_lot",
    "finish_pressing",
    "measure_colour",
    "publish_passport",
    "record_pressing",
    "record_process",
    "record_product",
    "save_price_sheet",
    "save_recipe",
    "set_certainty",
    "set_heat_limit",
]
