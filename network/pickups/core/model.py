"""The problem in PyVRP's words, and the way back from its routes to orders of stops.

Each place is a group of optional clients: one for each day and opening time on which some van
could come. The clients of a place share one location, so the matrix stays places x places.
Each kind of shift is a vehicle type whose time window is the shift.

PyVRP counts money in integers. They are amounts times `money_scale`, a power of ten chosen so
that a metre and a second cost three digits or more; the costs of the plan itself are worked
out again in Decimal.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np
import pyvrp
from numpy.typing import NDArray

from network.pickups.core.dimensions import Dimension, Setting, load_dimensions, settings
from network.pickups.core.obstacles import obstacle
from network.pickups.core.problem import Place, Problem, Shift, Van, VisitDay, Window
from network.units import M_PER_KM, S_PER_HOUR

SCALE_EXPONENT_MAX = 6
COST_DIGITS = 3
NO_LIMIT = int(np.iinfo(np.int64).max)


@dataclass(frozen=True, kw_only=True)
class ClientKey:
    """Which visit a PyVRP client stands for; `misses` one outside the preferred hours."""

    place: Place
    option: VisitDay
    window: Window
    misses: bool = False


@dataclass(frozen=True, kw_only=True)
class ShiftKind:
    """Shifts that are alike for the solver: interchangeable vans on the same hours."""

    van: Van
    shifts: tuple[Shift, ...]

    @property
    def first(self) -> Shift:
        """The one that stands for all."""
        return self.shifts[0]


@dataclass(frozen=True, kw_only=True)
class VehicleKey:
    """Which kind of shift a PyVRP vehicle type stands for, and what its vans leave out."""

    kind: ShiftKind
    setting: Setting
    count: int


@dataclass(frozen=True, kw_only=True)
class Spare:
    """What a search holds back for what it does not know: a driver's break and driving time.

    On `tight_days` visits begin so much earlier that a break before them would make none late.
    `metres_max` bounds the way of a kind of shift, named by its first, in place of its driving.
    """

    tight_days: frozenset[int] = frozenset()
    metres_max: Mapping[str, int] = field(default_factory=dict)


NO_SPARE = Spare()


@dataclass(frozen=True, kw_only=True)
class Model:
    """A problem as PyVRP data, with the keys to read its solutions by."""

    problem: Problem
    data: pyvrp.ProblemData
    clients: tuple[ClientKey, ...]
    vehicles: tuple[VehicleKey, ...]
    unload_depots: Mapping[str, int]


def shift_kinds(problem: Problem) -> tuple[ShiftKind, ...]:
    """Group the shifts that differ in nothing but their van's and their own id."""
    named = {van_id for place in problem.places for van_id in place.van_ids or ()}
    kinds: dict[tuple[object, ...], list[Shift]] = defaultdict(list)
    for shift in problem.shifts:
        van = problem.van_of(shift)
        costs = (van.cost_per_shift, van.cost_per_km, van.cost_per_hour)
        room = (van.payload_g, van.volume_ml, tuple(sorted(van.stream_volume_ml.items())))
        hours = (shift.day, shift.start_s, shift.end_s, shift.unloads_max)
        limits = (
            shift.break_s,
            shift.stretch_s_max,
            shift.drive_s_max,
            shift.work_s_max,
            shift.out_since_s,
        )
        ends = (shift.start_depot_id, shift.end_depot_id)
        kinds[(costs, room, hours, limits, ends, van.id if van.id in named else None)].append(shift)
    return tuple(
        ShiftKind(van=problem.van_of(shifts[0]), shifts=tuple(shifts)) for shifts in kinds.values()
    )


def all_vehicles(problem: Problem) -> tuple[VehicleKey, ...]:
    """Return every kind of shift in every setting, each with all its vans."""
    return tuple(
        VehicleKey(kind=kind, setting=setting, count=len(kind.shifts))
        for kind in shift_kinds(problem)
        for setting in settings(problem)
    )


