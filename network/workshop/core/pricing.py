"""What a piece must cost, which input moves that most, and how new material would compare.

Unit cost: (day rate + overhead of a day) / (pieces of a day × yield) + (material + energy +
consumables) / yield + packaging. Pieces are counted before rejects. Overhead is spread over what a
normal day makes (IAS 2 §13, from memory). Amounts are of one currency.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

_SENSITIVITY_STEP = Decimal("0.10")
_G_PER_KG = 1000
PER_PIECE = ("material", "energy", "consumables", "packaging")
PER_DAY = ("day_rate", "overhead_per_day")


@dataclass(frozen=True, kw_only=True)
class Stage:
    """Work on some pieces at once: how long, and whether someone stands by all that time."""

    name: str
    duration_s: int
    pieces: int
    is_attended: bool = True

    def __post_init__(self) -> None:
        if self.duration_s < 0 or self.pieces <= 0:
            raise ValueError("a stage has a time and some pieces")


@dataclass(frozen=True, kw_only=True)
class Output:
    """Pieces of a day, and the stage that a faster one would help most."""

    pieces_per_day: Decimal
    slowest: str
    hands_s_per_piece: Decimal


@dataclass(frozen=True, kw_only=True)
class Costs:
    """All that goes into a price: of a day, and of a piece before rejects.

    `yield_share` of the pieces made can be sold. Raises ValueError for what cannot be.
    """

    day_rate: Decimal
    overhead_per_day: Decimal
    pieces_per_day: Decimal
    yield_share: Decimal
    material: Decimal
    energy: Decimal
    consumables: Decimal
    packaging: Decimal

    def __post_init__(self) -> None:
        if not (self.day_rate > 0 and self.pieces_per_day > 0):
            raise ValueError("there is a day's wage and a day's pieces")
        if not 0 < self.yield_share <= 1:
            raise ValueError("a yield is above 0 and at most 1")
        if any(getattr(self, name) < 0 for name in ("overhead_per_day", *PER_PIECE)):
            raise ValueError("a cost is not negative")


@dataclass(frozen=True, kw_only=True)
class Move:
    """How an input that is a tenth higher moves the price, as a share of it."""

    name: str
    share: Decimal


def pieces_of_a_day(stages: Sequence[Stage], *, day_s: int) -> Output:
    """Return the pieces of a day over the whole chain.

    One pair of hands does all attended work; unattended work goes on beside it, on one machine
    each. Raises ValueError when no stage takes any time.
    """
    per_piece = {stage: Decimal(stage.duration_s) / stage.pieces for stage in stages}
    hands = {stage.name: s for stage, s in per_piece.items() if stage.is_attended}
    machines = {stage.name: s for stage, s in per_piece.items() if not stage.is_attended}
    hands_s = sum(hands.values(), Decimal(0))
    slowest_s = max([hands_s, *machines.values()])
    if slowest_s <= 0:
        raise ValueError("some stage takes time")
    by_hands = slowest_s == hands_s
    among = hands if by_hands else machines
    return Output(
        pieces_per_day=day_s / slowest_s,
        slowest=max(among, key=lambda name: among[name]),
        hands_s_per_piece=hands_s,
    )


def unit_cost(costs: Costs) -> Decimal:
    """Return what a piece that can be sold costs to make, unrounded."""
    day = (costs.day_rate + costs.overhead_per_day) / (costs.pieces_per_day * costs.yield_share)
    spent = (costs.material + costs.energy + costs.consumables) / costs.yield_share
    return day + spent + costs.packaging


def shares_of_cost(costs: Costs) -> Mapping[str, Decimal]:
    """Return the parts of the unit cost by name; they add up to it."""
    made = costs.pieces_per_day * costs.yield_share
    return {
        "day_rate": costs.day_rate / made,
        "overhead": costs.overhead_per_day / made,
        "material": costs.material / costs.yield_share,
        "energy": costs.energy / costs.yield_share,
        "consumables": costs.consumables / costs.yield_share,
        "packaging": costs.packaging,
    }


def with_margin(cost: Decimal, margin: Decimal) -> Decimal:
    """Return the price of which a share, the margin, is left over."""
    if not 0 <= margin < 1:
        raise ValueError("a margin is a share of the price, from 0 to below 1")
    return cost / (1 - margin)


def with_markup(cost: Decimal, markup: Decimal) -> Decimal:
    """Return the cost with a share of itself, the markup, on top."""
    if markup < 0:
        raise ValueError("a markup is not negative")
    return cost * (1 + markup)


def sensitivities(costs: Costs) -> tuple[Move, ...]:
    """Return what a tenth more of each input does to the cost, the strongest first.

    The yield is taken a tenth lower instead, since it can be full already.
    """
    before = unit_cost(costs)
    up = 1 + _SENSITIVITY_STEP
    moves = []
    for name in (*PER_DAY, "pieces_per_day", "yield_share", *PER_PIECE):
        factor = 1 - _SENSITIVITY_STEP if name == "yield_share" else up
        moved = replace(costs, **{name: getattr(costs, name) * factor})
        moves.append(Move(name=name, share=unit_cost(moved) / before - 1))
    return tuple(sorted(moves, key=lambda move: -abs(move.share)))


def new_material_cost(*, mass_g: int, price_per_kg: Decimal, yield_share: Decimal) -> Decimal:
    """Return what new material for a piece would cost, for comparison."""
    return price_per_kg * mass_g / _G_PER_KG / yield_share
