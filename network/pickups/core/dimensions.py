"""What bounds a load: mass, volume, compartments, and what may not come aboard at all.

Each bound is a load dimension for the solver. What may not come aboard adds a large amount to
a dimension of which the van's capacity is zero.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

from network.pickups.core.problem import Place, Problem, Van, VisitDay

BLOCKED = 1_000_000
"""By how much one forbidden visit exceeds a capacity of zero: as grave as a tonne too much."""

Setting = frozenset[str]
"""The streams that a van leaves out for one shift, since they may not ride with the others."""


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """One bound: what a visit adds to it, and what a van with its setting can take of it."""

    amount: Callable[[Place, VisitDay], int]
    capacity: Callable[[Van, Setting], int]


def settings(problem: Problem) -> tuple[Setting, ...]:
    """Return each way to fill a van without two streams that may not share a load.

    From each group that is kept apart one stream rides and the others are left out.
    """
    present = {
        load.stream_id for place in problem.places for option in place.days for load in option.loads
    }
    groups = [sorted(group & present) for group in problem.apart]
    choices = [[set(group) - {kept} for kept in group] for group in groups if len(group) > 1]
    return tuple(dict.fromkeys(frozenset[str]().union(*choice) for choice in product(*choices)))


def load_dimensions(problem: Problem, visits: Sequence[tuple[Place, VisitDay]]) -> list[Dimension]:
    """Return the bounds that matter for these visits: mass and volume first."""
    no_limit = BLOCKED * (len(visits) + 1)
    compartments = {stream_id for van in problem.vans for stream_id in van.stream_volume_ml}
    apart = {stream_id for group in problem.apart for stream_id in group}
    fleets = dict.fromkeys(place.van_ids for place, _ in visits if place.van_ids is not None)
    dimensions = [
        Dimension(amount=lambda _, option: option.mass_g, capacity=lambda van, _: van.payload_g),
        Dimension(amount=lambda _, option: option.volume_ml, capacity=lambda van, _: van.volume_ml),
        *(_compartment(stream_id) for stream_id in sorted(compartments)),
        *(_left_out(stream_id, no_limit=no_limit) for stream_id in sorted(apart)),
        *(_fleet(van_ids, no_limit=no_limit) for van_ids in fleets),
    ]
    # A dimension to which nothing adds would only cost time.
    return [d for d in dimensions if any(d.amount(place, option) for place, option in visits)]


def _compartment(stream_id: str) -> Dimension:
    def amount(_: Place, option: VisitDay) -> int:
        return sum(load.volume_ml for load in option.loads if load.stream_id == stream_id)

    def capacity(van: Van, _: Setting) -> int:
        return van.stream_volume_ml.get(stream_id, van.volume_ml)

    return Dimension(amount=amount, capacity=capacity)


def _left_out(stream_id: str, *, no_limit: int) -> Dimension:
    def amount(_: Place, option: VisitDay) -> int:
        return BLOCKED if any(load.stream_id == stream_id for load in option.loads) else 0

    def capacity(_: Van, setting: Setting) -> int:
        return 0 if stream_id in setting else no_limit

    return Dimension(amount=amount, capacity=capacity)


def _fleet(van_ids: frozenset[str], *, no_limit: int) -> Dimension:
    def amount(place: Place, _: VisitDay) -> int:
        return BLOCKED if place.van_ids == van_ids else 0

    def capacity(van: Van, _: Setting) -> int:
        return no_limit if van.id in van_ids else 0

    return Dimension(amount=amount, capacity=capacity)
