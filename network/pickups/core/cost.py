"""What a route costs, and what a visit is worth, in money."""

from dataclasses import dataclass
from decimal import Decimal

from network.errors import InvalidInput
from network.pickups.core.problem import Van
from network.units import G_PER_KG, M_PER_KM, S_PER_HOUR, to_cents


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


def visit_worth(
    *,
    mass_g: int,
    value_per_kg: Decimal,
    fill_fraction: Decimal,
    overflow_cost: Decimal,
    risk_starts_at: Decimal = Decimal("0.5"),
) -> Decimal:
    """Return what a visit is worth: the material it brings in, and the overflow it heads off.

    The chance of an overflow before anyone comes again is taken to grow evenly from nothing at
    `risk_starts_at` to certain at full; an assumption (common practice, no published source)
    that holds until a forecast gives the chance itself. Fractions are of the container's
    volume; more than 1 counts as full. Money in one currency, rounded to a hundredth.
    """
    if not 0 <= risk_starts_at < 1:
        raise InvalidInput.of("risk_starts_at", f"must be from 0 to below 1, not {risk_starts_at}")
    material = value_per_kg * mass_g / G_PER_KG
    risk = (fill_fraction - risk_starts_at) / (1 - risk_starts_at)
    return to_cents(material + overflow_cost * min(max(risk, Decimal(0)), Decimal(1)))
