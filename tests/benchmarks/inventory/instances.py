"""Published inventory-routing instances, turned round into collections.

They are written for deliveries: a customer uses up its stock and must not run out. The same numbers
say when a container must be emptied: what a customer could still take in is what lies in the
container, what it uses up is what is put in, and running out is standing more than full. So is the
depot: what it has in stock is what it has room for.

A file has in its first line the number of vertices, the periods, a vehicle's capacity, and the
vehicles; then the depot with its number, place, stock, production and holding cost; then each
customer with its number, place, stock, most, least, use and holding cost. The problem is that of
Archetti, Bertazzi, Laporte and Speranza, Transportation Science 41 (2007), with several vehicles.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Instance:
    """A community of containers; vectors have an entry for each, `metres` the depot in row 0.

    `fill` is what lies in a container before the first period, `room` the most it may hold, and
    `inflow` what is put in during each period, after that period's visit. `saved` is what a unit
    that lies in the container at a period's end saves in holding cost, `kept` what it would cost at
    the depot: a unit collected stays at the depot's side of the balance.
    """

    name: str
    periods: int
    capacity: int
    vehicles: int
    metres: Ints
    fill: Ints
    room: Ints
    inflow: Ints
    saved: Floats
    kept: float
    depot_room: int
    depot_inflow: int

    @property
    def places(self) -> int:
        """How many containers there are."""
        return len(self.fill)

    def per_unit(self, place: int, period: int) -> float:
        """What a unit collected in a period adds to the holding cost until the last one's end."""
        return float(self.saved[place] - self.kept) * (self.periods - period)

    def fills_after(self, collected: Ints) -> Ints:
        """What lies in each container after each period's visit and before its inflow."""
        before = self.fill[:, None] + self.inflow[:, None] * np.arange(self.periods)
        after: Ints = before - collected.cumsum(axis=1)
        return after

    def holding(self, collected: Ints) -> float:
        """The published holding cost of what is collected by place and period.

        Stocks count at the end of each period.
        """
        at_end = self.fills_after(collected) + self.inflow[:, None]
        stock = self.room[:, None] - at_end
        depot = self.depot_room + self.depot_inflow * np.arange(1, self.periods + 1)
        depot = depot - collected.sum(axis=0).cumsum()
        return float((self.saved @ stock).sum() + self.kept * depot.sum())

    def faults(self, collected: Ints) -> list[str]:
        """What is wrong with amounts, loads of vans apart."""
        after = self.fills_after(collected)
        handed_out = collected.sum(axis=0).cumsum()
        has = self.depot_room + self.depot_inflow * np.arange(self.periods)
        checks = {
            "less than nothing is collected": (collected < 0).any(),
            "more is collected than lies there": (after < 0).any(),
            "a container stands more than full": (
                after + self.inflow[:, None] > self.room[:, None]
            ).any(),
            "the depot has no room left": (handed_out > has).any(),
        }
        return [fault for fault, is_there in checks.items() if is_there]


def read(path: Path) -> Instance:
    """Read a file; raises ValueError where it has another shape."""
    first, depot, *rows = [line.split() for line in path.read_text().splitlines() if line.strip()]
    vertices, periods, capacity, vehicles = (int(word) for word in first)
    if len(rows) != vertices - 1:
        raise ValueError(f"{path.name}: {vertices - 1} customers are announced, {len(rows)} there")
    table = np.array(rows, dtype=np.float64)
    stock, most, least, use = (table[:, column].astype(np.int64) for column in (3, 4, 5, 6))
    points = np.vstack([np.array(depot[1:3], dtype=np.float64), table[:, 1:3]])
    lengths = np.sqrt(((points[:, None] - points[None]) ** 2).sum(axis=2))
    return Instance(
        name=path.stem,
        periods=periods,
        capacity=capacity,
        vehicles=vehicles,
        metres=np.floor(lengths + 0.5).astype(np.int64),
        fill=most - stock,
        room=most - least,
        inflow=use,
        saved=table[:, 7],
        kept=float(depot[5]),
        depot_room=int(depot[3]),
        depot_inflow=int(depot[4]),
    )
