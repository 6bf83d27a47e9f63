"""What a maker wants planned: shifts, places to visit or not, and what a kilogram is worth."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

DEFAULT_VALUE_PER_KG = Decimal("1.00")
DEFAULT_OVERFLOW_COST = Decimal("15.00")
DEFAULT_MISSED_HOURS_COST = Decimal("5.00")
"""Starting guesses in the community's currency, without a source, that a maker may replace."""

_LIMITS = ("break_s", "stretch_s_max", "drive_s_max", "work_s_max")


@dataclass(frozen=True, kw_only=True)
class ShiftWish:
    """A van on one day, from and until a time of the community's clock.

    A driver is out for `stretch_s_max` at a stretch and then has a break of `break_s`; None: they
    see to their breaks themselves. `drive_s_max` and `work_s_max` bound the driving, and all time
    out but the break.
    """

    vehicle_id: UUID
    day: date
    starts: time
    ends: time
    break_s: int = 0
    stretch_s_max: int | None = None
    drive_s_max: int | None = None
    work_s_max: int | None = None

    @property
    def limits(self) -> dict[str, Any]:
        """What bounds the driver's time, by the names of its fields."""
        return {name: getattr(self, name) for name in _LIMITS}

    def span(self, zone: str) -> tuple[datetime, datetime]:
        """When the shift begins and ends, in UTC."""
        tz = ZoneInfo(zone)
        return (
            datetime.combine(self.day, self.starts, tzinfo=tz).astimezone(UTC),
            datetime.combine(self.day, self.ends, tzinfo=tz).astimezone(UTC),
        )


@dataclass(frozen=True, kw_only=True)
class RestOfDay:
    """That it is the rest of a day which is planned anew, from where the vans are.

    `route_ids` go with the shifts: the route that is driven in each, None for a van that is sent
    out now. `broken_ids` are the routes whose van cannot go on.
    """

    route_ids: tuple[UUID | None, ...]
    broken_ids: frozenset[UUID]


@dataclass(frozen=True, kw_only=True)
class PlanRequest:
    """What is to be planned; money is in the community's currency."""

    shifts: tuple[ShiftWish, ...]
    must_visit: frozenset[UUID] = frozenset()
    never_visit: frozenset[UUID] = frozenset()
    # Places that are taken to be closed on a day, though nobody said so of the place itself.
    closed: frozenset[tuple[UUID, date]] = frozenset()
    value_per_kg: Decimal = DEFAULT_VALUE_PER_KG
    overflow_cost: Decimal = DEFAULT_OVERFLOW_COST
    missed_hours_cost: Decimal = DEFAULT_MISSED_HOURS_COST
    rest_of_day: RestOfDay | None = None


def request_to_data(request: PlanRequest) -> dict[str, Any]:
    """Return the request as plain JSON data."""
    return {
        "shifts": [
            {
                "vehicle_id": str(shift.vehicle_id),
                "day": shift.day.isoformat(),
                "starts": shift.starts.isoformat("minutes"),
                "ends": shift.ends.isoformat("minutes"),
                **_limits_to_data(shift),
            }
            for shift in request.shifts
        ],
        "must_visit": sorted(str(place_id) for place_id in request.must_visit),
        "never_visit": sorted(str(place_id) for place_id in request.never_visit),
        **_closed_to_data(request.closed),
        "value_per_kg": str(request.value_per_kg),
        "overflow_cost": str(request.overflow_cost),
        "missed_hours_cost": str(request.missed_hours_cost),
        **_rest_to_data(request.rest_of_day),
    }


def _limits_to_data(shift: ShiftWish) -> dict[str, int]:
    """What is bound; a wish without bounds is written as it always was, so that it is the same."""
    return {name: limit_s for name, limit_s in shift.limits.items() if limit_s}


def _closed_to_data(closed: frozenset[tuple[UUID, date]]) -> dict[str, Any]:
    if not closed:
        return {}
    return {
        "closed": [
            {"place_id": str(place_id), "day": day.isoformat()} for place_id, day in sorted(closed)
        ]
    }


def _rest_to_data(rest: RestOfDay | None) -> dict[str, Any]:
    if rest is None:
        return {}
    return {
        "rest_of_day": {
            "route_ids": [str(route_id) if route_id else None for route_id in rest.route_ids],
            "broken_ids": sorted(str(route_id) for route_id in rest.broken_ids),
        }
    }


def _rest_from_data(data: dict[str, Any] | None) -> RestOfDay | None:
    if data is None:
        return None
    return RestOfDay(
        route_ids=tuple(UUID(named) if named else None for named in data["route_ids"]),
        broken_ids=frozenset(UUID(named) for named in data["broken_ids"]),
    )


def request_from_data(data: dict[str, Any]) -> PlanRequest:
    """Return the request that `request_to_data` wrote."""
    return PlanRequest(
        shifts=tuple(
            ShiftWish(
                vehicle_id=UUID(shift["vehicle_id"]),
                day=date.fromisoformat(shift["day"]),
                starts=time.fromisoformat(shift["starts"]),
                ends=time.fromisoformat(shift["ends"]),
                **{name: shift[name] for name in _LIMITS if name in shift},
            )
            for shift in data["shifts"]
        ),
        must_visit=frozenset(UUID(place_id) for place_id in data["must_visit"]),
        never_visit=frozenset(UUID(place_id) for place_id in data["never_visit"]),
        closed=frozenset(
            (UUID(one["place_id"]), date.fromisoformat(one["day"]))
            for one in data.get("closed", [])
        ),
        value_per_kg=Decimal(data["value_per_kg"]),
        overflow_cost=Decimal(data["overflow_cost"]),
        # Requests of before places preferred hours have none.
        missed_hours_cost=Decimal(data.get("missed_hours_cost", DEFAULT_MISSED_HOURS_COST)),
        rest_of_day=_rest_from_data(data.get("rest_of_day")),
    )
