"""A plan as a maker sees it: dates and names instead of the planner's numbers, with its reasons."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from network.pickups.cautions import Caution, route_cautions, stop_cautions
from network.pickups.core.check import Violation, ViolationCode, check
from network.pickups.core.explain import Explanation, explain
from network.pickups.core.outcome import Outcome, outcome_of
from network.pickups.core.plan import Plan, Route, Stop
from network.pickups.core.reasons import Reason
from network.pickups.figures import cost_to_data, figures_to_data, outcome_to_data
from network.pickups.plan_data import Data, Groundwork, moment_text
from network.pickups.words import clock_text, day_text, violation_text

_IDS = ("van_id", "other_id", "stream_id", "one_stream", "other_stream", "depot_id", "shift_id")


def plan_to_data(groundwork: Groundwork, plan: Plan) -> Data:
    """Return a plan as plain JSON data, each place with its reasons and each route with its faults.

    A place that was asked for and is left out is no fault of the routes: it is told with the
    place, and the rest can be booked.
    """
    problem = groundwork.problem
    why = {explanation.place_id: explanation for explanation in explain(problem, plan)}
    faults = [v for v in check(problem, plan) if v.code is not ViolationCode.REQUIRED_LEFT_OUT]
    routes = [_route_to_data(groundwork, route, why, faults) for route in plan.routes]
    shifts = {route.shift_id for route in plan.routes}
    outcome = outcome_of(problem, plan)
    return {
        "routes": routes,
        "left_out": [
            _left_out(groundwork, unplanned.place_id, why) for unplanned in plan.unplanned
        ],
        "totals": _totals(plan, outcome),
        "outcome": outcome_to_data(outcome),
        "distances": groundwork.distances,
        "notes": [_reason_to_data(groundwork, note) for note in plan.notes],
        "violations": [
            _violation_to_data(groundwork, fault)
            for fault in faults
            if fault.shift_id not in shifts
        ],
        "cautions": route_cautions([route["cautions"] for route in routes]) if routes else [],
    }


def faults_of(plan: Data) -> list[Data]:
    """Return all that keeps a stored plan from being booked."""
    faults: list[Data] = list(plan["violations"])
    for route in plan["routes"]:
        faults.extend(route["violations"])
    return faults


def _route_to_data(
    groundwork: Groundwork,
    route: Route,
    why: Mapping[str, Explanation],
    faults: Sequence[Violation],
) -> Data:
    shift = groundwork.problem.shift_by_id[route.shift_id]
    return {
        "shift": route.shift_id,
        "vehicle": _named(groundwork, route.van_id),
        "day": groundwork.day(route.day).isoformat(),
        "starts_at": moment_text(groundwork.moment(route.start_s)),
        "ends_at": moment_text(groundwork.moment(route.end_s)),
        "from_workshop": shift.start_depot_id == shift.end_depot_id,
        "stops": [_stop_to_data(groundwork, route, stop, why) for stop in route.visits],
        "return_distance_m": route.return_m,
        "distance_m": route.distance_m,
        "duration_s": route.duration_s,
        "mass_g": route.mass_g,
        "volume_ml": route.volume_ml,
        "cost": str(route.cost.total),
        "cost_parts": cost_to_data(route.cost),
        "cost_per_kg": _money(route.cost_per_kg),
        "violations": [
            _violation_to_data(groundwork, fault)
            for fault in faults
            if fault.shift_id == route.shift_id
        ],
        "cautions": route_cautions(
            _stop_cautions(groundwork, route, stop) for stop in route.visits
        ),
    }


def _stop_to_data(
    groundwork: Groundwork, route: Route, stop: Stop, why: Mapping[str, Explanation]
) -> Data:
    return {
        "place": _named(groundwork, stop.location_id),
        "arrival": moment_text(groundwork.moment(stop.arrival_s)),
        "departure": moment_text(groundwork.moment(stop.departure_s)),
        "expected_mass_g": stop.mass_g,
        "expected_volume_ml": stop.volume_ml,
        "leg_distance_m": stop.leg_m,
        "leg_duration_s": stop.leg_s,
        "wait_s": stop.wait_s,
        "break_s": stop.break_s,
        "worth": str(stop.worth),
        "must_visit": groundwork.problem.place_by_id[stop.location_id].must_be_visited,
        **_explained(groundwork, why.get(stop.location_id)),
        "cautions": _stop_cautions(groundwork, route, stop),
    }


def _stop_cautions(groundwork: Groundwork, route: Route, stop: Stop) -> list[Caution]:
    return stop_cautions(
        gross_masses_g=[
            content.gross_g(route.day)
            for content in groundwork.contents[stop.location_id]
            if route.day in content.expected
        ],
        is_school=stop.location_id in groundwork.school_ids,
    )


def _left_out(groundwork: Groundwork, place_id: str, why: Mapping[str, Explanation]) -> Data:
    return {
        "place": _named(groundwork, place_id),
        "must_visit": groundwork.problem.place_by_id[place_id].must_be_visited,
        "full_days": str(groundwork.problem.place_by_id[place_id].full_days),
        **_explained(groundwork, why.get(place_id)),
    }


def _explained(groundwork: Groundwork, explanation: Explanation | None) -> Data:
    if explanation is None:
        return {"why": [], "figures": None}
    return {
        "why": [_reason_to_data(groundwork, reason) for reason in explanation.reasons],
        "figures": figures_to_data(groundwork, explanation.place_id, explanation.figures),
    }


def _totals(plan: Plan, outcome: Outcome) -> Data:
    return {
        "places": len(plan.visit_by_place),
        "distance_m": plan.distance_m,
        "duration_s": plan.duration_s,
        "mass_g": plan.mass_g,
        "volume_ml": plan.volume_ml,
        "cost": str(plan.cost),
        "worth": str(plan.worth),
        "full_days": str(outcome.full_days),
        "currency": plan.currency,
        "cost_per_kg": _money(plan.cost_per_kg),
    }


def _money(amount: Decimal | None) -> str | None:
    return None if amount is None else str(amount)


def _named(groundwork: Groundwork, row_id: str) -> Data:
    return {"id": row_id, "name": groundwork.names.get(row_id, row_id)}


def _reason_to_data(groundwork: Groundwork, reason: Reason) -> Data:
    told = Reason(
        code=reason.code,
        params={name: _told(groundwork, name, value) for name, value in reason.params.items()},
    )
    return {"code": reason.code, "params": _params(groundwork, reason.params), "text": told.text}


def _told(groundwork: Groundwork, name: str, value: int | str | Decimal) -> int | str | Decimal:
    """Return a number of the planner as people say it: a date, a clock time, a name."""
    if isinstance(value, int) and name == "day":
        return day_text(groundwork.day(value))
    if isinstance(value, int) and name.endswith("_clock_s"):
        return clock_text(groundwork.moment(value), groundwork.timezone)
    if isinstance(value, str) and name in _IDS:
        return groundwork.names.get(value, value)
    return value


def _params(groundwork: Groundwork, params: Mapping[str, int | str | Decimal]) -> Data:
    """Return the numbers of a reason for machines: moments in UTC, money as strings."""
    told: Data = {}
    for name, value in params.items():
        if isinstance(value, int) and name == "day":
            told[name] = groundwork.day(value).isoformat()
        elif isinstance(value, int) and name.endswith("_clock_s"):
            told[f"{name.removesuffix('_clock_s')}_at"] = moment_text(groundwork.moment(value))
        else:
            told[name] = str(value) if isinstance(value, Decimal) else value
    return told


def _violation_to_data(groundwork: Groundwork, violation: Violation) -> Data:
    place_id = violation.location_id
    place = _named(groundwork, place_id) if place_id else None
    return {
        "code": violation.code,
        "params": _params(groundwork, violation.params),
        "text": violation_text(violation, place=place["name"] if place else ""),
        "place": place,
    }
