"""Many weighings at once, as a device sends what it has kept: in few statements, however many."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.copying import insert_all
from network.errors import DifferentBody, MillraceError, NotFound
from network.lots.core.ledger import Position, Posting, apply
from network.lots.ledger import lots_held, positions, post
from network.lots.models import Scale, Weighing
from network.lots.services.common import check_time, own
from network.lots.services.inspecting import difference
from network.lots.services.measuring import Reading, on_scale, weighing_of
from network.people.core.actor import MAKER, Actor

WEIGHINGS_MAX = 500


@dataclass(frozen=True, kw_only=True)
class WeighIn:
    """A lot weighed at the workshop, under the id that its device gave it."""

    id: UUID
    lot_id: UUID
    gross_g: int
    tare_g: int
    scale_id: UUID
    at: datetime


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one weighing: it arrived, now or before, or it was refused."""

    id: UUID
    refusal: MillraceError | None = None


@transaction.atomic
def weigh_many(actor: Actor, *, weigh_ins: Sequence[WeighIn]) -> list[Outcome]:
    """Weigh lots again, one after the other, and return what became of each.

    Each is taken or refused by itself, as `weigh_again` would; one that was sent before changes
    nothing. Raises NotAllowed.
    """
    actor.require(MAKER)
    store = _Store(actor, weigh_ins)
    outcomes = []
    for one in weigh_ins:
        try:
            store.weigh(one)
        except MillraceError as refusal:
            outcomes.append(Outcome(id=one.id, refusal=refusal))
        else:
            outcomes.append(Outcome(id=one.id))
    store.save()
    return outcomes


class _Store:
    """What was read at once of all lots that are weighed, and what is to be written of them."""

    def __init__(self, actor: Actor, weigh_ins: Sequence[WeighIn]) -> None:
        self.actor = actor
        self.lots = {lot.id: lot for lot in lots_held(actor, {one.lot_id for one in weigh_ins})}
        scale_ids = {one.scale_id for one in weigh_ins}
        scales = Scale.objects.filter(community_id=actor.community_id, id__in=scale_ids)
        self.scales = {scale.id: scale for scale in scales}
        self.known = Weighing.objects.in_bulk({one.id for one in weigh_ins})
        self.here_g: dict[UUID, dict[Position, int]] = {lot_id: {} for lot_id in self.lots}
        for position, mass_g in positions(self.lots).items():
            self.here_g[position.lot_id][position] = mass_g
        self.weighings: list[Weighing] = []
        self.postings: list[Posting] = []

    def weigh(self, one: WeighIn) -> None:
        """Weigh one lot, after those before it; raises a refusal, and nothing has changed."""
        lot = own(self.actor, self.lots.get(one.lot_id))
        if (known := self.known.get(one.id)) is not None:
            _require_same(one, known)
            return
        check_time(one.at, not_before=lot.made_at)
        scale = self.scales.get(one.scale_id)
        if scale is None or scale.maker_id != lot.maker_id:
            raise NotFound("There is no such scale here.")
        reading = Reading(method=Weighing.Method.WEIGHED, gross_g=one.gross_g, tare_g=one.tare_g)
        weighing = weighing_of(
            self.actor,
            lot=lot,
            stage=Weighing.Stage.WORKSHOP,
            measured=on_scale(scale, reading),
            at=one.at,
            id=one.id,
        )
        posting = difference(lot, self.here_g[lot.id], weighing)
        self.known[one.id] = weighing
        self.weighings.append(weighing)
        if posting is not None:
            self.postings.append(posting)
            self.here_g[lot.id] = apply(self.here_g[lot.id], [posting])

    def save(self) -> None:
        """Write all that was taken."""
        insert_all(self.weighings)
        post(self.actor, self.postings, at=timezone.now())  # each says its own time


def _require_same(one: WeighIn, known: Weighing) -> None:
    """Raise DifferentBody unless what is stored under the id is what is sent."""
    stored = (known.lot_id, known.gross_g, known.tare_g, known.scale_id, known.at)
    if stored != (one.lot_id, one.gross_g, one.tare_g, one.scale_id, one.at):
        raise DifferentBody
