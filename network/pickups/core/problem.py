"""The planning problem: who could be visited when, by which van, at what cost and worth.

All times are seconds from midnight at the start of day 0; the days lie end to end on that
one axis. Masses are grams, volumes millilitres, distances metres, and
money is Decimal in the problem's one currency. Values are checked when made; an error names
the field at fault.
"""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from network.errors import InvalidInput
from network.pickups.core.travel import Travel

DAYS_MAX = 31
LONGITUDE_MAX = 180
LATITUDE_MAX = 90
CURRENCY_CODE = re.compile(r"[A-Z]{3}")


def _need(field_name: str, message: str, *, holds: bool) -> None:
    if not holds:
        raise InvalidInput.of(field_name, f"{field_name}: {message}")


def _need_money(field_name: str, amount: Decimal) -> None:
    # A float would bring its own rounding in unseen, so the type is part of the check.
    kind: type = type(amount)
    is_money = kind is Decimal and amount.is_finite() and amount >= 0
    _need(field_name, f"must be a Decimal of zero or more, not {amount!r}", holds=is_money)


def _need_amount(field_name: str, amount: int, *, least: int = 0) -> None:
    kind: type = type(amount)
    is_whole = kind is int and amount >= least
    _need(field_name, f"must be a whole number of {least} or more, not {amount!r}", holds=is_whole)


def _need_unlike(field_name: str, ids: Collection[str]) -> None:
    _need(field_name, "must not hold an id twice", holds=len(set(ids)) == len(ids))


def _need_known(field_name: str, ids: Collection[str], known: Collection[str]) -> None:
    unknown = sorted(set(ids) - set(known))
    _need(field_name, f"unknown: {', '.join(unknown)}", holds=not unknown)


@dataclass(frozen=True, kw_only=True)
class Depot:
    """Where a shift starts, ends and unloads: the workshop, or where a van stands now.

    `unload_s` is spent at each unloading during the shift; the last unloading is after it.
    """

    id: str
    longitude: float
    latitude: float
    unload_s: int = 0

    def __post_init__(self) -> None:
        _need_point(f"depot {self.id}", self.longitude, self.latitude)
        _need_amount(f"depot {self.id}.unload_s", self.unload_s)


def _need_point(owner: str, longitude: float, latitude: float) -> None:
    _need(f"{owner}.longitude", "must be from -180 to 180", holds=abs(longitude) <= LONGITUDE_MAX)
    _need(f"{owner}.latitude", "must be from -90 to 90", holds=abs(latitude) <= LATITUDE_MAX)


@dataclass(frozen=True, kw_only=True)
class Van:
    """A vehicle, what it may carry at once, and what its use costs.

    `payload_g` is what the plate leaves after van, driver and fuel. `stream_volume_ml` gives
    the compartment of a stream that has one: never more of it in one load; zero if this van
    does not take it. A stream not named there is bound by the van's volume alone.
    """

    id: str
    payload_g: int
    volume_ml: int
    cost_per_shift: Decimal = Decimal(0)
    cost_per_km: Decimal = Decimal(0)
    cost_per_hour: Decimal = Decimal(0)
    stream_volume_ml: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _need_amount(f"van {self.id}.payload_g", self.payload_g)
        _need_amount(f"van {self.id}.volume_ml", self.volume_ml)
        _need_money(f"van {self.id}.cost_per_shift", self.cost_per_shift)
        _need_money(f"van {self.id}.cost_per_km", self.cost_per_km)
        _need_money(f"van {self.id}.cost_per_hour", self.cost_per_hour)
        for stream_id, volume_ml in self.stream_volume_ml.items():
            _need_amount(f"van {self.id}.stream_volume_ml[{stream_id}]", volume_ml)


@dataclass(frozen=True, kw_only=True)
class Shift:
    """One van and driver on one day, from `start_s` to `end_s` at the latest.

    A route of the shift leaves `start_depot_id` and comes home to `end_depot_id`, where it may
    also unload up to `unloads_max` times on the way and go out again.

    With `stretch_s_max`, nobody is out for longer than that without a break of `break_s`: a longer
    route has one, so that neither what is before it nor what is after it is longer. `drive_s_max`
    bounds the driving, `work_s_max` all time out but the break.

    A driver who is out already has been since `out_since_s`, their last break's end if they had
    one: stretch and work count from then. `paused_s` is a break just before `start_s`.
    """

    id: str
    van_id: str
    day: int
    start_s: int
    end_s: int
    start_depot_id: str
    end_depot_id: str
    unloads_max: int = 0
    break_s: int = 0
    stretch_s_max: int | None = None
    drive_s_max: int | None = None
    work_s_max: int | None = None
    out_since_s: int | None = None
    paused_s: int = 0

    def __post_init__(self) -> None:
        _need_amount(f"shift {self.id}.day", self.day)
        _need_amount(f"shift {self.id}.start_s", self.start_s)
        _need_amount(f"shift {self.id}.unloads_max", self.unloads_max)
        _need(f"shift {self.id}.end_s", "must be after start_s", holds=self.start_s < self.end_s)
        _need_amount(f"shift {self.id}.break_s", self.break_s)
        has_both = (self.break_s > 0) == (self.stretch_s_max is not None)
        _need(f"shift {self.id}.break_s", "goes with stretch_s_max", holds=has_both)
        _need_amount(f"shift {self.id}.paused_s", self.paused_s)
        _need(f"shift {self.id}.out_since_s", "not after start_s", holds=self.out_before_s >= 0)
        for name in ("stretch_s_max", "drive_s_max", "work_s_max"):
            limit_s = getattr(self, name)
            _need_amount(f"shift {self.id}.{name}", 1 if limit_s is None else limit_s, least=1)

    @property
    def out_before_s(self) -> int:
        """How long its driver has been out when it starts, without a break."""
        return 0 if self.out_since_s is None else self.start_s - self.out_since_s

    @property
    def has_limits(self) -> bool:
        """Whether more than its hours bounds how long its driver may be out."""
        return any(
            limit_s is not None
            for limit_s in (self.stretch_s_max, self.drive_s_max, self.work_s_max)
        )