def build(
    problem: Problem, vehicles: Sequence[VehicleKey], *, enforce_required: bool, spare: Spare
) -> Model:
    """Put a problem into PyVRP's words.

    With `enforce_required`, a solution without each place that must be visited is infeasible;
    else such a visit is worth more than anything it could cost, so that as many as can be are
    made.
    """
    clients = _client_keys(problem)
    dimensions = load_dimensions(problem, [(key.place, key.option) for key in clients])
    scale = money_scale(problem)
    places = dict.fromkeys(key.place.id for key in clients)
    locations = [depot.id for depot in problem.depots] + list(places)
    location_of = {location_id: index for index, location_id in enumerate(locations)}
    groups, group_of = _groups(clients, enforce_required=enforce_required)
    bonus = Decimal(0) if enforce_required else _bonus(problem)
    data = pyvrp.ProblemData(
        locations=[pyvrp.Location(x=0, y=0, name=name) for name in locations],
        clients=[
            _client(
                key,
                location=location_of[key.place.id],
                amounts=[dimension.amount(key.place, key.option) for dimension in dimensions],
                prize=_scaled(_prize(key, bonus=bonus), scale),
                required=enforce_required and key.place.must_be_visited,
                group=group_of.get(key.place.id),
                latest_s=_latest_start_s(problem, key, spare),
            )
            for key in clients
        ],
        depots=_depots(problem),
        vehicle_types=[
            _vehicle_type(problem, key, dimensions=dimensions, scale=scale, spare=spare)
            for key in vehicles
        ],
        # PyVRP's stubs give ndarray a shape of int, which numpy's own types cannot meet.
        distance_matrices=[_matrix(problem, locations, problem.travel.metres)],  # type: ignore[list-item]
        duration_matrices=[_matrix(problem, locations, problem.travel.seconds)],  # type: ignore[list-item]
        groups=groups,
    )
    return Model(
        problem=problem,
        data=data,
        clients=clients,
        vehicles=tuple(vehicles),
        unload_depots=_unload_depots(problem),
    )


def money_scale(problem: Problem) -> int:
    """Return the power of ten by which money is multiplied to be counted in whole numbers."""
    rates = [
        rate
        for van in problem.vans
        for rate in (van.cost_per_km / M_PER_KM, van.cost_per_hour / S_PER_HOUR)
        if rate
    ]
    for exponent in range(SCALE_EXPONENT_MAX):
        scaled = [rate.scaleb(exponent) for rate in rates]
        whole = all(rate == rate.to_integral_value() for rate in scaled)
        if whole or all(rate >= 10 ** (COST_DIGITS - 1) for rate in scaled):
            return int(10**exponent)
    return int(10**SCALE_EXPONENT_MAX)


def _scaled(amount: Decimal, scale: int) -> int:
    return int((amount * scale).to_integral_value())


def _client_keys(problem: Problem) -> tuple[ClientKey, ...]:
    """Every visit that some van could make: hopeless ones would only slow the search."""
    firsts = [kind.first for kind in shift_kinds(problem)]
    return tuple(
        key
        for place in problem.places
        for option in place.allowed_days()
        if any(
            shift.day == option.day and obstacle(problem, place, option, shift) is None
            for shift in firsts
        )
        for key in _keys_of_day(place, option)
        if key.window.end_s - key.window.start_s >= place.service_s
    )


def _keys_of_day(place: Place, option: VisitDay) -> list[ClientKey]:
    """The preferred hours, where there are any, and then all hours, worth less."""
    misses = bool(option.preferred)
    return [
        *(ClientKey(place=place, option=option, window=w) for w in option.preferred),
        *(
            ClientKey(place=place, option=option, window=w, misses=misses)
            for w in option.windows
            if w not in option.preferred
        ),
    ]


def _prize(key: ClientKey, *, bonus: Decimal) -> Decimal:
    """What a visit is worth to the search, which knows nothing below zero.

    Where somebody comes in any case only the difference counts, so it is added to the other hours.
    """
    worth, missed_cost = key.option.worth, key.option.missed_cost
    if key.place.must_be_visited:
        return worth + bonus + (0 if key.misses else missed_cost)
    return max(Decimal(0), worth - missed_cost) if key.misses else worth


def _bonus(problem: Problem) -> Decimal:
    """An amount that no single visit can cost: twice the dearest shift, driven to its end."""
    longest_m = max(0, int(problem.travel.metres.max(initial=0)))
    dearest = (
        van.cost_per_shift
        + van.cost_per_km * 2 * longest_m / M_PER_KM
        + van.cost_per_hour * (shift.end_s - shift.start_s) / S_PER_HOUR
        for shift in problem.shifts
        for van in (problem.van_of(shift),)
    )
    most_worth = max((o.worth for place in problem.places for o in place.days), default=Decimal(0))
    most_missed = max(
        (o.missed_cost for place in problem.places for o in place.days), default=Decimal(0)
    )
    return 2 * max(dearest, default=Decimal(0)) + most_worth + most_missed


def _groups(
    clients: Sequence[ClientKey], *, enforce_required: bool
) -> tuple[list[pyvrp.ClientGroup], dict[str, int]]:
    """One group for each place with more than one client: at most one of them is visited."""
    members: dict[str, list[int]] = defaultdict(list)
    for index, key in enumerate(clients):
        members[key.place.id].append(index)
    several = {place_id: group for place_id, group in members.items() if len(group) > 1}
    groups = [
        pyvrp.ClientGroup(
            clients=group,
            required=enforce_required and clients[group[0]].place.must_be_visited,
            name=place_id,
        )
        for place_id, group in several.items()
    ]
    return groups, {place_id: number for number, place_id in enumerate(several)}


