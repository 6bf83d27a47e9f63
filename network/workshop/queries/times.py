"""How long the stages of a run of pieces took, as the maker's own records have it."""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import fmean
from uuid import UUID

from network.people.core.actor import Actor
from network.workshop.core.times import Making, Times, times_of, together
from network.workshop.models import Batch, Pressing, ProcessOutput, ProcessRun, ProductRun
from network.workshop.queries.ancestry import parents_of
from network.workshop.queries.seen import product_seen_by

# Taking labels off is reckoned with washing, as one does it.
_KINDS = {
    "sort": (ProcessRun.Kind.SORT,),
    "wash": (ProcessRun.Kind.WASH, ProcessRun.Kind.DELABEL),
    "shred": (ProcessRun.Kind.SHRED,),
}
_PRESSED = {"melt": "melted_s", "press": "cooled_s"}


@dataclass(frozen=True, kw_only=True)
class MeasuredTime:
    """What a stage took for some pieces at once; `is_whole` says that each run of it was timed."""

    name: str
    duration_s: int
    pieces: int
    is_attended: bool
    is_whole: bool


def measured_times(actor: Actor, product_id: UUID) -> list[MeasuredTime]:
    """Return what was measured on the way to a run of pieces, by stage; raises NotFound.

    What was not timed at all is left out.
    """
    product = product_seen_by(actor, product_id)
    return [*_worked(product), *_pressed(product.batch)]


def _worked(product: ProductRun) -> list[MeasuredTime]:
    """Return the time of the runs behind the pieces, with what was cut off or lost with them."""
    times = _times_of_batch(product.batch)
    used_g = product.mass_g + product.offcut_g + product.residue_g + product.loss_g
    found = []
    for name, kinds in _KINDS.items():
        duration_s = round(used_g * sum(times.s_per_g.get(kind, 0.0) for kind in kinds))
        if duration_s:
            found.append(
                MeasuredTime(
                    name=name,
                    duration_s=duration_s,
                    pieces=product.pieces,
                    is_attended=True,
                    is_whole=times.untimed.isdisjoint(kinds),
                )
            )
    return found


def _times_of_batch(batch: Batch) -> Times:
    charged_g: dict[UUID, int] = {}
    for charge in batch.charges.all():
        charged_g[charge.lot_id] = charged_g.get(charge.lot_id, 0) + charge.mass_g
    parents_g = parents_of(batch.community_id, charged_g)
    runs = _runs_by_lot(parents_g)
    makings = {lot: _making(parts_g, runs.get(lot)) for lot, parts_g in parents_g.items()}
    whole_g = sum(charged_g.values()) + batch.additive_g
    return together(charged_g, times_of(charged_g, makings), whole_g=whole_g)


def _runs_by_lot(lot_ids: Iterable[UUID]) -> dict[UUID, ProcessRun]:
    outputs = dict(
        ProcessOutput.objects.filter(lot_id__in=list(lot_ids)).values_list("lot_id", "run_id")
    )
    runs = ProcessRun.objects.prefetch_related("inputs").in_bulk(set(outputs.values()))
    return {lot_id: runs[run_id] for lot_id, run_id in outputs.items()}


def _making(parts_g: dict[UUID, int], run: ProcessRun | None) -> Making[UUID]:
    if run is None:
        return Making(parts_g=parts_g)
    in_g = sum(one.mass_g for one in run.inputs.all())
    return Making(
        parts_g=parts_g,
        kind=run.kind,
        in_g=in_g,
        out_g=in_g - run.residue_g - run.loss_g,
        duration_s=run.duration_s,
    )


def _pressed(batch: Batch) -> list[MeasuredTime]:
    """Return the mean times of the good pieces of a batch, which need no hands all the while."""
    good = list(batch.pressings.filter(outcome=Pressing.Outcome.GOOD))
    found = []
    for name, measured in _PRESSED.items():
        times_s = [getattr(one, measured) for one in good]
        timed_s = [one for one in times_s if one]
        if timed_s:
            found.append(
                MeasuredTime(
                    name=name,
                    duration_s=round(fmean(timed_s)),
                    pieces=1,
                    is_attended=False,
                    is_whole=len(timed_s) == len(times_s),
                )
            )
    return found
