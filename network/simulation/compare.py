"""Policies held against each other on the same invented communities."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

import numpy as np
from scipy import stats

from network.errors import InvalidInput
from network.pickups.core.solve import solve
from network.simulation.core.policies import (
    FixedRounds,
    OnCall,
    Planned,
    Policy,
    PredictiveThreshold,
    Source,
    Threshold,
)
from network.simulation.core.replay import FUTURE_DAYS, Outcome, replay
from network.simulation.core.rounds import Router
from network.simulation.core.terms import Terms
from network.simulation.core.world import make_world

# A policy's name, its usual number, and how it is made of a number.
_Maker = Callable[[float], Policy]
# The number of rounds and calls is a fill; of thresholds a fill, known or expected; of predictive
# ones a risk; of plans what a day costs on which a container stands full.
_POLICIES: Mapping[str, tuple[float, _Maker]] = {
    "fixed": (0.8, lambda n: FixedRounds(limit=n)),
    "on-call": (0.65, lambda n: OnCall(limit=n)),
    "threshold": (
        0.75,
        lambda n: Threshold(limit=n, source=Source.SENSOR),
    ),
    "threshold-forecast": (
        0.6,
        lambda n: Threshold(limit=n, source=Source.FORECAST),
    ),
    "predictive": (
        0.1,
        lambda n: PredictiveThreshold(risk=n, source=Source.SENSOR),
    ),
    "predictive-forecast": (
        0.25,
        lambda n: PredictiveThreshold(risk=n, source=Source.FORECAST),
    ),
    "plan": (
        5,
        lambda n: Planned(full_day_cost=Decimal(str(n)), source=Source.FORECAST),
    ),
    "plan-sensor": (
        5,
        lambda n: Planned(full_day_cost=Decimal(str(n)), source=Source.SENSOR),
    ),
    "foresight": (
        5,
        lambda n: Planned(full_day_cost=Decimal(str(n)), source=Source.FORESIGHT),
    ),
}
FIGURES: Mapping[str, str] = {
    "money_per_t": "money/t",
    "km_per_t": "km/t",
    "hours_per_t": "hours/t",
    "visits_per_t": "visits/t",
    "full_share": "full",
    "lost_share": "lost",
    "contaminated_share": "contam.",
}


@dataclass(frozen=True, kw_only=True)
class Community:
    """The invented community: how large, with how many vans, how long it is watched."""

    places: int
    vans: int
    days: int
    warm_up_days: int
    iterations: int

    def __post_init__(self) -> None:
        for name, least in (("places", 1), ("vans", 1), ("days", 1), ("iterations", 1)):
            if getattr(self, name) < least:
                raise InvalidInput.of(name, f"must be {least} or more")
        if self.warm_up_days < 0:
            raise InvalidInput.of("warm_up_days", "must be 0 or more")


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A mean over seeds, and by how much it is off at most with 95 %; None for a single seed."""

    mean: float
    half_width: float | None


def policy_of(text: str) -> Policy:
    """Return the policy that is written as `name` or `name=number`; raises InvalidInput."""
    name, _, number = text.partition("=")
    if name not in _POLICIES:
        raise InvalidInput.of("policy", f"is one of: {', '.join(_POLICIES)}")
    usual, make = _POLICIES[name]
    try:
        return make(float(number) if number else usual)
    except (ValueError, InvalidOperation):
        raise InvalidInput.of("policy", f"{number!r} is not a number") from None


def live(community: Community, policy: str, *, seed: int, router: Router = solve) -> Outcome:
    """Return what the measured days of one seed's community come to under a policy."""
    world = make_world(
        places=community.places,
        days=community.warm_up_days + community.days + FUTURE_DAYS,
        seed=seed,
    )
    terms = Terms(vans=community.vans, iterations=community.iterations)
    return replay(
        world,
        terms,
        policy_of(policy),
        warm_up=community.warm_up_days,
        seed=seed,
        router=router,
    )


def compare(
    community: Community, policies: Sequence[str], *, seeds: Sequence[int]
) -> Iterator[tuple[str, dict[str, Estimate]]]:
    """Yield each policy with its figures over all seeds."""
    for policy in policies:
        outcomes = [live(community, policy, seed=seed) for seed in seeds]
        yield policy, {name: estimate([getattr(o, name) for o in outcomes]) for name in FIGURES}


def estimate(values: Sequence[float]) -> Estimate:
    """Return the mean of some seeds' values with its 95 % interval, by Student's t."""
    count = len(values)
    if count == 1:
        return Estimate(mean=values[0], half_width=None)
    off = stats.t.ppf(0.975, count - 1) * np.std(values, ddof=1) / np.sqrt(count)
    return Estimate(mean=float(np.mean(values)), half_width=float(off))