@dataclass(frozen=True, kw_only=True)
class Load:
    """What one stream is expected to hand over at one visit."""

    stream_id: str
    mass_g: int
    volume_ml: int

    def __post_init__(self) -> None:
        _need_amount(f"load {self.stream_id}.mass_g", self.mass_g)
        _need_amount(f"load {self.stream_id}.volume_ml", self.volume_ml)


@dataclass(frozen=True, kw_only=True)
class Window:
    """A span in which one can come; the whole visit lies within it."""

    start_s: int
    end_s: int

    def __post_init__(self) -> None:
        _need_amount("window.start_s", self.start_s)
        _need("window.end_s", "must be after start_s", holds=self.start_s < self.end_s)


def is_within(windows: Collection[Window], *, start_s: int, end_s: int) -> bool:
    """Return whether one of the windows holds the whole visit."""
    return any(window.start_s <= start_s and end_s <= window.end_s for window in windows)


def first_fitting(windows: Collection[Window], *, arrival_s: int, service_s: int) -> Window | None:
    """Return the earliest window that still holds the whole visit for one who arrives then."""
    fitting = (w for w in windows if max(arrival_s, w.start_s) + service_s <= w.end_s)
    return min(fitting, key=lambda window: window.start_s, default=None)


@dataclass(frozen=True, kw_only=True)
class VisitDay:
    """One day on which a place is open: when, what would be there, what a visit is worth.

    `full_days_avoided` counts the days, one for each container, on which something there is
    expected to stand full only because nobody comes from that day on. A visit that lies in none
    of the `preferred` spans, where there are any, is worth less by `missed_cost`.
    """

    day: int
    windows: tuple[Window, ...]
    loads: tuple[Load, ...]
    worth: Decimal
    full_days_avoided: Decimal = Decimal(0)
    preferred: tuple[Window, ...] = ()
    missed_cost: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        _need_amount("visit_day.day", self.day)
        _need_money("visit_day.worth", self.worth)
        _need_money("visit_day.full_days_avoided", self.full_days_avoided)
        _need_money("visit_day.missed_cost", self.missed_cost)
        _need_unlike("visit_day.loads", [load.stream_id for load in self.loads])

    def misses(self, *, start_s: int, end_s: int) -> bool:
        """Return whether a visit then misses the hours that are preferred; never without any."""
        return bool(self.preferred) and not is_within(self.preferred, start_s=start_s, end_s=end_s)

    @property
    def mass_g(self) -> int:
        """All streams' mass together."""
        return sum(load.mass_g for load in self.loads)

    @property
    def volume_ml(self) -> int:
        """All streams' volume together."""
        return sum(load.volume_ml for load in self.loads)


