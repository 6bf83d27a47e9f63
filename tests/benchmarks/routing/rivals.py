"""Other open-source solvers on the same instances: OR-Tools and VROOM, by their own interfaces.

What they find comes back as orders of stops, which Millrace's own timing and check then judge, as
they judge ours.
"""

from collections.abc import Iterable
from datetime import timedelta

import numpy as np
import vroom
from ortools.constraint_solver import pywrapcp, routing_enums_pb2

from tests.benchmarks.routing.published import Instance

Orders = list[list[int]]
LARGE = 10**9


def vehicles_tried(instance: Instance) -> int:
    """Return how many vans there are; where none are stated, more than the demand needs."""
    least = -(-sum(instance.demands) // instance.capacity)
    return min(instance.vehicles, least + least // 2 + 5)


def ortools_routes(instance: Instance, *, seconds: float) -> Orders:
    """Return the routes of OR-Tools' routing library: guided local search in one thread."""
    size = len(instance.demands)
    manager = pywrapcp.RoutingIndexManager(size, vehicles_tried(instance), 0)
    routing = pywrapcp.RoutingModel(manager)
    way = routing.RegisterTransitMatrix(instance.distances.tolist())
    routing.SetArcCostEvaluatorOfAllVehicles(way)
    demand = routing.RegisterUnaryTransitVector(list(instance.demands))
    routing.AddDimension(demand, 0, instance.capacity, True, "load")
    if instance.windows:
        services = np.asarray(instance.services)[:, None]
        spent = routing.RegisterTransitMatrix((instance.distances + services).tolist())
        end = max(window[1] for window in instance.windows)
        routing.AddDimension(spent, end, 2 * end, False, "time")
        time = routing.GetDimensionOrDie("time")
        for row in range(1, size):
            time.CumulVar(manager.NodeToIndex(row)).SetRange(*instance.windows[row])
        for van in range(vehicles_tried(instance)):
            time.CumulVar(routing.Start(van)).SetRange(*instance.windows[0])
            time.CumulVar(routing.End(van)).SetRange(*instance.windows[0])
    return ortools_orders(routing, manager, seconds=seconds)


def ortools_orders(
    routing: pywrapcp.RoutingModel, manager: pywrapcp.RoutingIndexManager, *, seconds: float
) -> Orders:
    """Search for so long, and return the stops of each vehicle, none where nothing is found."""
    wish = pywrapcp.DefaultRoutingSearchParameters()
    wish.first_solution_strategy = (
        routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    )
    wish.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    wish.time_limit.FromTimedelta(timedelta(seconds=seconds))
    found = routing.SolveWithParameters(wish)
    vans = range(routing.vehicles())
    return [list(_visits(routing, manager, found, van)) if found else [] for van in vans]


def _visits(
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    found: pywrapcp.Assignment,
    van: int,
) -> Iterable[int]:
    index = found.Value(routing.NextVar(routing.Start(van)))
    while not routing.IsEnd(index):
        yield manager.IndexToNode(index)
        index = found.Value(routing.NextVar(index))


def vroom_routes(instance: Instance, *, seconds: float) -> Orders:
    """Return the routes of VROOM at its highest level, in one thread; it may end early."""
    task = vroom.Input()
    task.set_durations_matrix("car", instance.distances.astype(np.uint32))
    for van in range(vehicles_tried(instance)):
        hours = vroom.TimeWindow(*instance.windows[0]) if instance.windows else None
        task.add_vehicle(
            vroom.Vehicle(
                van,
                start=0,
                end=0,
                capacity=[instance.capacity],
                **({"time_window": hours} if hours else {}),
            )
        )
    for row in range(1, len(instance.demands)):
        windows = [vroom.TimeWindow(*instance.windows[row])] if instance.windows else []
        task.add_job(
            vroom.Job(
                row,
                location=row,
                default_service=instance.services[row],
                pickup=[instance.demands[row]],
                time_windows=windows,
            )
        )
    return list(vroom_orders(task, seconds=seconds).values())


def vroom_orders(task: vroom.Input, *, seconds: float) -> dict[int, list[int]]:
    """Solve at the highest level, and return the jobs of each vehicle that drives."""
    found = task.solve(exploration_level=5, nb_threads=1, timeout=timedelta(seconds=seconds))
    rows = found.routes[found.routes["type"] == "job"]
    return {int(van): group["id"].astype(int).tolist() for van, group in rows.groupby("vehicle_id")}
