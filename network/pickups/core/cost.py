"""What a route costs, in money."""

from dataclasses import dataclass
from decimal import Decimal

from network.pickups.core.problem import Van
from network.units import M_PER_KM, S_PER_HOUR, to_cents


@dataclass(frozen=True, kw_only=True)
class RouteCost:
    """A route's cost by part, each rounded to a hundredth, so that the parts sum to the total."""

    shift: Decimal
    distance: Decimal
    time: Decimal

    @property
    def total(self) -> Decimal:
        """All parts together."""
        return self.shift + self.distance + self.time


def route_cost(van: Van, *, distance_m: int, duration_s: int) -> RouteCost:
    """Return what it costs to send that van out for so far and so long."""
    return RouteCost(
        shift=to_cents(van.cost_per_shift),
        distance=to_cents(van.cost_per_km * distance_m / M_PER_KM),
        time=to_cents(van.cost_per_hour * duration_s / S_PER_HOUR),
    )


NO_COST = RouteCost(shift=Decimal(0), distance=Decimal(0), time=Decimal(0))


def cost_between(before: RouteCost, after: RouteCost) -> RouteCost:
    """Return what a route costs more (or less, below zero) than it did, by part."""
    return RouteCost(
        shift=after.shift - before.shift,
        distance=after.distance - before.distance,
        time=after.time - before.time,
    )
