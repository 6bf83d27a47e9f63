"""PyVRP's iterated local search, several side by side, each round from the best so far.

The searches are threads: PyVRP lets go of Python's lock while it searches, so that they share the
cores without a copy of the problem. How many there are, and how long a round is, is given and not
found out, so that what comes of it does not depend on the machine.
"""

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from threading import Event
from typing import Protocol

import pyvrp
from numpy.random import SeedSequence
from pyvrp import IteratedLocalSearch, IteratedLocalSearchParams, PenaltyManager
from pyvrp.PenaltyManager import PenaltyParams
from pyvrp.search import (
    OPERATORS,
    LocalSearch,
    NeighbourhoodParams,
    PerturbationManager,
    compute_neighbours,
)
from pyvrp.stop import MaxIterations, MultipleCriteria

ROUND_MIN = 300
"""How many iterations the shortest round has."""

SHORT_A_VISIT = 30
"""A search of at most so many iterations for each visit that could be made is a short one."""

SHORT_NEIGHBOURS = 20
"""How many neighbours of a visit a short search tries it beside; a longer one tries 50."""

SHORT_MEMORY = 30
"""Over how many iterations a short search may stay worse than it was; a longer one over 300."""


class StopRule(Protocol):
    """Asked before each iteration with the best cost so far; True ends the search."""

    def __call__(self, best_cost: int) -> bool:
        """Say whether to stop."""


@dataclass(frozen=True, kw_only=True)
class Effort:
    """How much is searched: so many searches side by side, each of so many iterations.

    The first search alone asks `stop`, in the thread that asked for the plan, so that it may use
    what belongs to that thread; the others end with it.
    """

    seed: int
    iterations: int
    searches: int = 1
    stop: StopRule | None = None


def search(data: pyvrp.ProblemData, effort: Effort, start: pyvrp.Solution | None) -> pyvrp.Solution:
    """Return the best solution that so much effort finds, from a start or from scratch.

    The same data, start, seed, iterations and number of searches give the same solution, as long
    as nothing stops them.
    """
    halt = Halt(effort.stop)
    seeds = [effort.seed, *(_seed(effort.seed, number) for number in range(1, effort.searches))]
    with ThreadPoolExecutor(effort.searches) as threads:
        searches = list(threads.map(lambda seed: _Search(data, effort, seed, start), seeds))
        first, others = searches[0], searches[1:]
        for iterations in _rounds(effort.iterations):
            begun = [threads.submit(one.go_on, iterations, halt.following) for one in others]
            try:
                found = [first.go_on(iterations, halt.asking)]
            except BaseException:
                halt.call()  # or the others would go on to the end of the round
                raise
            best = min([*found, *(one.result() for one in begun)], key=_rank)
            for one in searches:
                one.best = best
            if halt.is_called:
                break
    return best


def _seed(seed: int, number: int) -> int:
    return int(SeedSequence((seed, number)).generate_state(1)[0])


def _rounds(iterations: int) -> Iterable[int]:
    """Split the iterations into rounds, each half as long as all before it together.

    Early on much is found and handed round often; later on a search needs time of its own.
    """
    done = 0
    while done < iterations:
        length = min(max(ROUND_MIN, done // 2), iterations - done)
        yield length
        done += length


def _rank(solution: pyvrp.Solution) -> tuple[bool, int]:
    """Order solutions: feasible ones first, then by cost."""
    free = pyvrp.CostEvaluator([0] * len(solution.excess_load()), 0, 0)
    return not solution.is_feasible(), free.penalised_cost(solution)


class Halt:
    """Asks the rule in one search, and lets the others follow."""

    def __init__(self, rule: StopRule | None) -> None:
        self._rule = rule
        self._called = Event()

    @property
    def is_called(self) -> bool:
        """Whether it was said to stop."""
        return self._called.is_set()

    def call(self) -> None:
        """Stop all."""
        self._called.set()

    def asking(self, best_cost: int) -> bool:
        """Ask the rule: for the one search whose thread may."""
        if self._rule is not None and self._rule(best_cost):
            self.call()
        return self.is_called

    def following(self, best_cost: int) -> bool:
        """Whether the other has been told to stop."""
        del best_cost  # the other search has asked
        return self.is_called


def _manner(
    data: pyvrp.ProblemData, effort: Effort
) -> tuple[NeighbourhoodParams, IteratedLocalSearchParams]:
    """How far a search looks, and how long it remembers: less where it is short."""
    if effort.iterations > SHORT_A_VISIT * data.num_clients:
        return NeighbourhoodParams(), IteratedLocalSearchParams()
    near = NeighbourhoodParams(num_neighbours=SHORT_NEIGHBOURS)
    return near, IteratedLocalSearchParams(history_length=SHORT_MEMORY)


class _Search:
    """One search, which keeps between rounds what it has learnt of penalties.

    A short one looks at what is nearest and settles soon: within the same time it finds what one
    that looks further and wanders longer finds in four times as much (measured: decision 29).
    """

    def __init__(
        self, data: pyvrp.ProblemData, effort: Effort, seed: int, start: pyvrp.Solution | None
    ) -> None:
        random = pyvrp.RandomNumberGenerator(seed=seed)
        near, self._memory = _manner(data, effort)
        self._data = data
        self._descent = LocalSearch(
            data, random, compute_neighbours(data, near), PerturbationManager()
        )
        for operator in OPERATORS:
            if operator.supports(data):
                self._descent.add_operator(operator(data))
        params = PenaltyParams()
        self._penalties = PenaltyManager(params.midpoint_penalties(data), params)
        self.best = start or self._descent(
            # An empty start is a poor one to search from.
            pyvrp.Solution.make_random(data, random),
            self._penalties.max_cost_evaluator(),
            exhaustive=True,
        )

    def go_on(self, iterations: int, rule: StopRule) -> pyvrp.Solution:
        """Search on from the best so far, and return the best then."""
        rounds = IteratedLocalSearch(
            self._data, self._penalties, self._descent, self.best, self._memory
        )
        stop = MultipleCriteria([MaxIterations(iterations), rule])
        return rounds.run(stop, collect_stats=False).best
