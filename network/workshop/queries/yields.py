"""What a maker's own processes yield, and what may be promised of an amount."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Sum

from network.errors import InvalidInput
from network.people.core.actor import Actor
from network.workshop.core.yields import PRIOR_SHARE, Run, Yield, learned, promised_g
from network.workshop.models import ProcessRun
from network.workshop.queries.seen import runs_seen_by

# A share moves with what is done today, not with what was done years ago.
RUNS_MAX = 100
_CHAIN = ("wash", "delabel", "sort", "shred")


@dataclass(frozen=True, kw_only=True)
class ProcessYield:
    """A kind of process with its yield."""

    kind: str
    learned: Yield


@dataclass(frozen=True, kw_only=True)
class Promise:
    """What is expected of an amount after the named processes, and the low end that is promised."""

    mass_g: int
    kinds: Sequence[str]
    expected_g: int
    promised_g: int


def yields_of(actor: Actor, maker_id: UUID | None) -> list[ProcessYield]:
    """Return the yields of each kind of process by the last runs: of a maker, or of all seen."""
    return [
        ProcessYield(kind=kind, learned=learned(kind, _runs(actor, maker_id, kind)))
        for kind in PRIOR_SHARE
    ]


def promise(actor: Actor, maker_id: UUID | None, *, mass_g: int, kinds: Sequence[str]) -> Promise:
    """Return what an amount is expected to give after these processes.

    Raises InvalidInput for a kind of process that is none.
    """
    for kind in kinds:
        if kind not in _CHAIN:
            raise InvalidInput.of(
                "kinds", f"There is no process {kind}.", "Use: " + ", ".join(_CHAIN) + "."
            )
    steps = [learned(kind, _runs(actor, maker_id, kind)) for kind in kinds]
    expected, low = promised_g(mass_g, steps)
    return Promise(mass_g=mass_g, kinds=list(kinds), expected_g=expected, promised_g=low)


def _runs(actor: Actor, maker_id: UUID | None, kind: str) -> list[Run]:
    rows = runs_seen_by(actor).filter(kind=kind).order_by("-at", "-id")
    # What was undone line by line is no history.
    rows = rows.exclude(outputs__lot__accounts__received__reversed_by__isnull=False)
    if maker_id is not None:
        rows = rows.filter(maker_id=maker_id)
    ids = list(rows.values_list("id", flat=True)[:RUNS_MAX])
    with_input = ProcessRun.objects.filter(id__in=ids).annotate(in_g=Sum("inputs__mass_g"))
    return [Run(in_g=run.in_g, out_g=run.in_g - run.residue_g - run.loss_g) for run in with_input]
