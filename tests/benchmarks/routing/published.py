"""Published routing instances put as planning problems, so that plan and check can be held to them.

A customer is a place that must be visited on the only day; a kilometre costs 1,000, so a metre
costs 1 and the plan's cost is the length of its routes. Distances are whole numbers as each
family's convention says, in units of 1/`per_unit` of the published ones.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import vrplib
from numpy.typing import NDArray

from network.pickups.core.problem import (
    Depot,
    Load,
    Place,
    Problem,
    Shift,
    Van,
    VisitDay,
    Window,
)
from network.pickups.core.travel import Travel

TENTHS = 10


@dataclass(frozen=True, kw_only=True)
class Instance:
    """A published instance: row 0 is the depot; without windows it is bound by capacity alone."""

    name: str
    distances: NDArray[np.int64]
    demands: tuple[int, ...]
    capacity: int
    vehicles: int
    services: tuple[int, ...]
    windows: tuple[tuple[int, int], ...] | None
    per_unit: int
    best_known: Decimal

    def gap(self, length: Decimal) -> Decimal:
        """By how much a plan's length exceeds the best known, as a fraction."""
        return length / self.per_unit / self.best_known - 1


def rounded_euclidean(coordinates: NDArray[np.int64]) -> NDArray[np.int64]:
    """Distances rounded to the nearest whole number: TSPLIB's EUC_2D."""
    return np.floor(_euclidean(coordinates) + 0.5).astype(np.int64)


def truncated_tenths(coordinates: NDArray[np.int64]) -> NDArray[np.int64]:
    """Distances in tenths, cut off after one decimal: the convention of Solomon's instances."""
    return np.floor(_euclidean(coordinates) * TENTHS).astype(np.int64)


def _euclidean(coordinates: NDArray[np.int64]) -> NDArray[np.float64]:
    across = coordinates[:, None, :] - coordinates[None, :, :]
    lengths: NDArray[np.float64] = np.sqrt((across**2).sum(axis=2))
    return lengths


def as_problem(instance: Instance) -> Problem:
    """Put an instance as a planning problem of one day."""
    ids = tuple(str(row) for row in range(len(instance.demands)))
    horizon = _horizon(instance)
    windows = instance.windows or ((0, horizon),) * len(ids)
    has_times = instance.windows is not None
    travel = Travel(
        ids=ids,
        metres=instance.distances,
        seconds=instance.distances if has_times else np.zeros_like(instance.distances),
    )
    vans = [f"van {number}" for number in range(instance.vehicles)]
    return Problem(
        days=1,
        currency="EUR",
        depots=(Depot(id="0", longitude=0, latitude=0),),
        vans=tuple(_van(van_id, instance.capacity) for van_id in vans),
        shifts=tuple(_shift(van_id, windows[0]) for van_id in vans),
        places=tuple(
            _place(ids[row], instance.demands[row], instance.services[row], windows[row])
            for row in range(1, len(ids))
        ),
        travel=travel,
    )


def _horizon(instance: Instance) -> int:
    return instance.windows[0][1] if instance.windows else 1


def _van(van_id: str, capacity: int) -> Van:
    return Van(id=van_id, payload_g=capacity, volume_ml=0, cost_per_km=Decimal(1000))


def _shift(van_id: str, window: tuple[int, int]) -> Shift:
    return Shift(
        id=van_id,
        van_id=van_id,
        day=0,
        start_s=window[0],
        end_s=window[1],
        start_depot_id="0",
        end_depot_id="0",
    )


def _place(place_id: str, demand: int, service: int, window: tuple[int, int]) -> Place:
    # Published windows bound the start of the work, ours the whole of it.
    whole = Window(start_s=window[0], end_s=window[1] + service)
    load = Load(stream_id="goods", mass_g=demand, volume_ml=0)
    day = VisitDay(day=0, windows=(whole,), loads=(load,), worth=Decimal(0))
    return Place(
        id=place_id, longitude=0, latitude=0, service_s=service, days=(day,), required=True
    )


def read(path: Path) -> Instance:
    """Read an instance in the VRPLIB or Solomon format, with the best known from beside it."""
    is_solomon = not path.read_text().lstrip().startswith("NAME")
    raw: dict[str, Any] = vrplib.read_instance(
        str(path),
        instance_format="solomon" if is_solomon else "vrplib",
        compute_edge_weights=False,
    )
    solution = path.with_suffix(".sol").read_text()
    found = re.search(r"cost\s*:?\s*([\d.]+)", solution, re.IGNORECASE)
    if found is None:
        raise ValueError(f"{path.name}: the solution beside it states no cost")
    return _instance(raw, path.stem, best_known=Decimal(found.group(1)))


def _instance(raw: dict[str, Any], name: str, *, best_known: Decimal) -> Instance:
    customers = len(raw["demand"])
    per_unit = TENTHS if "time_window" in raw and "edge_weight" not in raw else 1
    if "edge_weight" in raw:
        distances = np.asarray(raw["edge_weight"], dtype=np.int64)
    elif per_unit == TENTHS:
        distances = truncated_tenths(raw["node_coord"])
    else:
        distances = rounded_euclidean(raw["node_coord"])
    services = np.broadcast_to(np.asarray(raw.get("service_time", 0)) * per_unit, customers)
    windows = [
        (int(start), int(end)) for start, end in np.asarray(raw.get("time_window", [])) * per_unit
    ]
    return Instance(
        name=name,
        distances=distances,
        demands=tuple(int(demand) for demand in raw["demand"]),
        capacity=int(raw["capacity"]),
        vehicles=int(raw.get("vehicles", customers - 1)),
        services=(0, *(int(service) for service in services[1:])),
        windows=tuple(windows) or None,
        per_unit=per_unit,
        best_known=best_known,
    )