@dataclass(frozen=True, kw_only=True)
class Place:
    """A place that may be visited at most once in the horizon.

    `days` holds the days on which it is open; a day that is missing is closed. `required` asks
    for a visit whatever it costs; `pinned_day` asks for it on that very day; `forbidden_days`
    rules days out although open; `van_ids` names the vans that may come (None: any).
    `full_days` counts the days, one for each container, on which something is expected to stand
    full if nobody comes at all. `last_van_id` is who came last: of vans that are alike it comes
    again.
    """

    id: str
    longitude: float
    latitude: float
    service_s: int
    days: tuple[VisitDay, ...]
    required: bool = False
    pinned_day: int | None = None
    forbidden_days: frozenset[int] = frozenset()
    van_ids: frozenset[str] | None = None
    full_days: Decimal = Decimal(0)
    last_van_id: str | None = None

    def __post_init__(self) -> None:
        _need_point(f"place {self.id}", self.longitude, self.latitude)
        _need_amount(f"place {self.id}.service_s", self.service_s)
        _need_money(f"place {self.id}.full_days", self.full_days)
        days = [option.day for option in self.days]
        _need(
            f"place {self.id}.days", "must not hold a day twice", holds=len(set(days)) == len(days)
        )
        if self.pinned_day is not None:
            _need_amount(f"place {self.id}.pinned_day", self.pinned_day)
            not_forbidden = self.pinned_day not in self.forbidden_days
            _need(f"place {self.id}.pinned_day", "is a forbidden day", holds=not_forbidden)

    @property
    def must_be_visited(self) -> bool:
        """Whether a plan without this place falls short."""
        return self.required or self.pinned_day is not None

    def on(self, day: int) -> VisitDay | None:
        """What a visit on that day would find, or None where the place is closed."""
        return next((option for option in self.days if option.day == day), None)

    def allowed_days(self) -> tuple[VisitDay, ...]:
        """The open days that are neither forbidden nor shut out by a pinned day."""
        return tuple(option for option in self.days if self.may_be_visited_on(option.day))

    def may_be_visited_on(self, day: int) -> bool:
        """Whether pins and bans leave that day (open or not)."""
        return day not in self.forbidden_days and self.pinned_day in {None, day}

    def may_be_visited_by(self, van_id: str) -> bool:
        """Whether that van may come."""
        return self.van_ids is None or van_id in self.van_ids


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Everything a plan is made from: the same problem, seed and limit give the same plan.

    `apart` holds groups of stream ids of which no two may ride in one load. `travel` covers
    every depot and place. Shifts of one van must not overlap.
    """

    days: int
    currency: str
    depots: tuple[Depot, ...]
    vans: tuple[Van, ...]
    shifts: tuple[Shift, ...]
    places: tuple[Place, ...]
    travel: Travel
    apart: tuple[frozenset[str], ...] = ()

    def __post_init__(self) -> None:
        in_range = 1 <= self.days <= DAYS_MAX
        _need("days", f"must be from 1 to {DAYS_MAX}, not {self.days}", holds=in_range)
        is_code = CURRENCY_CODE.fullmatch(self.currency) is not None
        _need("currency", f"must be a three-letter code, not {self.currency!r}", holds=is_code)
        self._check_ids()
        self._check_days()
        self._check_overlaps()

    def _check_ids(self) -> None:
        _need_unlike("vans", [van.id for van in self.vans])
        _need_unlike("shifts", [shift.id for shift in self.shifts])
        depot_ids = [depot.id for depot in self.depots]
        location_ids = depot_ids + [place.id for place in self.places]
        _need_unlike("places", location_ids)
        _need_known("travel.ids", location_ids, self.travel.ids)
        _need_known("shifts.van_id", [shift.van_id for shift in self.shifts], self.van_by_id)
        _need_known("shifts.start_depot_id", [s.start_depot_id for s in self.shifts], depot_ids)
        _need_known("shifts.end_depot_id", [s.end_depot_id for s in self.shifts], depot_ids)
        for place in self.places:
            _need_known(f"place {place.id}.van_ids", place.van_ids or (), self.van_by_id)

    def _check_days(self) -> None:
        for shift in self.shifts:
            _need(f"shift {shift.id}.day", "is past the horizon", holds=shift.day < self.days)
        for place in self.places:
            inside = all(option.day < self.days for option in place.days)
            _need(f"place {place.id}.days", "holds a day past the horizon", holds=inside)

    def _check_overlaps(self) -> None:
        by_start = sorted(self.shifts, key=lambda shift: (shift.start_s, shift.id))
        day_end_s: dict[int, int] = {}
        van_end_s: dict[str, int] = {}
        for shift in by_start:
            _need(
                f"shift {shift.id}.start_s",
                "lies before the end of a shift of an earlier day",
                holds=all(shift.start_s >= end for d, end in day_end_s.items() if d != shift.day),
            )
            _need(
                f"shift {shift.id}.start_s",
                f"lies before the end of another shift of van {shift.van_id}",
                holds=shift.start_s >= van_end_s.get(shift.van_id, 0),
            )
            day_end_s[shift.day] = max(shift.end_s, day_end_s.get(shift.day, 0))
            van_end_s[shift.van_id] = shift.end_s

    @cached_property
    def van_by_id(self) -> Mapping[str, Van]:
        """The vans by id."""
        return {van.id: van for van in self.vans}

    @cached_property
    def place_by_id(self) -> Mapping[str, Place]:
        """The places by id."""
        return {place.id: place for place in self.places}

    @cached_property
    def shift_by_id(self) -> Mapping[str, Shift]:
        """The shifts by id."""
        return {shift.id: shift for shift in self.shifts}

    @cached_property
    def depot_by_id(self) -> Mapping[str, Depot]:
        """The depots by id."""
        return {depot.id: depot for depot in self.depots}

    def van_of(self, shift: Shift) -> Van:
        """The van that drives a shift."""
        return self.van_by_id[shift.van_id]
