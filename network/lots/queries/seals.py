"""Seals, and the proof that one line is in one."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from network.errors import NotFound
from network.lots.core.seal import RUN_LINES
from network.lots.core.tree import (
    HASH_BYTES,
    PATH_MAX,
    audit_path,
    leaf_hash,
    root_by_path,
)
from network.lots.models import Movement, Seal, SealedRun
from network.lots.queries.lines import sealed_lines
from network.lots.queries.seen import movement_seen_by
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community

ID_BYTES = 16
# The text of a line with its evidence is a few kilobytes.
LINE_CHARACTERS_MAX = 50_000
# The largest number that the seals' columns hold.
INDEX_MAX = 2**31 - 1
STEPS_MAX = PATH_MAX
HASH_CHARACTERS = 2 * HASH_BYTES


@dataclass(frozen=True, kw_only=True)
class Proof:
    """What proves that a line is in a seal: its text, its place, and the hashes on the way up."""

    seal: Seal
    index: int
    line: str
    path: Sequence[str]


def seals_seen_by(actor: Actor) -> QuerySet[Seal]:
    """Return the seals of the community, which are the organiser's."""
    actor.require(ORGANISER)
    return Seal.objects.filter(community_id=actor.community_id).select_related("by")


def proof_of(actor: Actor, movement_id: UUID) -> Proof:
    """Return the proof that a line the actor may see is in a seal.

    Raises NotFound when there is no such line, or its period is not sealed yet.
    """
    line = movement_seen_by(actor, movement_id)
    sealed = Seal.objects.filter(community_id=line.community_id, ends_at__gt=line.counts_at)
    seal = sealed.order_by("number").first()
    if seal is None:
        raise NotFound("The period of this line is not closed yet.")
    runs = SealedRun.objects.filter(seal=seal).order_by("number")
    run = runs.filter(first_id__lte=line.id).last()
    line_ids = parts_of(run.line_ids, ID_BYTES) if run else []
    if run is None or line.id.bytes not in line_ids:
        raise NotFound("This line was not there when its period was closed.")
    here = line_ids.index(line.id.bytes)
    roots = [bytes(root) for root in runs.values_list("root", flat=True)]
    path = audit_path(here, parts_of(run.leaves, HASH_BYTES)) + audit_path(run.number, roots)
    (text,) = (found.text for found in sealed_lines(Movement.objects.filter(id=line.id)))
    return Proof(
        seal=seal,
        index=run.number * RUN_LINES + here,
        line=text,
        path=[step.hex() for step in path],
    )


def proof_holds(
    community: Community, *, seal_number: int, index: int, line: str, path: Sequence[str]
) -> bool:
    """Return whether a line's text is at that place of a seal; raises NotFound without the seal.

    Needs no line of the ledger: only what is sent, and the root that the seal keeps.
    """
    seal = Seal.objects.filter(community=community, number=seal_number).first()
    if seal is None:
        raise NotFound("There is no such seal here.")
    steps = [bytes.fromhex(step) for step in path]
    root = root_by_path(leaf_hash(line.encode()), index=index, size=seal.lines, path=steps)
    return root is not None and root.hex() == seal.root


def parts_of(whole: bytes | memoryview, size: int) -> list[bytes]:
    """Return the parts of `size` bytes that were put together."""
    return [bytes(whole[at : at + size]) for at in range(0, len(whole), size)]
