"""The visits of an inventory-routing plan as a planning problem of so many days, and back.

Each visit is a place of its own that must be visited. Some may as well come on another day, at what
that changes in holding cost: one of a container's visits at a time, since the others stand still.
"""

from decimal import Decimal

import numpy as np

from network.pickups.core.check import check
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Depot, Load, Place, Problem, Shift, Van, VisitDay, Window
from network.pickups.core.schedule import retime
from network.pickups.core.solve import solve
from network.pickups.core.travel import Travel
from tests.benchmarks.inventory.choosing import Draft, draft_of
from tests.benchmarks.inventory.instances import Instance, Ints

_DEPOT = "depot"
# A day ends before the next begins, so that nothing is on two.
_DAY_S, _WORK_S = 10, 8
_CENTS = Decimal("0.01")
Visit = tuple[int, int]


def routed(here: Draft, *, movable: Ints, seed: int, iterations: int) -> Draft | None:
    """Return the same visits on better routes and days, or None where not all were made.

    `movable` names for each container the period whose visit may come on another day (-1: none).
    """
    problem = _problem(here, movable)
    as_they_are = {
        _shift_id(shift): [_id((place, shift[0])) for place in order]
        for shift, order in here.orders.items()
    }
    warm = retime(problem, as_they_are)
    plan = solve(problem, seed=seed, iterations=iterations, warm_start=warm)
    if plan.unplanned or check(problem, plan):
        return None
    return _read(here, plan)


def _problem(here: Draft, movable: Ints) -> Problem:
    instance, collected = here.instance, np.array(here.collected)
    visits = [(int(place), int(period)) for place, period in np.argwhere(collected > 0)]
    rows = [0, *(place + 1 for place, _ in visits)]
    metres = instance.metres[np.ix_(rows, rows)].copy()
    return Problem(
        days=instance.periods,
        currency="EUR",
        depots=(Depot(id=_DEPOT, longitude=0, latitude=0),),
        vans=tuple(
            Van(
                id=f"van {number}",
                payload_g=instance.capacity,
                volume_ml=0,
                cost_per_km=Decimal(1000),
            )
            for number in range(instance.vehicles)
        ),
        shifts=tuple(_shift(shift) for shift in here.orders),
        places=tuple(
            _place(instance, collected, visit, may_move=movable[visit[0]] == visit[1])
            for visit in visits
        ),
        travel=Travel(
            ids=(_DEPOT, *(_id(visit) for visit in visits)),
            metres=metres,
            seconds=np.zeros_like(metres),
        ),
    )


def _shift(shift: tuple[int, int]) -> Shift:
    period, number = shift
    return Shift(
        id=_shift_id(shift),
        van_id=f"van {number}",
        day=period,
        start_s=period * _DAY_S,
        end_s=period * _DAY_S + _WORK_S,
        start_depot_id=_DEPOT,
        end_depot_id=_DEPOT,
    )


def _shift_id(shift: tuple[int, int]) -> str:
    return f"{shift[0]} {shift[1]}"


def _id(visit: Visit) -> str:
    return f"{visit[0]} {visit[1]}"


def _place(instance: Instance, collected: Ints, visit: Visit, *, may_move: bool) -> Place:
    period = visit[1]
    amount = int(collected[visit])
    costs = {period: 0.0}
    if may_move:
        costs |= _other_days(instance, collected, visit)
    dearest = max(costs.values())
    return Place(
        id=_id(visit),
        longitude=0,
        latitude=0,
        service_s=0,
        required=True,
        days=tuple(
            VisitDay(
                day=day,
                windows=(Window(start_s=day * _DAY_S, end_s=day * _DAY_S + _WORK_S),),
                loads=(Load(stream_id="goods", mass_g=amount, volume_ml=0),),
                worth=Decimal(dearest - cost).quantize(_CENTS),
            )
            for day, cost in sorted(costs.items())
        ),
    )


def _other_days(instance: Instance, collected: Ints, visit: Visit) -> dict[int, float]:
    """On which other days the same amount could be taken, and what that costs more in holding."""
    place, period = visit
    amount = collected[visit]
    per_period = (instance.saved[place] - instance.kept) * amount
    found = {}
    for day in range(instance.periods):
        if collected[place, day]:
            continue
        moved = collected.copy()
        moved[place, period], moved[place, day] = 0, amount
        if not instance.faults(moved):
            found[day] = float(per_period * (period - day))
    return found


def _read(here: Draft, plan: Plan) -> Draft:
    """The plan as a draft; a visit may have come to another day than its name says."""
    now = np.zeros((here.instance.places, here.instance.periods), dtype=np.int64)
    orders: dict[tuple[int, int], list[int]] = {}
    for route in plan.routes:
        period, van = (int(word) for word in route.shift_id.split())
        order = orders.setdefault((period, van), [])
        for stop in route.visits:
            place, was = (int(word) for word in stop.location_id.split())
            now[place, period] += here.collected[place][was]
            order.append(place)
    return draft_of(here.instance, now, orders)
