"""From a first plan to better ones: take some containers out, put them in again, route anew.

Worse plans are taken now and then, less and less (simulated annealing; Kirkpatrick, Gelatt and
Vecchi, Science 220, 1983). Every so often all visits are put to Millrace's planner as a problem of
so many days.
"""

import math
import time

import numpy as np

from tests.benchmarks.inventory.choosing import Draft, empty_draft
from tests.benchmarks.inventory.instances import Instance, Ints
from tests.benchmarks.inventory.routing import routed

_ROUTE_EVERY = 400
_ITERATIONS = 150
_FIRST_TRIES = 200
_MOST_OUT = 10
# What may be given up for something new, as a share of the best cost: at first, and at the end.
_HOT, _COLD = 0.004, 0.00002


def improve(instance: Instance, *, seconds: float, seed: int) -> Draft:
    """Return the best plan found in so many seconds of processor time; ValueError if none."""
    began = time.process_time()
    dice = np.random.default_rng(seed)
    best = here = _first(instance, dice)
    rounds = 0
    while (gone := (time.process_time() - began) / seconds) < 1:
        rounds += 1
        found = _routed(here, dice) if rounds % _ROUTE_EVERY == 0 else _neighbour(here, dice)
        if found is None:
            continue
        heat = best.cost * _HOT * (_COLD / _HOT) ** gone
        if found.cost < here.cost - heat * math.log(1 - dice.random()):
            here = found
        if found.cost < best.cost:
            best = found
    last = _routed(best, dice)
    return last if last and last.cost < best.cost else best


def _first(instance: Instance, dice: np.random.Generator) -> Draft:
    for _ in range(_FIRST_TRIES):
        draft = empty_draft(instance)
        if all(draft.put_in(int(place)) for place in dice.permutation(instance.places)):
            return draft
    raise ValueError(f"{instance.name}: no first plan was found")


def _neighbour(here: Draft, dice: np.random.Generator) -> Draft | None:
    draft = here.copy()
    places = _around_one(here.instance, dice)
    for place in places:
        draft.take_out(place)
    dice.shuffle(places)
    return draft if all(draft.put_in(place) for place in places) else None


def _around_one(instance: Instance, dice: np.random.Generator) -> list[int]:
    """A container by chance, and some of those around it."""
    count = int(dice.integers(1, min(_MOST_OUT, instance.places) + 1))
    one = int(dice.integers(instance.places))
    near = instance.metres[one + 1, 1:] * dice.uniform(0.2, 1.8, instance.places)
    return [int(place) for place in np.argsort(near)[:count]]


def _routed(here: Draft, dice: np.random.Generator) -> Draft | None:
    return routed(
        here,
        movable=_movable(np.array(here.collected), dice),
        seed=int(dice.integers(2**31)),
        iterations=_ITERATIONS,
    )


def _movable(collected: Ints, dice: np.random.Generator) -> Ints:
    """One visit of each container, by chance."""
    chances = np.where(collected > 0, dice.random(collected.shape), -1)
    visits: Ints = np.where(collected.any(axis=1), chances.argmax(axis=1), -1)
    return visits
