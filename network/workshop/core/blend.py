"""Which lots to mix for a recipe, as a linear programme, and what could be made instead.

Each step of a recipe has colours of its own, which stay apart from the other steps' until the end.
Of all mixes that keep the recipe, the one that takes least of the scarce colours is chosen. It is a
flow from steps through their colours to lots, so that whole grams in give whole grams out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from math import ceil, floor
from typing import Any

import numpy as np
from scipy.optimize import linprog

from network.units import largest_remainder

# A gram off the recipe costs more than any scarcity: scarcity costs are at most one for a gram.
_OFF_COST = 1_000.0
# Among equals the lot named first is used up first.
_ORDER_COST = 1e-4
_SHARE_PARTS = 1_000_000
_ROUNDING = 1e-6


@dataclass(frozen=True, kw_only=True)
class ColourShare:
    """The share of a colour in a step, and how far it may give either way."""

    colour: str
    share: Decimal
    give: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        if not (0 < self.share <= 1 and 0 <= self.give <= 1):
            raise ValueError("a share is above 0 and at most 1, and gives from 0 to 1")


@dataclass(frozen=True, kw_only=True)
class Step:
    """A part of the recipe that is mixed by itself; `share` is its part of the whole mass."""

    name: str
    share: Decimal
    colours: tuple[ColourShare, ...]

    def __post_init__(self) -> None:
        if not 0 < self.share <= 1:
            raise ValueError("a step is more than nothing and at most the whole")
        if sum(one.share for one in self.colours) != 1:
            raise ValueError("the shares of a step's colours add up to 1")
        if len({one.colour for one in self.colours}) < len(self.colours):
            raise ValueError("a step names each colour once")


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Grams of one lot that may be used, in one colour."""

    lot: str
    colour: str
    mass_g: int

    def __post_init__(self) -> None:
        if self.mass_g < 0:
            raise ValueError("a stock is not negative")


class MixKind(StrEnum):
    """How near to the recipe a mix is."""

    AS_WISHED = "as_wished"
    SMALLER = "smaller"
    OTHER_SHARES = "other_shares"


@dataclass(frozen=True, kw_only=True)
class Portion:
    """Grams of a lot for a step."""

    step: str
    lot: str
    colour: str
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class Mix:
    """Portions that add up to a mass; `off_g` is how far its colours lie outside of the recipe."""

    kind: MixKind
    mass_g: int
    off_g: int
    portions: tuple[Portion, ...]


@dataclass(frozen=True, kw_only=True)
class Short:
    """A colour of which the recipe needs more than there is, over all its steps."""

    colour: str
    needs_g: int
    has_g: int


