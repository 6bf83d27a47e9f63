"""Which lots to take for a recipe, how the mix would flow, and what else could be made."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from network.errors import InvalidInput
from network.lots.models import Account, Lot
from network.people.core.actor import Actor
from network.workshop.core.blend import Answer, ColourShare, Mix, Step, Stock, mix
from network.workshop.core.compatible import Fit, fit_of
from network.workshop.core.melt_flow import FlowWarning, MixFlow, flow_of_mix
from network.workshop.models import Batch, NamedColour, Recipe, State
from network.workshop.queries.materials import Facts, facts_of, flow_part
from network.workshop.queries.seen import recipe_seen_by

# What may be melted: clean, in the order in which it is used up.
CLEAN = (State.SHREDDED, State.SORTED, State.WASHED)
LEFT_OUT = [
    ("resin_unknown", "its resin is not known"),
    ("resin_does_not_fit", "its resin is another"),
    ("colour_unknown", "its colour is not named"),
]

FLOW_WARNINGS = [one.value for one in FlowWarning]
FLOW_TEXT: Mapping[FlowWarning, str] = {
    FlowWarning.RATIO: (
        "The stiffest and the freest part differ by more than 3.3 times: the estimate is off there."
    ),
    FlowWarning.IMMISCIBLE: (
        "These resins do not mix into one: the estimate only indicates, and the piece is weaker."
    ),
    FlowWarning.TWO_CONDITIONS: (
        "Flows measured at 190 °C and at 230 °C cannot be reckoned together: there is no estimate."
    ),
    FlowWarning.UNKNOWN_PART: "The flow of a part is not known: there is no estimate.",
    FlowWarning.BLOWN: (
        "More than a third is blow-moulded: it stays stiff and springs back, and may not fill the"
        " mould. Cut it small, spread it through, and try one piece."
    ),
    FlowWarning.STIFF: "This flows so little that it may not fill the mould.",
}


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """A lot in stock that cannot be taken for this recipe."""

    lot: Lot
    code: str


@dataclass(frozen=True, kw_only=True)
class Charge:
    """Grams of a lot, out of a state, for a step of the recipe."""

    step: str
    lot: Lot
    state: str
    colour: str
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class MixPlan:
    """A mix with its lots and how it would flow."""

    kind: str
    mass_g: int
    off_g: int
    charges: Sequence[Charge]
    flow: MixFlow


@dataclass(frozen=True, kw_only=True)
class ShortColour:
    """A colour of which there is too little."""

    colour: str
    needs_g: int
    has_g: int


@dataclass(frozen=True, kw_only=True)
class MixAnswer:
    """The mix as wished, or what is short and the nearest; and which lots were left out, why."""

    mix: MixPlan | None
    short: Sequence[ShortColour]
    nearest: Sequence[MixPlan]
    left_out: Sequence[LeftOut]


def mix_for(
    actor: Actor, recipe_id: UUID, *, mass_g: int | None = None, with_offcuts: bool = False
) -> MixAnswer:
    """Return the lots to take for a recipe, of its own mass unless another is given.

    Raises NotFound for the recipe, InvalidInput for a mass that is none.
    """
    recipe = recipe_seen_by(actor, recipe_id)
    mass_g = recipe.mass_g if mass_g is None else mass_g
    if mass_g <= 0:
        raise InvalidInput.of("mass_g", "This makes nothing.", "Send at least one gram.")
    accounts = _accounts(recipe, with_offcuts=with_offcuts)
    facts = facts_of([account.lot for account in accounts])
    fitting, left_out = _sorted_out(recipe, accounts, facts)
    stocks = [
        Stock(
            lot=str(index),
            colour=str(facts[account.lot_id].colour_id),
            mass_g=account.balance_g,
        )
        for index, account in enumerate(fitting)
    ]
    answer = mix(steps_of(recipe.steps), stocks, mass_g=mass_g)
    return _answer(answer, fitting, facts, left_out)


def steps_of(data: Sequence[Mapping[str, Any]]) -> list[Step]:
    """Return a recipe's steps from their plain data; raises ValueError for what cannot be."""
    return [
        Step(
            name=step["name"],
            share=Decimal(step["share"]),
            colours=tuple(
                ColourShare(
                    colour=str(one["colour_id"]),
                    share=Decimal(one["share"]),
                    give=Decimal(one.get("give", "0")),
                )
                for one in step["colours"]
            ),
        )
        for step in data
    ]


def flow_of_batch(batch: Batch) -> MixFlow:
    """Return how a batch, as it was charged, would flow."""
    charges = list(batch.charges.select_related("lot__agreement__rule_version"))
    facts = facts_of([charge.lot for charge in charges])
    return flow_of_mix([flow_part(facts[one.lot_id], one.mass_g) for one in charges])


def flow_warnings(flow: MixFlow) -> list[dict[str, str]]:
    """Return what to be wary of, by code, in words."""
    return [{"code": one.value, "text": FLOW_TEXT[one]} for one in flow.warnings]


def _accounts(recipe: Recipe, *, with_offcuts: bool) -> list[Account]:
    """Return the stock of a recipe's maker in the order in which it is used up."""
    states = [*CLEAN, State.OFFCUT] if with_offcuts else list(CLEAN)
    found = Account.objects.filter(
        community_id=recipe.community_id,
        holder_id=recipe.maker_id,
        kind__in=states,
        balance_g__gt=0,
    ).select_related("lot__agreement__rule_version")
    rank = {state.value: index for index, state in enumerate([State.OFFCUT, *CLEAN])}
    return sorted(found, key=lambda a: (rank[a.kind], a.lot.made_at, a.lot_id))


def _sorted_out(
    recipe: Recipe, accounts: Sequence[Account], facts: Mapping[UUID, Facts]
) -> tuple[list[Account], list[LeftOut]]:
    fitting, left_out = [], []
    for account in accounts:
        known = facts[account.lot_id]
        if not known.resin:
            left_out.append(LeftOut(lot=account.lot, code="resin_unknown"))
        elif fit_of(recipe.resin_id, known.resin) not in (Fit.SAME, Fit.FAMILY):
            left_out.append(LeftOut(lot=account.lot, code="resin_does_not_fit"))
        elif known.colour_id is None:
            left_out.append(LeftOut(lot=account.lot, code="colour_unknown"))
        else:
            fitting.append(account)
    return fitting, left_out


def _answer(
    answer: Answer,
    accounts: Sequence[Account],
    facts: Mapping[UUID, Facts],
    left_out: Sequence[LeftOut],
) -> MixAnswer:
    ids = {str(facts[account.lot_id].colour_id) for account in accounts}
    ids |= {short.colour for short in answer.short}
    names = {str(c.id): c.name for c in NamedColour.objects.filter(id__in=ids)}

    def plan(found: Mix) -> MixPlan:
        charges = [
            Charge(
                step=portion.step,
                lot=accounts[int(portion.lot)].lot,
                state=accounts[int(portion.lot)].kind,
                colour=names[portion.colour],
                mass_g=portion.mass_g,
            )
            for portion in found.portions
        ]
        parts = [flow_part(facts[charge.lot.id], charge.mass_g) for charge in charges]
        return MixPlan(
            kind=found.kind.value,
            mass_g=found.mass_g,
            off_g=found.off_g,
            charges=charges,
            flow=flow_of_mix(parts),
        )

    return MixAnswer(
        mix=plan(answer.mix) if answer.mix else None,
        short=[
            ShortColour(colour=names[short.colour], needs_g=short.needs_g, has_g=short.has_g)
            for short in answer.short
        ],
        nearest=[plan(found) for found in answer.nearest],
        left_out=left_out,
    )
