"""Who may see which lots, movements and scales."""

from uuid import UUID

from django.db.models import Exists, F, OuterRef, Prefetch, Q, QuerySet, Sum

from network.lots.models import (
    Account,
    Inspection,
    Lot,
    LotParent,
    Movement,
    Scale,
    Seal,
    Weighing,
)
from network.people.core.actor import DRIVER, MAKER, Actor
from network.people.models import Community
from network.rows import one_of

# Whether a line's period is closed.
_SEALED = Exists(
    Seal.objects.filter(community=OuterRef("community"), ends_at__gt=OuterRef("counts_at"))
)
_STANDING = Account.objects.exclude(balance_g=0).order_by("kind", "id")


def lots_seen_by(actor: Actor) -> QuerySet[Lot]:
    """Return lots with their balances: an organiser sees all, maker and driver their maker's."""
    return (
        Lot.objects.filter(of_own_maker(actor, "maker_id"), community_id=actor.community_id)
        .select_related("maker", "stream", "place", "agreement")
        .prefetch_related(Prefetch("accounts", _STANDING))
    )


def lot_seen_by(actor: Actor, lot_id: UUID) -> Lot:
    """Return one lot with its weighings and inspections; raises NotFound."""
    lots = lots_seen_by(actor).prefetch_related(
        Prefetch("weighings", Weighing.objects.select_related("scale").order_by("id")),
        Prefetch("inspections", Inspection.objects.order_by("id")),
        "inspections__findings",
        "inspections__agreement",
    )
    return one_of(lots, lot_id, "There is no such lot here.")


def standing_accounts(lot_id: UUID) -> QuerySet[Account]:
    """Return where the grams of a lot are."""
    return _STANDING.filter(lot_id=lot_id)


def movements_seen_by(actor: Actor) -> QuerySet[Movement]:
    """Return the lines of the ledger between lots the actor may see."""
    return Movement.objects.filter(
        of_own_maker(actor, "from_account__lot__maker_id"), community_id=actor.community_id
    )


def movement_seen_by(actor: Actor, movement_id: UUID) -> Movement:
    """Return one line of the ledger with all that is told of it; raises NotFound."""
    lines = movements_seen_by(actor).annotate(sealed=_SEALED)
    told = lines.select_related(
        "from_account__lot", "to_account__lot", "weighing", "inspection", "by", "reversed_by"
    )
    return one_of(told, movement_id, "There is no such movement here.")


def movements_of(lot: Lot) -> QuerySet[Movement]:
    """Return the lines that a lot gave or received, oldest first."""
    return (
        Movement.objects.filter(touching(lot.id), community_id=lot.community_id)
        .annotate(sealed=_SEALED)
        .select_related("from_account__lot", "to_account__lot", "by", "reversed_by")
        .order_by("recorded_at", "id")
    )


def touching(lot_id: UUID) -> Q:
    """Return what narrows lines to those that a lot gave or received.

    The accounts are read first: by them both sides are found, and not by looking at all lines.
    """
    accounts = list(Account.objects.filter(lot_id=lot_id).values_list("id", flat=True))
    return Q(from_account_id__in=accounts) | Q(to_account_id__in=accounts)


def parents_of(lot: Lot) -> dict[Lot, int]:
    """Return the lots that went into this one and were not taken out again, with their grams."""
    links = LotParent.objects.filter(child=lot).select_related("parent").order_by("id")
    came_g = _between(lot, side="to", other="from")
    return {link.parent: came_g[link.parent_id] for link in links if link.parent_id in came_g}


def children_of(lot: Lot) -> dict[Lot, int]:
    """Return the lots that this one went into and was not taken out of again, with its grams."""
    links = LotParent.objects.filter(parent=lot).select_related("child").order_by("id")
    went_g = _between(lot, side="from", other="to")
    return {link.child: went_g[link.child_id] for link in links if link.child_id in went_g}


def standing_weighings(community: Community) -> QuerySet[Weighing]:
    """Return weighings without those at the workshop whose difference was reversed."""
    withdrawn = Movement.objects.filter(
        weighing=OuterRef("pk"), reason=Movement.Reason.REWEIGHED, reversed_by__isnull=False
    )
    return Weighing.objects.filter(~Exists(withdrawn), community=community)


def scales_seen_by(actor: Actor) -> QuerySet[Scale]:
    """Return scales: an organiser sees all, maker and driver their maker's."""
    return Scale.objects.filter(
        of_own_maker(actor, "maker_id"), community_id=actor.community_id
    ).select_related("maker")


def of_own_maker(actor: Actor, path: str) -> Q:
    """Return what narrows rows to those that the actor sees, by the path to their maker."""
    return Q() if actor.is_organiser else Q(**{f"{path}__in": actor.held_for(DRIVER, MAKER)})


def _between(lot: Lot, *, side: str, other: str) -> dict[UUID, int]:
    """Return the grams that went between this lot and each other one, by the other's id."""
    standing = Movement.objects.filter(
        Q(**{f"{side}_account__lot": lot}),
        ~Q(from_account__lot=F("to_account__lot")),
        community_id=lot.community_id,
        reverses__isnull=True,
        reversed_by__isnull=True,
    )
    name = f"{other}_account__lot_id"
    return dict(standing.values_list(name).annotate(mass_g=Sum("mass_g")).order_by(name))