@dataclass(frozen=True, kw_only=True)
class Answer:
    """The mix as wished, or what is short and the nearest that could be made."""

    mix: Mix | None
    short: tuple[Short, ...] = ()
    nearest: tuple[Mix, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _Need:
    """What one colour of one step may take, in whole grams."""

    step: int
    colour: str
    low_g: int
    high_g: int


def mix(steps: Sequence[Step], stocks: Sequence[Stock], *, mass_g: int) -> Answer:
    """Return the mix for a recipe, or what is short and the nearest mixes.

    Raises ValueError for steps that do not add up to the whole, or no mass.
    """
    if mass_g <= 0 or not steps or sum(step.share for step in steps) != 1:
        raise ValueError("a recipe has some mass, and its steps add up to 1")
    exact = _solved(steps, stocks, mass_g=mass_g, may_be_off=False)
    if exact is not None:
        return Answer(mix=_as_mix(exact, steps, stocks, MixKind.AS_WISHED, mass_g=mass_g))
    nearest = [_smaller(steps, stocks, mass_g=mass_g)]
    off = _solved(steps, stocks, mass_g=mass_g, may_be_off=True)
    if off is not None:
        nearest.append(_as_mix(off, steps, stocks, MixKind.OTHER_SHARES, mass_g=mass_g))
    return Answer(
        mix=None,
        short=tuple(_short(steps, stocks, mass_g=mass_g)),
        nearest=tuple(one for one in nearest if one is not None),
    )


def _needs(steps: Sequence[Step], mass_g: int) -> tuple[list[int], list[_Need]]:
    """Return each step's grams, and what its colours may take of them."""
    masses_g = largest_remainder(mass_g, [int(step.share * _SHARE_PARTS) for step in steps])
    needs = [
        _Need(
            step=index,
            colour=one.colour,
            low_g=max(0, floor((one.share - one.give) * step_g)),
            high_g=min(step_g, ceil((one.share + one.give) * step_g)),
        )
        for index, (step, step_g) in enumerate(zip(steps, masses_g, strict=True))
        for one in step.colours
    ]
    return masses_g, needs


def _solved(
    steps: Sequence[Step], stocks: Sequence[Stock], *, mass_g: int, may_be_off: bool
) -> dict[tuple[int, int], int] | None:
    """Return grams by step and stock, or None where there is no such mix."""
    masses_g, needs = _needs(steps, mass_g)
    uses = [
        (need, stock)
        for need in range(len(needs))
        for stock in range(len(stocks))
        if stocks[stock].colour == needs[need].colour
    ]
    if not uses:
        return None
    programme = _programme(masses_g, needs, stocks, uses, may_be_off=may_be_off)
    found = linprog(**programme, method="highs-ds")
    if found.status != 0:
        return None
    grams = [round(x) for x in found.x[: len(uses)]]
    if any(abs(x - whole) > _ROUNDING for x, whole in zip(found.x, grams, strict=False)):
        raise ArithmeticError("a flow of whole grams has a solution in whole grams")
    return {
        (needs[need].step, stock): whole
        for (need, stock), whole in zip(uses, grams, strict=True)
        if whole
    }


def _programme(
    masses_g: Sequence[int],
    needs: Sequence[_Need],
    stocks: Sequence[Stock],
    uses: Sequence[tuple[int, int]],
    *,
    may_be_off: bool,
) -> dict[str, Any]:
    """Return the linear programme: grams used, then grams under and over for each need."""
    off = 2 * len(needs) if may_be_off else 0
    width = len(uses) + off
    at_most = np.zeros((len(stocks) + 2 * len(needs), width))
    limits = [float(stock.mass_g) for stock in stocks]
    for column, (_, stock) in enumerate(uses):
        at_most[stock, column] = 1
    for index, need in enumerate(needs):
        over, under = len(stocks) + 2 * index, len(stocks) + 2 * index + 1
        for column, (used, _) in enumerate(uses):
            if used == index:
                at_most[over, column], at_most[under, column] = 1, -1
        if may_be_off:
            at_most[over, len(uses) + 2 * index] = -1
            at_most[under, len(uses) + 2 * index + 1] = -1
        limits += [float(need.high_g), -float(need.low_g)]
    exactly = np.zeros((len(masses_g), width))
    for column, (need_index, _) in enumerate(uses):
        exactly[needs[need_index].step, column] = 1
    costs = [*_costs(stocks, uses), *([_OFF_COST] * off)]
    return {"c": costs, "A_ub": at_most, "b_ub": limits, "A_eq": exactly, "b_eq": list(masses_g)}


def _costs(stocks: Sequence[Stock], uses: Sequence[tuple[int, int]]) -> list[float]:
    """Return what a gram of each use costs: one of the scarcest colour, less of the others."""
    there_g = _by_colour(stocks)
    scarcest_g = min((mass_g for mass_g in there_g.values() if mass_g), default=1)
    return [
        scarcest_g / max(1, there_g[stocks[stock].colour]) + _ORDER_COST * stock / len(stocks)
        for _, stock in uses
    ]


def _by_colour(stocks: Sequence[Stock]) -> dict[str, int]:
    there_g: dict[str, int] = {}
    for stock in stocks:
        there_g[stock.colour] = there_g.get(stock.colour, 0) + stock.mass_g
    return there_g


def _as_mix(
    grams: Mapping[tuple[int, int], int],
    steps: Sequence[Step],
    stocks: Sequence[Stock],
    kind: MixKind,
    *,
    mass_g: int,
) -> Mix:
    portions = tuple(
        Portion(
            step=steps[step].name,
            lot=stocks[stock].lot,
            colour=stocks[stock].colour,
            mass_g=whole,
        )
        for (step, stock), whole in sorted(grams.items())
    )
    _, needs = _needs(steps, mass_g)
    off_g = 0
    for need in needs:
        used_g = sum(
            whole
            for (step, stock), whole in grams.items()
            if step == need.step and stocks[stock].colour == need.colour
        )
        off_g += max(0, need.low_g - used_g, used_g - need.high_g)
    return Mix(kind=kind, mass_g=mass_g, off_g=off_g, portions=portions)


def _smaller(steps: Sequence[Step], stocks: Sequence[Stock], *, mass_g: int) -> Mix | None:
    """Return the largest mix with the wished shares, found by halving."""
    fits_g, too_much_g = 0, mass_g
    best: dict[tuple[int, int], int] | None = None
    while too_much_g - fits_g > 1:
        half_g = (fits_g + too_much_g) // 2
        found = _solved(steps, stocks, mass_g=half_g, may_be_off=False)
        if found is None:
            too_much_g = half_g
        else:
            fits_g, best = half_g, found
    if best is None:
        return None
    return _as_mix(best, steps, stocks, MixKind.SMALLER, mass_g=fits_g)


def _short(steps: Sequence[Step], stocks: Sequence[Stock], *, mass_g: int) -> list[Short]:
    _, needs = _needs(steps, mass_g)
    there_g = _by_colour(stocks)
    wanted_g: dict[str, int] = {}
    for need in needs:
        wanted_g[need.colour] = wanted_g.get(need.colour, 0) + need.low_g
    return [
        Short(colour=colour, needs_g=needs_g, has_g=there_g.get(colour, 0))
        for colour, needs_g in wanted_g.items()
        if needs_g > there_g.get(colour, 0)
    ]
