"""A planning problem and its plan as plain JSON data, and the problem back from it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from network.pickups.core.prize import VisitWorth
from network.pickups.core.problem import Depot, Load, Place, Problem, Shift, Van, VisitDay, Window
from network.pickups.core.travel import Travel

Data = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Content:
    """One container that a visit would empty, with what is expected in it on each day (g, ml)."""

    container_id: str
    stream_id: str
    tare_g: int
    expected: Mapping[int, tuple[int, int]]

    def gross_g(self, day: int) -> int:
        """What is lifted on that day."""
        return self.tare_g + self.expected[day][0]


@dataclass(frozen=True, kw_only=True)
class Groundwork:
    """A problem with what the planner need not know: the calendar, names and containers.

    `starts_at` is the zero of the problem's time axis: midnight of the first day by the
    community's clock. Seconds on the axis are real ones, so a change of the clock is no gap.
    """

    problem: Problem
    first_day: date
    starts_at: datetime
    timezone: str
    names: Mapping[str, str]
    contents: Mapping[str, tuple[Content, ...]]
    school_ids: frozenset[str]
    worths: Mapping[str, Mapping[int, VisitWorth]]
    # What the distances rest on; None in proposals of before this was kept.
    distances: Data | None = None

    def moment(self, time_s: int) -> datetime:
        """The moment of a point of the axis, in UTC."""
        return self.starts_at + timedelta(seconds=time_s)

    def day(self, index: int) -> date:
        """The date of a day of the problem."""
        return self.first_day + timedelta(days=index)


def midnight_of(day: date, zone: str) -> datetime:
    """Return when a day begins by the clock of a zone, in UTC."""
    return datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).astimezone(UTC)


def moment_text(moment: datetime) -> str:
    """Return a moment as RFC 3339 has it, in UTC."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")


def groundwork_to_data(groundwork: Groundwork) -> Data:
    """Return the groundwork as plain JSON data."""
    return {
        "problem": _problem_to_data(groundwork.problem),
        "first_day": groundwork.first_day.isoformat(),
        "starts_at": moment_text(groundwork.starts_at),
        "timezone": groundwork.timezone,
        "names": dict(groundwork.names),
        "contents": {
            place_id: [_content_to_data(content) for content in contents]
            for place_id, contents in groundwork.contents.items()
        },
        "school_ids": sorted(groundwork.school_ids),
        "worths": {
            place_id: {str(day): _worth_to_data(worth) for day, worth in by_day.items()}
            for place_id, by_day in groundwork.worths.items()
        },
        "distances": groundwork.distances,
    }


def groundwork_from_data(data: Data) -> Groundwork:
    """Return the groundwork that `groundwork_to_data` wrote."""
    return Groundwork(
        problem=_problem_from_data(data["problem"]),
        first_day=date.fromisoformat(data["first_day"]),
        starts_at=datetime.fromisoformat(data["starts_at"]),
        timezone=data["timezone"],
        names=data["names"],
        contents={
            place_id: tuple(_content_from_data(content) for content in contents)
            for place_id, contents in data["contents"].items()
        },
        school_ids=frozenset(data["school_ids"]),
        # Proposals of before this was kept have none.
        worths={
            place_id: {int(day): _worth_from_data(worth) for day, worth in by_day.items()}
            for place_id, by_day in data.get("worths", {}).items()
        },
        distances=data.get("distances"),
    )


def orders_of(plan: Data) -> dict[str, list[str]]:
    """Return the order of stops for each shift of a stored plan."""
    return {
        route["shift"]: [stop["place"]["id"] for stop in route["stops"]] for route in plan["routes"]
    }


_WORTH_DECIMALS = (
    "way_cost",
    "time_cost",
    "fill_fraction",
    "full_days",
    "full_days_cost",
    "waiting_worth",
)


def _worth_to_data(worth: VisitWorth) -> Data:
    return {**vars(worth), **{name: str(getattr(worth, name)) for name in _WORTH_DECIMALS}}


def _worth_from_data(data: Data) -> VisitWorth:
    return VisitWorth(
        **{**data, **{name: Decimal(data[name]) for name in _WORTH_DECIMALS if name in data}}
    )


