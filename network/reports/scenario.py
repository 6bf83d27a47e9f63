"""Carbon and cost of a period as a scenario, from the ledger, the routes and stated factors."""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from network.materials.models import RuleVersion
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.reports.balances import FlowReport, balance
from network.reports.core.method import Method
from network.reports.core.points import IN_PRODUCTS, counted_g
from network.reports.core.scenario import (
    Carbon,
    Cost,
    Driven,
    Factor,
    Piece,
    carbon_of,
    cost_of,
)
from network.reports.factors import factors_of
from network.reports.queries import Selection

STATEMENT = (
    "A scenario: what would follow if the factors below held. It is not measured, not certified,"
    " and nothing that could be traded or set off against other emissions. Driving is always"
    " counted, by the distances that routes were planned with. What recycling may have avoided is"
    " counted only where an organiser has stated which share of new plastic the pieces displace,"
    " and only for the mass in products: what lies in the store, was passed on or was worked before"
    " the ledger began is left out. Washing, heat and machines are not counted."
)


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """Carbon and cost of a period, with all that they rest on."""

    community: Community
    selection: Selection
    statement: str
    point: Method
    factors: tuple[Factor, ...]
    driven: Driven
    # Accepted, without what was worked before the ledger began: no route is known for that.
    accepted_g: int
    in_products_g: int
    carbon: Carbon
    cost: Cost | None

    @property
    def is_confirmed(self) -> bool:
        """Whether somebody stated every factor that is used."""
        return all(factor.confirmed for factor in self.factors if factor.value is not None)


def scenario(
    actor: Actor,
    *,
    community: Community,
    period: Selection,
    routes: int,
    distance_m: int,
    duration_s: int,
) -> Scenario:
    """Return the scenario of the days of `period`, in which the finished routes took that much.

    Raises NotAllowed.
    """
    actor.require(ORGANISER)
    flow = balance(actor, community=community, selection=period)
    factors = factors_of(community.id)
    driven = Driven(routes=routes, distance_m=distance_m, duration_s=duration_s)
    pieces = _pieces(flow)
    accepted_g = counted_g("accepted", flow.balance) - _earlier_g(flow)
    return Scenario(
        community=community,
        selection=flow.selection,
        statement=STATEMENT,
        point=IN_PRODUCTS,
        factors=tuple(factors.values()),
        driven=driven,
        accepted_g=accepted_g,
        in_products_g=sum(piece.mass_g for piece in pieces),
        carbon=carbon_of(driven, pieces, factors),
        cost=cost_of(driven, accepted_g, factors),
    )


def _earlier_g(flow: FlowReport) -> int:
    return sum(one.mass_g for one in flow.balance.exits if one.kind == "earlier")


def _pieces(flow: FlowReport) -> list[Piece]:
    """Return what became pieces of each stream, by the resin of it where there is one only."""
    resins = _resins([one.stream.id for one in flow.streams])
    return [
        Piece(resin=resins.get(one.stream.id), mass_g=counted_g("products", one.balance))
        for one in flow.streams
    ]


def _resins(stream_ids: list[UUID]) -> Mapping[UUID, str]:
    """Return the resin of each stream whose latest rules take one only."""
    found: dict[UUID, list[str]] = {}
    versions = RuleVersion.objects.filter(stream_id__in=stream_ids).order_by("number")
    for stream_id, rules in versions.values_list("stream_id", "rules"):
        found[stream_id] = rules["resins"]
    return {stream_id: resins[0] for stream_id, resins in found.items() if len(resins) == 1}
