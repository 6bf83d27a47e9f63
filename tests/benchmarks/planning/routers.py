"""A day's due visits routed by other open-source solvers, so that only the router differs.

Each takes the same problem as Millrace's search: one day, like vans, visits that must be made,
their windows and loads, and the same money for going out, for the way and for the time. What they
find is timed and costed by Millrace's own code.
"""

from collections.abc import Sequence

import numpy as np
import vroom
from numpy.typing import NDArray
from ortools.constraint_solver import pywrapcp

from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.schedule import retime
from network.units import M_PER_KM, S_PER_HOUR
from tests.benchmarks.routing.rivals import ortools_orders, vroom_orders

# Hundredths of a cent, as both count in whole numbers.
_SCALE = 10_000
# A visit is left out only where it cannot be made.
_LEFT_OUT = 10**9
# By the clock on the wall: a day's few visits are settled long before.
_ORTOOLS_S, _VROOM_S = 0.25, 60.0


def by_ortools(problem: Problem, *, seed: int, iterations: int, warm_start: Plan | None) -> Plan:
    """Route by OR-Tools for a quarter of a second; it takes no seed and no such limit."""
    del seed, iterations, warm_start
    manager = pywrapcp.RoutingIndexManager(len(problem.places) + 1, len(problem.shifts), 0)
    routing = pywrapcp.RoutingModel(manager)
    seconds, costs = _spent_s(problem), _arc_costs(problem)
    routing.SetArcCostEvaluatorOfAllVehicles(routing.RegisterTransitMatrix(costs.tolist()))
    routing.SetFixedCostOfAllVehicles(round(problem.vans[0].cost_per_shift * _SCALE))
    _bound_times(problem, routing, manager, seconds)
    van = problem.vans[0]
    loads = [place.days[0] for place in problem.places]
    for name, amounts, most in (
        ("mass", [load.mass_g for load in loads], van.payload_g),
        ("volume", [load.volume_ml for load in loads], van.volume_ml),
    ):
        aboard = routing.RegisterUnaryTransitVector([0, *amounts])
        routing.AddDimension(aboard, 0, most, True, name)
    for row in range(1, len(problem.places) + 1):
        routing.AddDisjunction([manager.NodeToIndex(row)], _LEFT_OUT)
    return _timed(problem, ortools_orders(routing, manager, seconds=_ORTOOLS_S))


def _bound_times(
    problem: Problem,
    routing: pywrapcp.RoutingModel,
    manager: pywrapcp.RoutingIndexManager,
    seconds: NDArray[np.int64],
) -> None:
    spent = routing.RegisterTransitMatrix(seconds.tolist())
    end_s = max(shift.end_s for shift in problem.shifts)
    routing.AddDimension(spent, end_s, end_s, False, "time")
    time = routing.GetDimensionOrDie("time")
    # Waiting is paid for as well as driving.
    time.SetSpanCostCoefficientForAllVehicles(
        round(problem.vans[0].cost_per_hour * _SCALE / S_PER_HOUR)
    )
    for row, place in enumerate(problem.places, start=1):
        (window,) = place.days[0].windows
        time.CumulVar(manager.NodeToIndex(row)).SetRange(
            window.start_s, window.end_s - place.service_s
        )
    for number, shift in enumerate(problem.shifts):
        time.CumulVar(routing.Start(number)).SetRange(shift.start_s, shift.end_s)
        time.CumulVar(routing.End(number)).SetRange(shift.start_s, shift.end_s)


def by_vroom(problem: Problem, *, seed: int, iterations: int, warm_start: Plan | None) -> Plan:
    """Route by VROOM at its highest level, to its own end; it takes no seed and no such limit."""
    del seed, iterations, warm_start
    travel, van = problem.travel, problem.vans[0]
    rows = _rows(problem)
    task = vroom.Input()
    task.set_durations_matrix("car", travel.seconds[np.ix_(rows, rows)].astype(np.uint32))
    task.set_distances_matrix("car", travel.metres[np.ix_(rows, rows)].astype(np.uint32))
    costs = vroom.VehicleCosts(
        fixed=round(van.cost_per_shift * 100),
        per_hour=round(van.cost_per_hour * 100),
        per_km=round(van.cost_per_km * 100),
    )
    for number, shift in enumerate(problem.shifts):
        task.add_vehicle(
            vroom.Vehicle(
                number,
                start=0,
                end=0,
                capacity=[van.payload_g, van.volume_ml],
                time_window=vroom.TimeWindow(shift.start_s, shift.end_s),
                costs=costs,
            )
        )
    for row, place in enumerate(problem.places, start=1):
        (window,) = place.days[0].windows
        task.add_job(
            vroom.Job(
                row,
                location=row,
                default_service=place.service_s,
                pickup=[place.days[0].mass_g, place.days[0].volume_ml],
                time_windows=[vroom.TimeWindow(window.start_s, window.end_s - place.service_s)],
            )
        )
    driven = vroom_orders(task, seconds=_VROOM_S)
    return _timed(problem, [driven.get(number, []) for number in range(len(problem.shifts))])


def _rows(problem: Problem) -> list[int]:
    """The workshop first, then the places in order."""
    ids = (problem.depots[0].id, *(place.id for place in problem.places))
    return [problem.travel.index(location_id) for location_id in ids]


def _spent_s(problem: Problem) -> NDArray[np.int64]:
    """From arriving at one to arriving at another."""
    rows = _rows(problem)
    services = np.array([0, *(place.service_s for place in problem.places)])
    spent: NDArray[np.int64] = problem.travel.seconds[np.ix_(rows, rows)] + services[:, None]
    return spent


def _arc_costs(problem: Problem) -> NDArray[np.int64]:
    """What the way costs; its time is paid for by the span of the shift."""
    rows = _rows(problem)
    rate = float(problem.vans[0].cost_per_km) * _SCALE / M_PER_KM
    costs: NDArray[np.int64] = np.rint(problem.travel.metres[np.ix_(rows, rows)] * rate).astype(int)
    return costs


def _timed(problem: Problem, orders: Sequence[Sequence[int]]) -> Plan:
    named = zip(problem.shifts, orders, strict=True)
    return retime(
        problem,
        {
            shift.id: [problem.places[row - 1].id for row in order]
            for shift, order in named
            if order
        },
    )
