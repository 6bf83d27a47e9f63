"""What it is worth to visit a place on a day rather than later.

Material does not run away: what waits today can be fetched another day. What a visit does save is
a part of the next one, the greater the fuller the container is, and the days on which it would
stand full. So the prize of a visit is

    (way there + stop) x fill^2 + what the full days avoided would cost

By the square, since who waits a day fetches more by one stop: half full a container is worth a
quarter of the next stop, near full each further percent counts twice (chosen on invented
communities, docs/rules/simulation.md). The route pays for its kilometres and its time, the stop's
too, so a half-empty container is fetched only where the way is short for once, and never where the
stop alone costs more.

Nobody waits for ever because the way is long: where a container is due and nobody has come for
PATIENCE_DAYS, each further day adds a part of what sending a van typically costs, until it pays.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from network.errors import InvalidInput
from network.pickups.core.problem import Van
from network.pickups.core.travel import NO_ROAD, Travel
from network.units import G_PER_KG, M_PER_KM, S_PER_HOUR, to_cents

# Of the places around, about one in so many is visited on the same day (common practice of small
# rounds, no published source).
ONE_IN = 10

# A place that is so full may wait so long before waiting alone counts; then each day adds so much
# of a van's cost, so that it comes in some weeks later however far it is (guesses, no published
# source).
DUE_FROM = Decimal("0.75")
PATIENCE_DAYS = 28
GROWTH_A_DAY = Decimal("0.1")


@dataclass(frozen=True, kw_only=True)
class VisitWorth:
    """What a visit is worth, with all that the figure is made of.

    `way_m`, `way_s` and `service_s` are what one more stop there typically takes, `way_cost` and
    `time_cost` what that costs; `full_days` is how many days of standing full, one for each
    container, it is expected to avoid, `full_days_cost` what they and what no longer goes in
    cost. `waited_days` is how long nobody has come, `waiting_worth` what that adds.
    """

    way_m: int
    way_s: int
    service_s: int
    way_cost: Decimal
    time_cost: Decimal
    fill_fraction: Decimal
    full_days: Decimal
    full_days_cost: Decimal
    waited_days: int = 0
    waiting_worth: Decimal = Decimal(0)

    @property
    def typical_cost(self) -> Decimal:
        """What one more stop there typically costs."""
        return self.way_cost + self.time_cost

    @property
    def saved_later(self) -> Decimal:
        """The part of the next visit that this one saves; with the rest it is the total."""
        return self.total - self.full_days_cost - self.waiting_worth

    @property
    def total(self) -> Decimal:
        """The prize of the visit."""
        prize = visit_prize(
            typical_cost=self.typical_cost,
            fill_fraction=self.fill_fraction,
            full_days_cost=self.full_days_cost,
        )
        return prize + self.waiting_worth


def way_there(
    travel: Travel, place_id: str, other_ids: Iterable[str], *, one_in: int = ONE_IN
) -> tuple[int, int]:
    """Return the metres and seconds that one stop typically adds to a round.

    A stop shares its round's way with its neighbours: half of the way to the nearest and half of
    that to the next of those who are visited too, when every `one_in`-th of the others is.
    """
    if one_in < 1:
        raise InvalidInput.of("one_in", f"must be 1 or more, not {one_in}")
    row = travel.index(place_id)
    others = [travel.index(other) for other in other_ids if other != place_id]
    metres, seconds = travel.metres[row, others], travel.seconds[row, others]
    there = (metres != NO_ROAD) & (seconds != NO_ROAD)
    metres, seconds = metres[there], seconds[there]
    if not len(metres):
        return 0, 0
    by_way = np.argsort(metres, kind="stable")
    last = len(by_way) - 1
    near, next_near = by_way[min(one_in - 1, last)], by_way[min(2 * one_in - 1, last)]
    return (
        int(metres[near] + metres[next_near]) // 2,
        int(seconds[near] + seconds[next_near]) // 2,
    )


def cheapest(vans: Iterable[Van]) -> Van:
    """Return the van at whose rates a stop is reckoned before it is known who comes."""
    return min(vans, key=lambda van: (van.cost_per_km, van.cost_per_hour))


def stop_cost(van: Van, *, way_m: int, way_s: int, service_s: int) -> Decimal:
    """Return what one more stop typically costs: its way, and the time of way and stop."""
    way = van.cost_per_km * way_m / M_PER_KM
    return to_cents(way + van.cost_per_hour * (way_s + service_s) / S_PER_HOUR)


def way_and_time_cost(
    van: Van, *, way_m: int, way_s: int, service_s: int
) -> tuple[Decimal, Decimal]:
    """Return both parts of what a stop costs, each rounded to a hundredth; they sum to it."""
    way = to_cents(van.cost_per_km * way_m / M_PER_KM)
    return way, stop_cost(van, way_m=way_m, way_s=way_s, service_s=service_s) - way


def visit_prize(
    *, typical_cost: Decimal, fill_fraction: Decimal, full_days_cost: Decimal
) -> Decimal:
    """Return what visiting now rather than later saves, rounded to a hundredth.

    `typical_cost` is what one more stop there costs; `fill_fraction` is of all that the place can
    hold, where more than 1 counts as full; `full_days_cost` is what the days on which its
    containers stand full are expected to cost that a visit avoids.
    """
    if fill_fraction < 0:
        raise InvalidInput.of("fill_fraction", "a container is not below empty")
    saved = typical_cost * min(fill_fraction, Decimal(1)) ** 2
    return to_cents(saved + full_days_cost)


def full_days_cost(
    *, days: Decimal, nuisance_cost: Decimal, lost_g: int, value_per_kg: Decimal
) -> Decimal:
    """Return what so many days of standing full, and what no longer goes in, are held to cost.

    Both are expectations, so that days are not whole. Not rounded.
    """
    return days * nuisance_cost + value_per_kg * lost_g / G_PER_KG


def worth_of_waiting(
    van: Van, *, typical_cost: Decimal, fill_fraction: Decimal, waited_days: int
) -> Decimal:
    """Return what is added where nobody has come for so many days, rounded to a hundredth.

    It grows by the day with what a stop there costs and the van's going out, without bound. What
    is less than three quarters full is not waiting: a van sent to it would burn money.
    """
    if fill_fraction < DUE_FROM:
        return Decimal(0)
    days = max(0, waited_days - PATIENCE_DAYS)
    return to_cents((typical_cost + van.cost_per_shift) * GROWTH_A_DAY * days)
