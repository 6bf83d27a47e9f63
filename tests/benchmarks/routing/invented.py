"""Invented communities of any size: villages around a workshop, five days, a few vans."""

from decimal import Decimal

import numpy as np
from numpy.random import Generator, default_rng

from network.geo import Point
from network.pickups.core.prize import stop_cost, way_there
from network.pickups.core.problem import Depot, Load, Place, Problem, Shift, Van, VisitDay, Window
from network.pickups.core.travel import Travel, travel_by_great_circle
from network.units import to_cents

DAYS = 5
S_PER_DAY = 86_400
S_PER_HOUR = 3_600
PLACES_PER_VAN = 100
PLACES_PER_VILLAGE = 15
CENTRE = Point(longitude=-30.0, latitude=40.0)
STANDING_FULL = Decimal(15)


def community(places: int, *, seed: int) -> Problem:
    """Return a week's problem of so many places, the same for the same seed.

    A place is open on three to five days, for the whole day or two hours; it fills steadily, and a
    visit is worth what the prize of full and half-full containers makes it.
    """
    rng = default_rng(seed)
    ids = [f"place {number}" for number in range(places)]
    points = {"workshop": CENTRE, **dict(zip(ids, _points(rng, places), strict=True))}
    travel = travel_by_great_circle(points, road_factor=1.3, speed_km_per_h=40)
    vans = [_van(number) for number in range(max(1, round(places / PLACES_PER_VAN)))]
    return Problem(
        days=DAYS,
        currency="EUR",
        depots=(Depot(id="workshop", longitude=CENTRE.longitude, latitude=CENTRE.latitude),),
        vans=tuple(vans),
        shifts=tuple(_shift(van.id, day) for day in range(DAYS) for van in vans),
        places=tuple(_place(rng, place_id, points[place_id], travel, vans[0]) for place_id in ids),
        travel=travel,
    )


def _points(rng: Generator, places: int) -> list[Point]:
    """Villages spread over some tens of kilometres, the places of each close together."""
    count = max(1, places // PLACES_PER_VILLAGE)
    villages = rng.uniform(-0.3, 0.3, size=(count, 2))
    around = rng.normal(0, 0.015, size=(places, 2))
    spread = villages[rng.integers(count, size=places)] + around
    return [
        Point(longitude=CENTRE.longitude + float(east), latitude=CENTRE.latitude + float(north))
        for east, north in spread
    ]


def _van(number: int) -> Van:
    return Van(
        id=f"van {number}",
        payload_g=900_000,
        volume_ml=8_000_000,
        cost_per_shift=Decimal(20),
        cost_per_km=Decimal("0.45"),
        cost_per_hour=Decimal(16),
    )


def _shift(van_id: str, day: int) -> Shift:
    return Shift(
        id=f"{van_id} day {day}",
        van_id=van_id,
        day=day,
        start_s=day * S_PER_DAY + 8 * S_PER_HOUR,
        end_s=day * S_PER_DAY + 16 * S_PER_HOUR,
        start_depot_id="workshop",
        end_depot_id="workshop",
    )


def _place(rng: Generator, place_id: str, point: Point, travel: Travel, van: Van) -> Place:
    volume_ml = int(rng.integers(1, 6)) * 100_000
    fill, rate = float(rng.uniform(0, 0.9)), float(rng.uniform(0.02, 0.15))
    way_m, way_s = way_there(travel, place_id, travel.ids)
    typical_cost = stop_cost(van, way_m=way_m, way_s=way_s, service_s=600)
    days = np.sort(rng.choice(DAYS, size=int(rng.integers(3, DAYS + 1)), replace=False))
    opens_h = int(rng.integers(8, 14))
    hours = (opens_h, opens_h + 2) if rng.random() < 0.3 else (8, 16)
    return Place(
        id=place_id,
        longitude=point.longitude,
        latitude=point.latitude,
        service_s=600,
        days=tuple(
            _visit_day(int(day), min(1.0, fill + rate * int(day)), volume_ml, hours, typical_cost)
            for day in days
        ),
    )


def _visit_day(
    day: int, fill: float, volume_ml: int, hours: tuple[int, int], typical_cost: Decimal
) -> VisitDay:
    filled_ml = int(fill * volume_ml)
    start_s, end_s = (day * S_PER_DAY + hour * S_PER_HOUR for hour in hours)
    chance_full = Decimal(str(round(max(0.0, fill - 0.5), 3)))
    return VisitDay(
        day=day,
        windows=(Window(start_s=start_s, end_s=end_s),),
        loads=(Load(stream_id="caps", mass_g=filled_ml // 20, volume_ml=filled_ml),),
        # As it was measured: the service holds less of a stop to be saved by now.
        worth=to_cents(typical_cost * Decimal(str(round(fill, 3))) + STANDING_FULL * chance_full),
    )