def _client(
    key: ClientKey,
    *,
    location: int,
    amounts: list[int],
    prize: int,
    required: bool,
    group: int | None,
    latest_s: int,
) -> pyvrp.Client:
    return pyvrp.Client(
        location=location,
        pickup=amounts,
        service_duration=key.place.service_s,
        tw_early=key.window.start_s,
        tw_late=latest_s,
        prize=prize,
        required=required and group is None,
        group=group,
        name=key.place.id,
    )


def _unload_depots(problem: Problem) -> dict[str, int]:
    """PyVRP's depot index for unloading at each depot.

    PyVRP spends a depot's service time at the start of a route too; a second depot at the same
    location keeps unloading apart from setting out.
    """
    count = len(problem.depots)
    return {depot.id: count + index for index, depot in enumerate(problem.depots)}


def _depots(problem: Problem) -> list[pyvrp.Depot]:
    ends = [pyvrp.Depot(location=index) for index in range(len(problem.depots))]
    unloads = [
        pyvrp.Depot(location=index, service_duration=depot.unload_s)
        for index, depot in enumerate(problem.depots)
    ]
    return ends + unloads


def _latest_start_s(problem: Problem, key: ClientKey, spare: Spare) -> int:
    """The latest start of a visit; a break earlier on a tight day where the window is as long."""
    latest_s = key.window.end_s - key.place.service_s
    if key.option.day not in spare.tight_days:
        return latest_s
    break_s = max(shift.break_s for shift in problem.shifts if shift.day == key.option.day)
    return latest_s if latest_s - break_s < key.window.start_s else latest_s - break_s


def _home_s(shift: Shift) -> int:
    """Until when a route without its break may last: one so short needs none, or there is time."""
    if shift.stretch_s_max is None:
        return shift.end_s
    in_one_s = shift.start_s - shift.out_before_s + shift.stretch_s_max
    return max(shift.start_s, min(shift.end_s, max(shift.end_s - shift.break_s, in_one_s)))


def _work_s_max(shift: Shift) -> int:
    """How long a route may last without its break, at most two stretches."""
    stretches_s = None if shift.stretch_s_max is None else 2 * shift.stretch_s_max
    limits_s = [limit_s for limit_s in (shift.work_s_max, stretches_s) if limit_s is not None]
    return max(0, min(limits_s) - shift.out_before_s) if limits_s else NO_LIMIT


def _metres_max(problem: Problem, shift: Shift, spare: Spare) -> int:
    """How far a van may go: as far as its driving time reaches at the fastest there is."""
    if shift.drive_s_max is None:
        return NO_LIMIT
    metres, seconds = problem.travel.metres, problem.travel.seconds
    driven = (metres > 0) & (seconds > 0)
    fastest = float((metres[driven] / seconds[driven]).max(initial=0))
    return spare.metres_max.get(shift.id, math.ceil(shift.drive_s_max * fastest))


def _vehicle_type(
    problem: Problem,
    key: VehicleKey,
    *,
    dimensions: Sequence[Dimension],
    scale: int,
    spare: Spare,
) -> pyvrp.VehicleType:
    van, shift = key.kind.van, key.kind.first
    depot_ids = [depot.id for depot in problem.depots]
    unload = [_unload_depots(problem)[shift.end_depot_id]] if shift.unloads_max else []
    return pyvrp.VehicleType(
        num_available=key.count,
        capacity=[dimension.capacity(van, key.setting) for dimension in dimensions],
        start_depot=depot_ids.index(shift.start_depot_id),
        end_depot=depot_ids.index(shift.end_depot_id),
        fixed_cost=_scaled(van.cost_per_shift, scale),
        tw_early=shift.start_s,
        tw_late=_home_s(shift),
        shift_duration=_work_s_max(shift),
        max_distance=_metres_max(problem, shift, spare),
        unit_distance_cost=_scaled(van.cost_per_km / M_PER_KM, scale),
        unit_duration_cost=_scaled(van.cost_per_hour / S_PER_HOUR, scale),
        reload_depots=unload,
        max_reloads=shift.unloads_max,
        name=shift.id,
    )


def _matrix(
    problem: Problem, locations: Sequence[str], values: NDArray[np.int64]
) -> NDArray[np.int64]:
    """The rows and columns that are needed; where no way is known, one too long for any shift."""
    travel = problem.travel
    indices = [travel.index(location_id) for location_id in locations]
    part = values[np.ix_(indices, indices)].astype(np.int64)
    missing = (travel.metres < 0) | (travel.seconds < 0)
    too_long = 1 + max((shift.end_s for shift in problem.shifts), default=0)
    part[missing[np.ix_(indices, indices)]] = max(too_long, int(part.max(initial=0)))
    return part
