"""What a piece must cost, with its parts, what moves it, and new material for comparison."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from network.errors import InvalidInput
from network.people.core.actor import Actor
from network.people.queries import community_of
from network.units import to_cents
from network.workshop.core.pricing import (
    Costs,
    Stage,
    new_material_cost,
    pieces_of_a_day,
    sensitivities,
    shares_of_cost,
    unit_cost,
    with_margin,
    with_markup,
)
from network.workshop.refusals import NothingPerDay

STAGES = ("collect", "sort", "wash", "shred", "melt", "press", "finish", "pack")
OVER = [("margin", "a share of the price"), ("markup", "a share of the cost")]
_ZERO = Decimal(0)


@dataclass(frozen=True, kw_only=True)
class StageTime:
    """Work of a stage on some pieces at once."""

    name: str
    duration_s: int
    pieces: int
    is_attended: bool = True


@dataclass(frozen=True, kw_only=True)
class PriceQuestion:
    """All that goes into a price, in the community's currency; of a piece before rejects.

    Pieces of a day follow from the stages unless they are given.
    """

    day_rate: Decimal
    overhead_per_day: Decimal = _ZERO
    day_s: int = 8 * 3600
    stages: Sequence[StageTime] = field(default_factory=list)
    pieces_per_day: Decimal | None = None
    yield_share: Decimal = Decimal(1)
    material: Decimal = _ZERO
    energy_kwh: Decimal = _ZERO
    energy_price_per_kwh: Decimal = _ZERO
    consumables: Decimal = _ZERO
    packaging: Decimal = _ZERO
    over: str = "margin"
    over_share: Decimal = _ZERO
    piece_mass_g: int | None = None
    new_material_per_kg: Decimal | None = None


@dataclass(frozen=True, kw_only=True)
class PriceMove:
    """By how many per cent the price moves when an input is a tenth higher (a yield lower)."""

    name: str
    percent: Decimal


@dataclass(frozen=True, kw_only=True)
class Price:
    """What it costs and what to ask, rounded to a hundredth; `parts` add up before rounding."""

    currency: str
    pieces_per_day: Decimal
    slowest: str
    unit_cost: Decimal
    unit_price: Decimal
    parts: Mapping[str, Decimal]
    moves: Sequence[PriceMove]
    new_material: Decimal | None
    note: str


NOTE = (
    "That the material was free does not make the piece cheap: the price is that of a day's work"
    " over the whole chain, from collecting to packing."
)


def price(actor: Actor, question: PriceQuestion) -> Price:
    """Return the price of a piece; raises NothingPerDay, or InvalidInput naming what cannot be."""
    pieces, slowest = _pieces_per_day(question)
    costs = _costs(question, pieces)
    cost = unit_cost(costs)
    try:
        over = with_margin if question.over == "margin" else with_markup
        asked = over(cost, question.over_share)
    except ValueError as fault:
        raise InvalidInput.of("over_share", f"{fault}.", "Write 0.3 for 30 %.") from None
    return Price(
        currency=community_of(actor).currency,
        pieces_per_day=pieces.quantize(Decimal("0.01")),
        slowest=slowest,
        unit_cost=to_cents(cost),
        unit_price=to_cents(asked),
        parts={name: to_cents(part) for name, part in shares_of_cost(costs).items()},
        moves=[
            PriceMove(name=move.name, percent=(100 * move.share).quantize(Decimal("0.1")))
            for move in sensitivities(costs)
        ],
        new_material=_new_material(question),
        note=NOTE,
    )


def price_data(result: Price) -> dict[str, Any]:
    """Return a price as plain data, to be kept."""
    return {
        "pieces_per_day": str(result.pieces_per_day),
        "slowest": result.slowest,
        "unit_cost": str(result.unit_cost),
        "unit_price": str(result.unit_price),
        "parts": {name: str(part) for name, part in result.parts.items()},
        "moves": [{"name": m.name, "percent": str(m.percent)} for m in result.moves],
        "new_material": None if result.new_material is None else str(result.new_material),
        "note": result.note,
    }


def _pieces_per_day(question: PriceQuestion) -> tuple[Decimal, str]:
    if question.pieces_per_day is not None:
        pieces, slowest = question.pieces_per_day, ""
    else:
        stages = [
            Stage(
                name=one.name,
                duration_s=one.duration_s,
                pieces=one.pieces,
                is_attended=one.is_attended,
            )
            for one in question.stages
        ]
        if not any(stage.duration_s for stage in stages):
            raise NothingPerDay.of(
                "stages", "No stage takes any time.", "Measure the stages, or send pieces_per_day."
            )
        output = pieces_of_a_day(stages, day_s=question.day_s)
        pieces, slowest = output.pieces_per_day, output.slowest
    if pieces <= 0:
        raise NothingPerDay.of(
            "pieces_per_day", "In such a day nothing is made.", "Count a day's pieces."
        )
    return pieces, slowest


def _costs(question: PriceQuestion, pieces_per_day: Decimal) -> Costs:
    if question.day_rate <= 0:
        raise NothingPerDay.of(
            "day_rate", "A day without a wage has no price.", "Send the wage wanted for a day."
        )
    try:
        return Costs(
            day_rate=question.day_rate,
            overhead_per_day=question.overhead_per_day,
            pieces_per_day=pieces_per_day,
            yield_share=question.yield_share,
            material=question.material,
            energy=question.energy_kwh * question.energy_price_per_kwh,
            consumables=question.consumables,
            packaging=question.packaging,
        )
    except ValueError as fault:
        raise InvalidInput.of(
            "yield_share", f"This cannot be: {fault}.", "Send costs from 0 and a yield up to 1."
        ) from None


def _new_material(question: PriceQuestion) -> Decimal | None:
    if question.piece_mass_g is None or question.new_material_per_kg is None:
        return None
    cost = new_material_cost(
        mass_g=question.piece_mass_g,
        price_per_kg=question.new_material_per_kg,
        yield_share=question.yield_share,
    )
    return to_cents(cost)
