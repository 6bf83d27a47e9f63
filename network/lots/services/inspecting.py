"""At the workshop: weighed again, looked at, taken or turned away."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction

from network.errors import InvalidInput, WrongState
from network.events import Event, announce
from network.lots.core.ledger import CONTAINER, Position, Posting
from network.lots.ledger import positions, post
from network.lots.models import Account, Inspection, Lot, Movement, Weighing
from network.lots.services.common import (
    check_time,
    in_store,
    own_lot,
    own_lot_alone,
    refuse_reuse,
    store_balance_g,
)
from network.lots.services.measuring import Reading, measure, weighing_of
from network.lots.services.verdicts import (
    Judged,
    judge,
    refusal_of,
    save_inspection,
    with_findings,
)
from network.people.core.actor import Actor

TURNED_AWAY_TO = (Account.Kind.RETURNED, Account.Kind.RESIDUE)


@transaction.atomic
def weigh_again(
    actor: Actor,
    *,
    weighing_id: UUID,
    lot_id: UUID,
    gross_g: int,
    tare_g: int,
    scale_id: UUID,
    at: datetime,
) -> Weighing:
    """Weigh a lot at the workshop; what it differs by goes against the container it came from.

    Raises WrongState once anything was taken out of the lot or mixed into it: the difference would
    then no longer be what the doorstep got wrong.
    """
    lot = own_lot_alone(actor, lot_id)
    check_time(at, not_before=lot.made_at)
    refuse_reuse(Weighing.objects.filter(id=weighing_id))
    measured = measure(
        actor,
        reading=Reading(
            method=Weighing.Method.WEIGHED, gross_g=gross_g, tare_g=tare_g, scale_id=scale_id
        ),
        maker_id=lot.maker_id,
    )
    weighing = weighing_of(
        actor, lot=lot, stage=Weighing.Stage.WORKSHOP, measured=measured, at=at, id=weighing_id
    )
    posting = difference(lot, positions([lot.id]), weighing)
    weighing.save(force_insert=True)
    post(actor, [posting] if posting else [], at=at)
    return weighing


def difference(lot: Lot, here_g: Mapping[Position, int], weighing: Weighing) -> Posting | None:
    """Return what a weighing differs by from what is in the store, if anything.

    Raises WrongState once anything was taken out of the lot or mixed into it.
    """
    origin = next((position for position in here_g if position.kind == CONTAINER), None)
    store = in_store(lot)
    if origin is None or here_g.get(store, 0) != -here_g[origin]:
        raise WrongState(
            "A lot is weighed again while all that came in it, and nothing else, lies in the store."
            " Bring it home first, or reverse what was done with it since."
        )
    more_g = weighing.net_g - here_g[store]
    if not more_g:
        return None
    return Posting(
        frm=origin if more_g > 0 else store,
        to=store if more_g > 0 else origin,
        mass_g=abs(more_g),
        reason=Movement.Reason.REWEIGHED,
        weighing_id=weighing.id,
        at=weighing.at,
    )


@transaction.atomic
def inspect(
    actor: Actor,
    *,
    inspection_id: UUID,
    lot_id: UUID,
    observation: Mapping[str, object],
    sample_g: int | None = None,
    findings: Sequence[tuple[str, int]] = (),
    taken_out_g: int = 0,
    turned_away_to: str | None = None,
    note: str = "",
    at: datetime,
) -> Inspection:
    """Inspect a lot in the store by the rules agreed, and do what the verdict says.

    `findings` are kinds with their grams in the sample. Turned away, all of it goes back to the
    place or to residue, as `turned_away_to` chooses; otherwise `taken_out_g` grams, which were
    really taken out, go to residue. Raises InvalidInput, WrongState, NotEnough.
    """
    lot = own_lot(actor, lot_id)
    check_time(at, not_before=lot.made_at)
    refuse_reuse(Inspection.objects.filter(id=inspection_id))
    if lot.agreement is None:
        raise WrongState("A mix of several agreements has no one set of rules to be judged by.")
    there_g = store_balance_g(lot)
    _check_amounts(there_g, sample_g=sample_g, taken_out_g=taken_out_g)
    seen = with_findings(observation, findings=findings, sample_g=sample_g, mass_g=there_g)
    judged = judge(lot.agreement, seen, stage=Inspection.Stage.WORKSHOP, field="observation")
    _check_destination(judged, turned_away_to)
    inspection = save_inspection(actor, judged=judged, at=at, note=note, lot=lot, id=inspection_id)
    outcome = _outcome(
        judged, lot, inspection, there_g=there_g, taken_out_g=taken_out_g, to=turned_away_to
    )
    post(actor, outcome, at=at)
    announce(Event.INSPECTED, community_id=actor.community_id, subject_id=inspection.id, at=at)
    return inspection


def _check_amounts(there_g: int, *, sample_g: int | None, taken_out_g: int) -> None:
    if there_g == 0:
        raise WrongState("Nothing of this lot lies in the store to be inspected.")
    for field, mass_g in (("sample_g", sample_g or 0), ("taken_out_g", taken_out_g)):
        if not 0 <= mass_g <= there_g:
            mend = f"Send whole grams from 0 to {there_g}."
            raise InvalidInput.of(field, f"Of this lot {there_g} g lie in the store.", mend)


def _check_destination(judged: Judged, turned_away_to: str | None) -> None:
    """Turned away, someone says where it goes; taken, nobody does."""
    if judged.is_turned_away and turned_away_to not in TURNED_AWAY_TO:
        refusal = InvalidInput.of(
            "turned_away_to",
            "By the rules agreed this is turned away, and it is not said where it goes.",
            "Choose whether it goes back to the place (returned) or to disposal (residue).",
        )
        refusal.extra = refusal_of(judged)
        raise refusal
    if turned_away_to is not None and not judged.is_turned_away:
        raise InvalidInput.of(
            "turned_away_to",
            "By the rules agreed this is taken.",
            "Leave this out, or say what was seen that turns it away.",
        )


def _outcome(
    judged: Judged,
    lot: Lot,
    inspection: Inspection,
    *,
    there_g: int,
    taken_out_g: int,
    to: str | None,
) -> list[Posting]:
    if judged.is_turned_away:
        destination, mass_g, reason = str(to), there_g, Movement.Reason.TURNED_AWAY
    elif taken_out_g:
        destination, mass_g = Account.Kind.RESIDUE.value, taken_out_g
        reason = Movement.Reason.INSPECTED_OUT
    else:
        return []
    return [
        Posting(
            frm=in_store(lot),
            to=in_store(lot, destination),
            mass_g=mass_g,
            reason=reason,
            inspection_id=inspection.id,
        )
    ]
