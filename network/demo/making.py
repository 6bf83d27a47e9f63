"""What a maker of the isle made of its caps, through the same services as anybody.

The dice are of its own, so that the rounds fall as they would without it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from random import Random

from network.demo.founding import Maker
from network.demo.pressing import press_and_sell
from network.ids import new_id
from network.lots.models import Account, Lot
from network.people.core.actor import Actor
from network.units import largest_remainder
from network.workshop.models import NamedColour, Recipe
from network.workshop.services import (
    Made,
    Taken,
    add_colour,
    charge_by_recipe,
    record_process,
    save_recipe,
    set_certainty,
)

SEED = 2
STREAM = "Bottle caps"
# Of the rounds every fourth is worked up; the rest stays as collected, for a visitor to wash.
EVERY_ROUNDS = 4
WASHED_AT_MOST_G = 30_000
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
# Measured under D65, invented; with the parts of all caps that have the colour.
COLOURS: Mapping[str, tuple[str, str, str, int]] = {
    "Harbour blue": ("38.20", "2.10", "-41.60", 34),
    "Gull white": ("93.10", "-0.40", "2.20", 31),
    "Kelp green": ("46.70", "-38.20", "17.50", 23),
    "Gorse yellow": ("82.40", "6.30", "74.90", 12),
}
BOARDS_G = 5_000
# So much sorted material serves the recipe twice, whatever the dice did to the colours.
ENOUGH_G = 4 * BOARDS_G


@dataclass(kw_only=True)
class _Bench:
    """A maker at work, with its colours and dice."""

    maker: Maker
    colours: Mapping[str, NamedColour]
    dice: Random = field(default_factory=lambda: Random(SEED))

    @property
    def actor(self) -> Actor:
        return self.maker.actor


def make_things(maker: Maker) -> None:
    """Wash and sort caps of the rounds so far, and press boards of them once there are enough."""
    lots = _collected(maker)
    if not lots:
        return
    set_certainty(maker.actor, stream_id=lots[0].stream_id, certainty_min=Decimal("0.95"))
    bench = _Bench(maker=maker, colours=_name_colours(maker))
    washings = _by_washing(lots)
    sorted_g = sum(_work_up(bench, on_hand) for on_hand in washings)
    recipe = _recipe(bench)
    if sorted_g >= ENOUGH_G:
        _make_boards(bench, recipe, washings[-1][-1].made_at + 3 * DAY)


def _collected(maker: Maker) -> list[Lot]:
    return list(
        Lot.objects.filter(
            maker=maker.organisation,
            stream__name=STREAM,
            accounts__kind=Account.Kind.COLLECTED,
            accounts__balance_g__gt=0,
        ).order_by("made_at", "id")
    )


def _by_washing(lots: Sequence[Lot]) -> list[list[Lot]]:
    """Return the lots of every fourth round, each time those that are washed together.

    The last round was driven before this week, so all that follows on it is over by now.
    """
    by_day: dict[date, list[Lot]] = {}
    for lot in lots:
        by_day.setdefault(lot.made_at.date(), []).append(lot)
    return list(by_day.values())[::EVERY_ROUNDS]


def _name_colours(maker: Maker) -> dict[str, NamedColour]:
    return {
        name: add_colour(
            maker.actor,
            colour_id=new_id(),
            maker_id=maker.organisation.id,
            name=name,
            lab=[Decimal(part) for part in lab],
        )
        for name, (*lab, _parts) in COLOURS.items()
    }


def _work_up(bench: _Bench, on_hand: Sequence[Lot]) -> int:
    """Wash some lots and sort them by colour; return the grams that are sorted."""
    at = on_hand[-1].made_at + DAY
    washed, washed_g = _wash(bench, on_hand, at)
    return _sort(bench, washed, washed_g, at + 4 * HOUR)


def _wash(bench: _Bench, on_hand: Sequence[Lot], at: datetime) -> tuple[Lot, int]:
    taken: list[Taken] = []
    in_g = 0
    for account in Account.objects.filter(lot__in=on_hand, kind=Account.Kind.COLLECTED).order_by(
        "lot__made_at", "lot_id"
    ):
        if in_g + account.balance_g <= WASHED_AT_MOST_G or not taken:
            taken.append(Taken(lot_id=account.lot_id, state=account.kind))
            in_g += account.balance_g
    washed_g = round(in_g * bench.dice.uniform(0.945, 0.985))
    run = record_process(
        bench.actor,
        run_id=new_id(),
        kind="wash",
        taken=taken,
        made=[Made(mass_g=washed_g, resin="PE-HD", forming="injection")],
        residue_g=(in_g - washed_g) // 3,
        duration_s=60 * round(20 + in_g / 500),
        water_ml=in_g * 4,
        energy_wh=round(in_g * 0.05),
        note="In mesh bags, 30 °C, short cycle",
        at=at,
    )
    return run.outputs.get().lot, washed_g


def _sort(bench: _Bench, washed: Lot, washed_g: int, at: datetime) -> int:
    residue_g = round(washed_g * bench.dice.uniform(0.005, 0.02))
    weights = [parts + bench.dice.randrange(4) for *_lab, parts in COLOURS.values()]
    heaps_g = largest_remainder(washed_g - residue_g, weights)
    # A melt flow as the drink-cap makers' data sheets give it, invented here.
    run = record_process(
        bench.actor,
        run_id=new_id(),
        kind="sort",
        taken=[Taken(lot_id=washed.id, state="washed")],
        made=[
            Made(
                mass_g=heap_g,
                colour_id=bench.colours[name].id,
                melt_flow=Decimal("2.0"),
                melt_flow_condition="190/2.16",
            )
            for name, heap_g in zip(COLOURS, heaps_g, strict=True)
        ],
        residue_g=residue_g,
        duration_s=60 * round(washed_g / 160),
        at=at,
    )
    return sum(run.outputs.values_list("mass_g", flat=True))


def _recipe(bench: _Bench) -> Recipe:
    """Blue and white make the ground, and green the veins, which stay apart until the press."""
    ids = {name: colour.id for name, colour in bench.colours.items()}
    ground = {"Harbour blue": "0.5", "Gull white": "0.5"}
    return save_recipe(
        bench.actor,
        recipe_id=new_id(),
        maker_id=bench.maker.organisation.id,
        name="Harbour board",
        resin="PE-HD",
        mass_g=BOARDS_G,
        steps=[
            {
                "name": "Ground",
                "share": "0.8",
                "colours": [
                    {"colour_id": ids[name], "share": share, "give": "0.05"}
                    for name, share in ground.items()
                ],
            },
            {
                "name": "Veins",
                "share": "0.2",
                "colours": [{"colour_id": ids["Kelp green"], "share": "1"}],
            },
        ],
    )


def _make_boards(bench: _Bench, recipe: Recipe, at: datetime) -> None:
    """One batch becomes boards with a price and a passport; the next is left to be pressed."""
    first = charge_by_recipe(
        bench.actor, batch_id=new_id(), name="First boards", recipe_id=recipe.id, at=at
    )
    press_and_sell(bench.maker, first, at + HOUR)
    charge_by_recipe(
        bench.actor, batch_id=new_id(), name="Boards, again", recipe_id=recipe.id, at=at + DAY
    )
