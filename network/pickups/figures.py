"""The figures behind a plan, each down to its parts, as plain JSON data."""

from decimal import Decimal

from network.pickups.core.cost import RouteCost
from network.pickups.core.explain import StopFigures
from network.pickups.core.outcome import Outcome, difference
from network.pickups.core.plan import Route
from network.pickups.core.prize import VisitWorth
from network.pickups.plan_data import Data, Groundwork
from network.units import to_cents


def outcome_to_data(outcome: Outcome) -> Data:
    """Return a plan's sums, money and days as strings."""
    return {
        name: str(value) if isinstance(value, Decimal) else value
        for name, value in vars(outcome).items()
    }


def outcome_from_data(data: Data) -> Outcome:
    """Return the sums that `outcome_to_data` wrote."""
    return Outcome(
        places=data["places"],
        shifts=data["shifts"],
        distance_m=data["distance_m"],
        duration_s=data["duration_s"],
        mass_g=data["mass_g"],
        cost=Decimal(data["cost"]),
        worth=Decimal(data["worth"]),
        full_days=Decimal(data["full_days"]),
    )


def difference_to_data(before: Data, after: Data) -> Data:
    """Return how two plans' stored sums differ."""
    return outcome_to_data(difference(outcome_from_data(before), outcome_from_data(after)))


def route_sums(route: Route) -> Data:
    """Return what a route is planned to come to."""
    return {
        "distance_m": route.distance_m,
        "duration_s": route.duration_s,
        "mass_g": route.mass_g,
        "volume_ml": route.volume_ml,
        "cost": str(route.cost.total),
    }


def cost_to_data(cost: RouteCost) -> Data:
    """Return a cost by part."""
    return {
        "shift": str(cost.shift),
        "distance": str(cost.distance),
        "time": str(cost.time),
        "total": str(cost.total),
    }


def figures_to_data(
    groundwork: Groundwork, place_id: str, figures: StopFigures | None
) -> Data | None:
    """Return what a stop adds and what it is worth, by part; None where no shift could come."""
    if figures is None:
        return None
    problem = groundwork.problem
    van = problem.van_of(problem.shift_by_id[figures.shift_id])
    worth = groundwork.worths.get(place_id, {}).get(figures.day)
    return {
        "shift": int(figures.shift_id),
        "day": groundwork.day(figures.day).isoformat(),
        "extra_distance_m": figures.extra_m,
        "extra_duration_s": figures.extra_s,
        "cost_per_km": str(van.cost_per_km),
        "cost_per_hour": str(van.cost_per_hour),
        "extra_cost": cost_to_data(figures.extra_cost),
        "worth": _worth_to_data(worth, figures.missed_cost or Decimal(0)) if worth else None,
    }


def _worth_to_data(worth: VisitWorth, missed_cost: Decimal) -> Data:
    return {
        "way_m": worth.way_m,
        "way_s": worth.way_s,
        "service_s": worth.service_s,
        "way_cost": str(worth.way_cost),
        "time_cost": str(worth.time_cost),
        "typical_cost": str(worth.typical_cost),
        "fill_percent": round(worth.fill_fraction * 100),
        "saved_later": str(worth.saved_later),
        "full_days": str(worth.full_days),
        "full_days_cost": str(to_cents(worth.full_days_cost)),
        "waited_days": worth.waited_days,
        "waiting_worth": str(worth.waiting_worth),
        "missed_hours_cost": str(missed_cost),
        "total": str(worth.total - missed_cost),
    }
