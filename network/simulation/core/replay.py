"""Days of an invented community under a policy, and what they come to."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from network.pickups.core.plan import Route
from network.pickups.core.solve import solve
from network.places.core.history import Record, Sighting, record_of
from network.places.core.learning import learn_habits
from network.simulation.core.knowledge import histories_of
from network.simulation.core.policies import Morning, Policy
from network.simulation.core.rounds import Ahead, Router, ahead_of, plan_days, vans_go_out
from network.simulation.core.terms import Terms
from network.simulation.core.world import World
from network.units import G_PER_KG, M_PER_KM, S_PER_HOUR

# The last days of a world are not lived: plans and forecasts look into them.
FUTURE_DAYS = 10
_KG_PER_T = 1000
PERCENT = 100
# Who finds a container full puts things beside it or in the wrong one (an assumption).
_FULL_CONTAMINATES = 2.0


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What the measured days came to; a place-day is a day on which a place works."""

    distance_m: float
    duration_s: float
    money: float
    visits: float
    collected_g: float
    lost_g: float
    contaminated_g: float
    full_place_days: float
    place_days: float

    @property
    def money_per_t(self) -> float:
        """Money for each tonne collected."""
        return self.money / self._tonnes

    @property
    def km_per_t(self) -> float:
        """Kilometres for each tonne collected."""
        return self.distance_m / M_PER_KM / self._tonnes

    @property
    def hours_per_t(self) -> float:
        """Drivers' hours for each tonne collected."""
        return self.duration_s / S_PER_HOUR / self._tonnes

    @property
    def visits_per_t(self) -> float:
        """Visits for each tonne collected."""
        return self.visits / self._tonnes

    @property
    def full_share(self) -> float:
        """The share of place-days at whose end the container stood full."""
        return self.full_place_days / self.place_days

    @property
    def lost_share(self) -> float:
        """The share of what was brought that did not fit."""
        return self.lost_g / (self.collected_g + self.lost_g)

    @property
    def contaminated_share(self) -> float:
        """The share of what was collected that does not belong in it."""
        return self.contaminated_g / self.collected_g

    @property
    def _tonnes(self) -> float:
        return max(self.collected_g, 1) / G_PER_KG / _KG_PER_T


def replay(
    world: World,
    terms: Terms,
    policy: Policy,
    *,
    warm_up: int,
    seed: int,
    router: Router = solve,
) -> Outcome:
    """Live through a world's days but the last FUTURE_DAYS under a policy; count after the warm-up.

    Containers start empty.
    """
    state = _State(world)
    totals = dict.fromkeys((field.name for field in fields(Outcome)), 0.0)
    for day in range(world.days - FUTURE_DAYS):
        counts = _live(world, terms, policy, state, router, day=day, seed=seed)
        if day >= warm_up:
            for name, amount in counts.items():
                totals[name] += amount
    return Outcome(**totals)


class _State:
    """How matters stand on a morning; changed as the day goes on."""

    def __init__(self, world: World) -> None:
        places = len(world.places)
        self.level = np.zeros(places)
        self.stood_full = np.zeros(places, dtype=np.bool_)
        self.sightings: list[list[Sighting]] = [[] for _ in range(places)]
        self.habits = learn_habits(_record(world, self.sightings, 0))
        self.ahead: Ahead = {}


def _record(world: World, sightings: Sequence[Sequence[Sighting]], day: int) -> Record:
    return record_of(histories_of(world, sightings), last_day=world.day(day))


def _live(
    world: World,
    terms: Terms,
    policy: Policy,
    state: _State,
    router: Router,
    *,
    day: int,
    seed: int,
) -> dict[str, float]:
    if world.day(day).weekday() == 0:
        state.habits = learn_habits(_record(world, state.sightings, day))
    counts: dict[str, float] = {}
    if vans_go_out(world, day):
        morning = Morning(
            world=world,
            terms=terms,
            day=day,
            level=state.level.copy(),
            sightings=state.sightings,
            habits=state.habits,
        )
        routes = plan_days(
            world,
            terms,
            policy.choices(morning),
            day=day,
            days=policy.days,
            seed=seed,
            ahead=state.ahead,
            router=router,
        )
        state.ahead = ahead_of(routes, day=day)
        today = [route for route in routes if route.day == 0]
        counts |= _drive(world, terms, state, today, day=day)
    _tell(world, state, day=day)
    return counts | _fill(world, terms, state, day=day)


def _drive(
    world: World, terms: Terms, state: _State, routes: Sequence[Route], *, day: int
) -> dict[str, float]:
    index = {place_id: number for number, place_id in enumerate(world.ids)}
    visited = [index[stop.location_id] for route in routes for stop in route.visits]
    mass_g = contaminated_g = 0.0
    for place in visited:
        level = float(state.level[place])
        found = terms.mass_g(level * world.places[place].volume_ml)
        mass_g += found
        share = world.places[place].kind.contamination
        contaminated_g += found * share * (_FULL_CONTAMINATES if state.stood_full[place] else 1)
        percent = round(level * float(np.exp(world.weighs[place, day])) * PERCENT)
        seen = Sighting(day=world.day(day), percent=percent, emptied=True)
        state.sightings[place].append(seen)
    state.level[visited] = 0
    state.stood_full[visited] = False
    return {
        "distance_m": float(sum(route.distance_m for route in routes)),
        "duration_s": float(sum(route.duration_s for route in routes)),
        "money": float(sum(route.cost.total for route in routes)),
        "visits": float(len(visited)),
        "collected_g": mass_g,
        "contaminated_g": contaminated_g,
    }


def _tell(world: World, state: _State, *, day: int) -> None:
    for place in np.flatnonzero(world.tells[:, day]):
        step = world.places[place].step_percent
        looks = (state.level[place] + world.misjudges[place, day]) * PERCENT
        said = step * round(float(np.clip(looks, 0, 125)) / step)
        state.sightings[place].append(
            Sighting(day=world.day(day), percent=said, emptied=False, by=world.places[place].id)
        )


def _fill(world: World, terms: Terms, state: _State, *, day: int) -> dict[str, float]:
    level = state.level + world.deposits_ml[:, day] / world.volume_ml
    lost_ml = float((np.maximum(level - 1, 0) * world.volume_ml).sum())
    state.level = np.minimum(level, 1.0)
    is_full = (level >= 1) & world.running[:, day]
    state.stood_full |= is_full
    return {
        "lost_g": float(terms.mass_g(lost_ml)),
        "full_place_days": float(is_full.sum()),
        "place_days": float(world.running[:, day].sum()),
    }
