"""What people do with lots: each function is one thing that someone does."""

from network.lots.services.folding import fold_sums
from network.lots.services.history import (
    SAVED_AS,
    ColumnsWish,
    begin_history,
    map_history,
    save_history,
    undo_history,
)
from network.lots.services.inspecting import inspect, weigh_again
from network.lots.services.measuring import GROSS_G_MAX, Reading, add_scale
from network.lots.services.receiving import bring_home, take_from_container, turn_away_at_door
from network.lots.services.sealing import seal_period
from network.lots.services.storing import (
    PARTS_MAX,
    STORES,
    merge_lots,
    pass_on,
    record_loss,
    reverse_movement,
    split_lot,
)
from network.lots.services.weighing_many import (
    WEIGHINGS_MAX,
    Outcome,
    WeighIn,
    weigh_many,
)

__all__ = [
    "GROSS_G_MAX",
    "PARTS_MAX",
    "SAVED_AS",
    "STORES",
    "WEIGHINGS_MAX",
    "ColumnsWish",
    "Outcome",
    "Reading",
    "WeighIn",
    "add_scale",
    "begin_history",
    "bring_home",
    "fold_sums",
    "inspect",
    "map_history",
    "merge_lots",
    "pass_on",
    "record_loss",
    "reverse_movement",
    "save_history",
    "seal_period",
    "split_lot",
    "take_from_container",
    "turn_away_at_door",
    "undo_history",
    "weigh_again",
    "weigh_many",
]