def _content_to_data(content: Content) -> Data:
    expected = {str(day): list(amounts) for day, amounts in content.expected.items()}
    return {**vars(content), "expected": expected}


def _content_from_data(data: Data) -> Content:
    expected = {int(day): (mass, volume) for day, (mass, volume) in data["expected"].items()}
    return Content(**{**data, "expected": expected})


def _problem_to_data(problem: Problem) -> Data:
    return {
        "days": problem.days,
        "currency": problem.currency,
        "depots": [vars(depot) for depot in problem.depots],
        "vans": [_van_to_data(van) for van in problem.vans],
        "shifts": [vars(shift) for shift in problem.shifts],
        "places": [_place_to_data(place) for place in problem.places],
        "travel": {
            "ids": list(problem.travel.ids),
            "metres": problem.travel.metres.tolist(),
            "seconds": problem.travel.seconds.tolist(),
        },
        "apart": [sorted(group) for group in problem.apart],
    }


def _problem_from_data(data: Data) -> Problem:
    travel = data["travel"]
    return Problem(
        days=data["days"],
        currency=data["currency"],
        depots=tuple(Depot(**depot) for depot in data["depots"]),
        vans=tuple(_van_from_data(van) for van in data["vans"]),
        shifts=tuple(Shift(**shift) for shift in data["shifts"]),
        places=tuple(_place_from_data(place) for place in data["places"]),
        travel=Travel(
            ids=tuple(travel["ids"]),
            metres=_matrix(travel["metres"], len(travel["ids"])),
            seconds=_matrix(travel["seconds"], len(travel["ids"])),
        ),
        apart=tuple(frozenset(group) for group in data["apart"]),
    )


def _matrix(rows: Sequence[Sequence[int]], size: int) -> np.ndarray[Any, np.dtype[np.int64]]:
    # The shape is named so that a matrix of no rows is still a square one.
    return np.array(rows, dtype=np.int64).reshape(size, size)


_COSTS = ("cost_per_shift", "cost_per_km", "cost_per_hour")


def _van_to_data(van: Van) -> Data:
    costs = {name: str(getattr(van, name)) for name in _COSTS}
    return {**vars(van), **costs, "stream_volume_ml": dict(van.stream_volume_ml)}


def _van_from_data(data: Data) -> Van:
    return Van(**{**data, **{name: Decimal(data[name]) for name in _COSTS}})


def _place_to_data(place: Place) -> Data:
    return {
        **vars(place),
        "days": [_visit_day_to_data(option) for option in place.days],
        "forbidden_days": sorted(place.forbidden_days),
        "van_ids": None if place.van_ids is None else sorted(place.van_ids),
        "full_days": str(place.full_days),
    }


def _place_from_data(data: Data) -> Place:
    van_ids = data["van_ids"]
    changed = {
        "days": tuple(_visit_day_from_data(option) for option in data["days"]),
        "forbidden_days": frozenset(data["forbidden_days"]),
        "van_ids": None if van_ids is None else frozenset(van_ids),
        "full_days": Decimal(data.get("full_days", 0)),
    }
    return Place(**{**data, **changed})


def _visit_day_to_data(option: VisitDay) -> Data:
    return {
        "day": option.day,
        "windows": [vars(window) for window in option.windows],
        "loads": [vars(load) for load in option.loads],
        "worth": str(option.worth),
        "full_days_avoided": str(option.full_days_avoided),
        "preferred": [vars(window) for window in option.preferred],
        "missed_cost": str(option.missed_cost),
    }


def _visit_day_from_data(data: Data) -> VisitDay:
    return VisitDay(
        day=data["day"],
        windows=tuple(Window(**window) for window in data["windows"]),
        loads=tuple(Load(**load) for load in data["loads"]),
        worth=Decimal(data["worth"]),
        full_days_avoided=Decimal(data.get("full_days_avoided", 0)),
        # Proposals of before preferred hours have none.
        preferred=tuple(Window(**window) for window in data.get("preferred", [])),
        missed_cost=Decimal(data.get("missed_cost", 0)),
    )
