"""Whether the ledger is what it was: balances, sums, the chain of seals, every sealed line."""

from collections.abc import Iterator
from dataclasses import dataclass
from heapq import merge
from itertools import chain, groupby
from operator import itemgetter
from uuid import UUID

from network.lots.core.seal import NO_FORMER, RUN_LINES, Period, seal_hash
from network.lots.core.tree import HASH_BYTES, leaf_hash, root_of
from network.lots.models import Seal, SealedRun
from network.lots.queries.balances import ledger_faults
from network.lots.queries.lines import lines_between, sealed_lines
from network.lots.queries.seals import ID_BYTES, parts_of
from network.lots.queries.sums import sum_faults
from network.people.models import Community

_RUNS_AT_ONCE = 16
_STATED = tuple(Period.__dataclass_fields__)
_THEN, _NOW = "then", "now"
# A line's id, whether it is of then or of now, and its hash.
_Leaf = tuple[bytes, str, bytes]


@dataclass(frozen=True, kw_only=True)
class Difference:
    """What is not as it was: a balance, seal, run or line, its id, and in what it differs.

    A sum of a month has the id of its stream, or of its maker where it is of all streams.
    """

    kind: str
    id: UUID
    detail: str


def differences_of(community: Community) -> Iterator[Difference]:
    """Work a community's ledger out anew, and yield what differs as it is found.

    The memory it takes does not grow with the ledger.
    """
    for fault in ledger_faults(community.id):
        detail = f"kept {fault.kept_g} g, its lines say {fault.lines_g} g"
        yield Difference(kind="balance", id=fault.account_id, detail=detail)
    for wrong in sum_faults(community.id):
        yield Difference(kind="sum", id=wrong.stream_or_maker_id, detail=wrong.detail)
    former: Seal | None = None
    for seal in Seal.objects.filter(community=community).order_by("number"):
        yield from chain(_of_seal(seal, former), _of_runs(seal), _of_lines(seal))
        former = seal
    yield from _without_seal(community)


def last_seal(community: Community) -> Seal | None:
    """Return the newest seal, whose hash covers all that is sealed."""
    return Seal.objects.filter(community=community).order_by("number").last()


def _of_seal(seal: Seal, former: Seal | None) -> Iterator[Difference]:
    number, ends_at, digest = (
        (former.number, former.ends_at, former.hash) if former else (0, None, NO_FORMER)
    )
    if (seal.number, seal.starts_at, seal.former) != (number + 1, ends_at, digest):
        detail = f"seal {seal.number} does not follow seal {number}"
        yield Difference(kind="seal", id=seal.id, detail=detail)
    elif _hash_of(seal) != seal.hash:
        detail = f"seal {seal.number} does not state what was sealed"
        yield Difference(kind="seal", id=seal.id, detail=detail)


def _hash_of(seal: Seal) -> str | None:
    try:
        return seal_hash(Period(**{name: getattr(seal, name) for name in _STATED}))
    except (ValueError, TypeError, AttributeError):  # no period can be so
        return None


def _of_runs(seal: Seal) -> Iterator[Difference]:
    roots: list[bytes] = []
    for run in _runs_of(seal):
        roots.append(root_of(parts_of(run.leaves, HASH_BYTES)))
        ids = parts_of(run.line_ids, ID_BYTES)
        length = min(RUN_LINES, seal.lines - RUN_LINES * (len(roots) - 1))
        if (
            run.community_id != seal.community_id
            or run.number != len(roots) - 1
            or bytes(run.root) != roots[-1]
            or len(run.leaves) != length * HASH_BYTES
            or len(run.line_ids) != length * ID_BYTES
            or ids[0] != run.first_id.bytes
        ):
            detail = f"run {run.number} of seal {seal.number} is not what was sealed"
            yield Difference(kind="run", id=run.id, detail=detail)
            return
    if root_of(roots).hex() != seal.root:
        detail = f"the runs of seal {seal.number} do not lead to its root"
        yield Difference(kind="seal", id=seal.id, detail=detail)


def _without_seal(community: Community) -> Iterator[Difference]:
    """Yield the seals that are gone while their runs are still here."""
    here = Seal.objects.filter(community=community)
    runs = SealedRun.objects.filter(community=community).exclude(seal_id__in=here.values("id"))
    for seal_id in runs.order_by("seal_id").values_list("seal_id", flat=True).distinct():
        yield Difference(kind="seal", id=seal_id, detail="is gone; its runs are still there")


def _of_lines(seal: Seal) -> Iterator[Difference]:
    """Compare two lists that ascend by id: what was sealed, and what is there now."""
    both = merge(_sealed(seal), _now(seal))
    for line_id, found in groupby(both, key=itemgetter(0)):
        leaves = {when: leaf for _, when, leaf in found}
        if leaves.get(_THEN) == leaves.get(_NOW):
            continue
        if _NOW not in leaves:
            detail = f"was in seal {seal.number} and is not there now"
        elif _THEN not in leaves:
            detail = f"was not there when seal {seal.number} was made"
        else:
            detail = f"is not what it was in seal {seal.number}"
        yield Difference(kind="line", id=UUID(bytes=line_id), detail=detail)


def _sealed(seal: Seal) -> Iterator[_Leaf]:
    for run in _runs_of(seal):
        ids, leaves = parts_of(run.line_ids, ID_BYTES), parts_of(run.leaves, HASH_BYTES)
        for line_id, leaf in zip(ids, leaves, strict=False):
            yield line_id, _THEN, leaf


def _now(seal: Seal) -> Iterator[_Leaf]:
    lines = lines_between(seal.community_id, starts_at=seal.starts_at, ends_at=seal.ends_at)
    for line in sealed_lines(lines):
        yield line.id.bytes, _NOW, leaf_hash(line.text.encode())


def _runs_of(seal: Seal) -> Iterator[SealedRun]:
    return SealedRun.objects.filter(seal=seal).order_by("number").iterator(_RUNS_AT_ONCE)
