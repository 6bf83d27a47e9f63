"""Where the grams of a lot came from, and where those of a place went, by the ledger alone.

A lot's parents are the lots whose grams went into it, less what was reversed. What a lot is made of
follows from theirs, since each draw from a mix takes in proportion.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from fractions import Fraction
from uuid import UUID

from django.db.models import F, Sum

from network.lots.models import Account, LotParent, Movement
from network.workshop.core.custody import mixed


def origins_of(community_id: UUID, lot_ids: Iterable[UUID]) -> dict[UUID, dict[UUID, Fraction]]:
    """Return for each lot the lots that were collected and went into it, as shares of it."""
    wanted = set(lot_ids)
    parents_g = parents_of(community_id, wanted)
    collected = _collected(parents_g)
    made_of: dict[UUID, dict[UUID, Fraction]] = {}
    waiting = list(wanted)
    while waiting:
        lot_id = waiting[-1]
        parts = _parts_g(lot_id, parents_g, collected)
        missing = [part for part in parts if part != lot_id and part not in made_of]
        if missing:
            waiting += missing
            continue
        waiting.pop()
        # What was collected as this lot counts beside what was put into it since.
        of = {**made_of, lot_id: {lot_id: Fraction(1)}}
        made_of.setdefault(lot_id, mixed(parts, of))
    return {lot_id: made_of[lot_id] for lot_id in wanted}


def descendants_of(lot_ids: Iterable[UUID]) -> set[UUID]:
    """Return these lots and all that their grams went on into."""
    return _closure(set(lot_ids), come_from="parent_id", go_to="child_id")


def parents_of(community_id: UUID, lot_ids: Iterable[UUID]) -> dict[UUID, dict[UUID, int]]:
    """Return the grams of each lot in each of these and of all that led up to them."""
    return _parents_g(community_id, _with_ancestors(set(lot_ids)))


def _with_ancestors(lot_ids: set[UUID]) -> set[UUID]:
    return _closure(lot_ids, come_from="child_id", go_to="parent_id")


def _closure(lot_ids: set[UUID], *, come_from: str, go_to: str) -> set[UUID]:
    seen, newest = set(lot_ids), set(lot_ids)
    while newest:
        links = LotParent.objects.filter(**{f"{come_from}__in": newest})
        newest = set(links.values_list(go_to, flat=True)) - seen
        seen |= newest
    return seen


def _parents_g(community_id: UUID, lot_ids: set[UUID]) -> dict[UUID, dict[UUID, int]]:
    """Return the grams that went into each lot, by the lot they were of, less what was reversed."""
    standing = (
        Movement.objects.filter(
            community_id=community_id,
            to_account__lot_id__in=lot_ids,
            reverses__isnull=True,
            reversed_by__isnull=True,
        )
        .exclude(from_account__lot_id=F("to_account__lot_id"))
        .values_list("to_account__lot_id", "from_account__lot_id")
        .annotate(mass_g=Sum("mass_g"))
    )
    parents_g: dict[UUID, dict[UUID, int]] = {lot_id: {} for lot_id in lot_ids}
    for child_id, parent_id, mass_g in standing:
        parents_g[child_id][parent_id] = mass_g
    return parents_g


def _collected(lot_ids: Iterable[UUID]) -> dict[UUID, int]:
    """Return the grams that entered the ledger as each lot."""
    entered: dict[UUID, int] = defaultdict(int)
    accounts = Account.objects.filter(lot_id__in=list(lot_ids), kind=Account.Kind.CONTAINER)
    for lot_id, balance_g in accounts.values_list("lot_id", "balance_g"):
        entered[lot_id] -= balance_g
    return dict(entered)


def _parts_g(
    lot_id: UUID, parents_g: Mapping[UUID, Mapping[UUID, int]], collected: Mapping[UUID, int]
) -> dict[UUID, int]:
    parts = dict(parents_g[lot_id])
    if collected.get(lot_id):
        parts[lot_id] = collected[lot_id]
    return parts
