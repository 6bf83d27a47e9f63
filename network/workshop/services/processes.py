"""Wash, take labels off, sort, shred: lots in, lots out, and every gram accounted for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from network.errors import InvalidInput, WrongState
from network.ids import new_id
from network.lots.core.ledger import Posting
from network.lots.ledger import post
from network.lots.models import Account, Lot, LotParent, Movement
from network.lots.services.common import (
    check_time,
    common_origin,
    in_store,
    new_lot,
    own_lots,
    refuse_reuse,
)
from network.people.core.actor import Actor
from network.units import kg_text
from network.workshop.core.draw import draw_in_turn
from network.workshop.models import (
    LotMaterial,
    ProcessInput,
    ProcessOutput,
    ProcessRun,
    State,
)
from network.workshop.queries.materials import Facts, common_facts, facts_of
from network.workshop.services.common import check_there, own_colour, there_g

INPUTS_MAX = 50
OUTPUTS_MAX = 30

Kind = ProcessRun.Kind
_FROM: Mapping[str, frozenset[str]] = {
    Kind.WASH: frozenset({State.COLLECTED, State.SORTED}),
    Kind.DELABEL: frozenset({State.COLLECTED, State.WASHED, State.SORTED}),
    Kind.SORT: frozenset({State.COLLECTED, State.WASHED}),
    Kind.SHRED: frozenset({State.COLLECTED, State.WASHED, State.SORTED, State.OFFCUT}),
}
_TO: Mapping[str, State] = {
    Kind.WASH: State.WASHED,
    Kind.SORT: State.SORTED,
    Kind.SHRED: State.SHREDDED,
}
_REASON: Mapping[str, Movement.Reason] = {
    Kind.WASH: Movement.Reason.WASHED,
    Kind.DELABEL: Movement.Reason.DELABELLED,
    Kind.SORT: Movement.Reason.SORTED,
    Kind.SHRED: Movement.Reason.SHREDDED,
}


@dataclass(frozen=True, kw_only=True)
class Taken:
    """Grams of a lot that go in, out of a state; all that is there when no mass is given."""

    lot_id: UUID
    state: str
    mass_g: int | None = None


@dataclass(frozen=True, kw_only=True)
class Made:
    """Grams that come out as a lot of their own, and what is now known of it."""

    mass_g: int
    colour_id: UUID | None = None
    resin: str = ""
    forming: str = ""
    melt_flow: Decimal | None = None
    melt_flow_condition: str = ""


@transaction.atomic
def record_process(
    actor: Actor,
    *,
    run_id: UUID,
    kind: str,
    taken: Sequence[Taken],
    made: Sequence[Made],
    residue_g: int = 0,
    duration_s: int | None = None,
    water_ml: int | None = None,
    energy_wh: int | None = None,
    note: str = "",
    at: datetime,
) -> ProcessRun:
    """Record a process: what went in, what came out as lots, and the residue; the rest is lost.

    When several lots go in, each output and the residue is taken to come from each of them in
    proportion to what is left of it. Raises InvalidInput naming what cannot be, WrongState for
    lots of several streams.
    """
    refuse_reuse(ProcessRun.objects.filter(id=run_id))
    lots = _lots_in(actor, taken)
    check_time(at, not_before=max(lot.made_at for lot in lots))
    masses_g = _masses_in(kind, taken, lots)
    state = _state_after(kind, taken)
    loss_g = _loss_g(sum(masses_g.values()), made, residue_g)
    run = ProcessRun.objects.create(
        id=run_id,
        community_id=actor.community_id,
        maker_id=lots[0].maker_id,
        kind=kind,
        at=at,
        residue_g=residue_g,
        loss_g=loss_g,
        duration_s=duration_s,
        water_ml=water_ml,
        energy_wh=energy_wh,
        note=note,
        by_id=actor.user_id,
    )
    _save_inputs(run, taken, masses_g)
    children = _save_outputs(actor, run, made, lots)
    states = {one.lot_id: one.state for one in taken}
    _post(actor, run, states=states, masses_g=masses_g, outputs=children, state=state)
    return run


def _lots_in(actor: Actor, taken: Sequence[Taken]) -> list[Lot]:
    ids = [one.lot_id for one in taken]
    if not 0 < len(ids) <= INPUTS_MAX or len(set(ids)) != len(ids):
        mend = f"Choose from 1 to {INPUTS_MAX} different lots."
        raise InvalidInput.of("inputs", "These lots cannot go in together.", mend)
    by_id = {lot.id: lot for lot in own_lots(actor, ids)}
    lots = [by_id[lot_id] for lot_id in ids]
    if len({(lot.stream_id, lot.maker_id) for lot in lots}) > 1:
        raise WrongState("Lots of different streams stay apart until they are charged to a batch.")
    return lots


def _masses_in(kind: str, taken: Sequence[Taken], lots: list[Lot]) -> dict[UUID, int]:
    has_g = there_g(lots)
    masses_g = {}
    for index, one in enumerate(taken):
        if one.state not in _FROM[kind]:
            raise InvalidInput.of(
                f"inputs[{index}].state",
                f"Nothing that is {State(one.state).label} is put through {Kind(kind).label}.",
                "Use one of: " + ", ".join(sorted(_FROM[kind])) + ".",
            )
        lies_g = has_g[one.lot_id, one.state]
        wanted_g = lies_g if one.mass_g is None else one.mass_g
        check_there(lies_g, wanted_g, field=f"inputs[{index}].mass_g")
        masses_g[one.lot_id] = wanted_g
    return masses_g


def _state_after(kind: str, taken: Sequence[Taken]) -> State:
    """Return the state that a process leaves; an offcut stays one, so that it is told apart."""
    states = {one.state for one in taken}
    if len(states) > 1 and (kind == Kind.DELABEL or State.OFFCUT in states):
        raise InvalidInput.of(
            "inputs", "These lots are in different states.", "Make a run for each state."
        )
    if kind == Kind.DELABEL or State.OFFCUT in states:
        return State(states.pop())
    return _TO[kind]


def _loss_g(in_g: int, made: Sequence[Made], residue_g: int) -> int:
    if len(made) > OUTPUTS_MAX or any(one.mass_g <= 0 for one in made):
        mend = f"Send up to {OUTPUTS_MAX} outputs of at least one gram."
        raise InvalidInput.of("outputs", "There are no such outputs.", mend)
    out_g = sum(one.mass_g for one in made)
    if not 0 <= residue_g <= in_g - out_g:
        raise InvalidInput.of(
            "outputs",
            f"{kg_text(in_g)} went in, and more is said to have come out.",
            "Weigh it dry, and check that all that went in is named.",
        )
    return in_g - out_g - residue_g


def _save_inputs(run: ProcessRun, taken: Sequence[Taken], masses_g: Mapping[UUID, int]) -> None:
    ProcessInput.objects.bulk_create(
        ProcessInput(
            community_id=run.community_id,
            run=run,
            lot_id=one.lot_id,
            state=one.state,
            mass_g=masses_g[one.lot_id],
        )
        for one in taken
    )


def _save_outputs(
    actor: Actor, run: ProcessRun, made: Sequence[Made], lots: Sequence[Lot]
) -> list[ProcessOutput]:
    known = facts_of(lots)
    inherited = common_facts([known[lot.id] for lot in lots])
    outputs = []
    for index, one in enumerate(made):
        child = new_lot(actor, id=new_id(), like=common_origin(lots), at=run.at)
        _describe(run, child, one, inherited, field=f"outputs[{index}].colour_id")
        outputs.append(
            ProcessOutput.objects.create(
                community_id=run.community_id, run=run, lot=child, mass_g=one.mass_g
            )
        )
    return outputs


def _describe(run: ProcessRun, child: Lot, made: Made, inherited: Facts, *, field: str) -> None:
    """Keep what is known of a new lot: what was said of it, else what all it came from share."""
    if made.colour_id:
        own_colour(run.maker_id, made.colour_id, field=field)
    facts = replace(
        inherited,
        colour_id=made.colour_id or inherited.colour_id,
        resin=made.resin or inherited.resin,
        forming=made.forming or inherited.forming,
    )
    if made.melt_flow is not None:
        facts = replace(
            facts, melt_flow=made.melt_flow, melt_flow_condition=made.melt_flow_condition
        )
    LotMaterial.objects.create(
        community_id=run.community_id,
        lot=child,
        resin_id=facts.resin or None,
        forming=facts.forming,
        colour_id=facts.colour_id,
        melt_flow=facts.melt_flow,
        melt_flow_condition=facts.melt_flow_condition,
    )


def _post(
    actor: Actor,
    run: ProcessRun,
    *,
    states: Mapping[UUID, str],
    masses_g: Mapping[UUID, int],
    outputs: Sequence[ProcessOutput],
    state: State,
) -> None:
    """Write the lines: each output, then residue, then loss, in proportion from each lot."""
    by_id = {lot.id: lot for lot in Lot.objects.filter(id__in=masses_g)}
    draws = draw_in_turn(masses_g, [*(o.mass_g for o in outputs), run.residue_g, run.loss_g])
    ends = [*((o.lot, state.value) for o in outputs), (None, "residue"), (None, "loss")]
    postings = []
    for drawn_g, (child, kind) in zip(draws, ends, strict=True):
        for lot_id, mass_g in drawn_g.items():
            if not mass_g:
                continue
            lot = by_id[lot_id]
            if child is not None:
                LotParent.objects.create(
                    community_id=actor.community_id, child=child, parent=lot, mass_g=mass_g
                )
            postings.append(
                Posting(
                    frm=in_store(lot, states[lot_id]),
                    to=in_store(child or lot, Account.Kind(kind)),
                    mass_g=mass_g,
                    reason=_REASON[run.kind],
                    note=run.note,
                )
            )
    post(actor, postings, at=run.at)
