"""Who is visited in which period, and how much is taken, one container after another.

A container that is taken out of the plan comes in again as is best for it alone, while the others
stand still: by dynamic programming over what lies in it, where a visit costs what it adds to the
cheapest route of its period that has room.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tests.benchmarks.inventory.instances import Instance, Ints

# A period and a van; a period and an amount; what a route gets longer by, which, and at which stop.
Shift = tuple[int, int]
Visit = tuple[int, int]
Added = tuple[int, Shift, int]
# What visits so far cost, and which they are.
State = tuple[float, tuple[Visit, ...]]


@dataclass(eq=False)
class Draft:
    """A plan in the making: amounts by place and period, and who is visited in which order.

    `has` is what the depot has room for by each period, all that is collected taken off.
    """

    instance: Instance
    collected: list[list[int]]
    orders: dict[Shift, list[int]]
    loads: dict[Shift, int]
    has: list[int]
    metres: list[list[int]]
    held: float
    way_m: int = 0

    @property
    def cost(self) -> float:
        """The published cost of all that is in it."""
        return self.way_m + self.held

    def copy(self) -> "Draft":
        """The same, to be changed apart from it."""
        return Draft(
            instance=self.instance,
            collected=[list(row) for row in self.collected],
            orders={shift: list(order) for shift, order in self.orders.items()},
            loads=dict(self.loads),
            has=list(self.has),
            way_m=self.way_m,
            held=self.held,
            metres=self.metres,
        )

    def take_out(self, place: int) -> None:
        """Leave a container out of every route."""
        row = place + 1
        for shift, order in self.orders.items():
            if place in order:
                at = order.index(place)
                before = order[at - 1] + 1 if at else 0
                after = order[at + 1] + 1 if at + 1 < len(order) else 0
                metres = self.metres
                self.way_m -= metres[before][row] + metres[row][after] - metres[before][after]
                del order[at]
                self.collect(place, shift, -self.collected[place][shift[0]])

    def put_in(self, place: int) -> bool:
        """Visit a container as is best for it alone; False where it would overflow all the same."""
        ways = self._cheapest(place)
        visits = self._best_visits(place, ways)
        if visits is None:
            return False
        for period, amount in visits:
            way_m, shift, at = min(one for one in ways[period] if self._room(one[1]) >= amount)
            self.orders[shift].insert(at, place)
            self.way_m += way_m
            self.collect(place, shift, amount)
        return True

    def collect(self, place: int, shift: Shift, amount: int) -> None:
        """Take more from a container, or less; routes stay as they are."""
        self.collected[place][shift[0]] += amount
        self.loads[shift] += amount
        self.held += self.instance.per_unit(place, shift[0]) * amount
        for later in range(shift[0], self.instance.periods):
            self.has[later] -= amount

    def faults(self) -> list[str]:
        """What is wrong with it, all worked out anew."""
        collected = np.array(self.collected)
        found = self.instance.faults(collected)
        visited = sorted(
            (place, period) for (period, _), order in self.orders.items() for place in order
        )
        if visited != [(int(place), int(period)) for place, period in np.argwhere(collected)]:
            found.append("routes visit others than those collected from")
        for (period, _), order in self.orders.items():
            if collected[order, period].sum() > self.instance.capacity:
                found.append(f"a van of period {period} carries too much")
        rows = [[0, *(place + 1 for place in order), 0] for order in self.orders.values()]
        way_m = sum(int(self.instance.metres[row[:-1], row[1:]].sum()) for row in rows)
        if not np.isclose(way_m + self.instance.holding(collected), self.cost):
            found.append("it costs something else")
        return found

    def _room(self, shift: Shift) -> int:
        return self.instance.capacity - self.loads[shift]

    def _cheapest(self, place: int) -> list[list[Added]]:
        """What a visit adds to each route of each period, and at which position."""
        row = self.metres[place + 1]
        ways: list[list[Added]] = [[] for _ in range(self.instance.periods)]
        for shift, order in self.orders.items():
            best_m, best_at, before = -1, 0, 0
            for at in range(len(order) + 1):
                after = order[at] + 1 if at < len(order) else 0
                added_m = row[before] + row[after] - self.metres[before][after]
                if best_m < 0 or added_m < best_m:
                    best_m, best_at = added_m, at
                before = after
            ways[shift[0]].append((best_m, shift, best_at))
        return ways

    def _best_visits(self, place: int, ways: Sequence[Sequence[Added]]) -> tuple[Visit, ...] | None:
        """The visits of least cost by which it never stands more than full, or None."""
        inflow = int(self.instance.inflow[place])
        most = int(self.instance.room[place]) - inflow
        states: dict[int, State] = {int(self.instance.fill[place]): (0.0, ())}
        for period, added in enumerate(ways):
            reached: dict[int, State] = {}
            routes = sorted((way_m, self._room(shift)) for way_m, shift, _ in added)
            for there, state in states.items():
                for amount in _amounts(there, most=most, inflow=inflow, routes=routes):
                    after = self._visited(place, period, amount, state, routes)
                    at_end = there - amount + inflow
                    if after and (at_end not in reached or after < reached[at_end]):
                        reached[at_end] = after
            states = reached
        return min(states.values())[1] if states else None

    def _visited(
        self,
        place: int,
        period: int,
        amount: int,
        state: State,
        routes: Sequence[tuple[int, int]],
    ) -> State | None:
        """A state with one more amount taken; None where no route or not the depot has room."""
        if not amount:
            return state
        cost, visits = state
        way_m = next((way_m for way_m, room in routes if room >= amount), None)
        if way_m is None or amount + sum(gone for _, gone in visits) > min(self.has[period:]):
            return None
        cost += way_m + self.instance.per_unit(place, period) * amount
        return cost, (*visits, (period, amount))


def _amounts(there: int, *, most: int, inflow: int, routes: Sequence[tuple[int, int]]) -> set[int]:
    """What may be taken: nothing, all but some days' inflow, or what a route has room for."""
    rests = {there, *range(0, there, inflow), *(there - room for _, room in routes)}
    return {there - rest for rest in rests if 0 <= rest <= min(there, most)}


def empty_draft(instance: Instance) -> Draft:
    """A plan in which nobody is visited yet."""
    shifts = [
        (period, van) for period in range(instance.periods) for van in range(instance.vehicles)
    ]
    periods = range(instance.periods)
    return Draft(
        instance=instance,
        collected=[[0] * instance.periods for _ in range(instance.places)],
        orders={shift: [] for shift in shifts},
        loads=dict.fromkeys(shifts, 0),
        has=[instance.depot_room + instance.depot_inflow * period for period in periods],
        held=instance.holding(np.zeros((instance.places, instance.periods), dtype=np.int64)),
        metres=instance.metres.tolist(),
    )


def draft_of(instance: Instance, collected: Ints, orders: Mapping[Shift, Sequence[int]]) -> Draft:
    """A plan of amounts and orders that are known."""
    draft = empty_draft(instance)
    for shift, order in orders.items():
        draft.orders[shift] = list(order)
        rows = [0, *(place + 1 for place in order), 0]
        draft.way_m += sum(draft.metres[a][b] for a, b in pairwise(rows))
        for place in order:
            draft.collect(place, shift, int(collected[place, shift[0]]))
    return draft
