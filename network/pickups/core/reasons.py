"""Why something is in a plan or out of it: a code, the numbers, and a plain sentence."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from network.units import G_PER_KG, M_PER_KM, ML_PER_L

S_PER_DAY = 86_400
S_PER_MINUTE = 60


class ReasonCode(StrEnum):
    """All reasons a plan can give; each has its sentence in REASON_TEXT."""

    NO_SHIFT = "no_shift"
    NO_PLACE = "no_place"
    CLOSED_ALL_DAYS = "closed_all_days"
    DAYS_RULED_OUT = "days_ruled_out"
    NO_SHIFT_THAT_DAY = "no_shift_that_day"
    VAN_NOT_ALLOWED = "van_not_allowed"
    STREAMS_APART = "streams_apart"
    TOO_HEAVY = "too_heavy"
    TOO_BULKY = "too_bulky"
    STREAM_TOO_BULKY = "stream_too_bulky"
    NO_ROAD = "no_road"
    NO_WINDOW_IN_SHIFT = "no_window_in_shift"
    TOO_FAR = "too_far"
    LEFT_OUT = "left_out"
    VISITED = "visited"
    ASKED_FOR = "asked_for"
    BREAK_FIRST = "break_first"
    BREAK_NOW = "break_now"
    HOURS_MISSED = "hours_missed"
    NOT_WORTH_IT = "not_worth_it"
    WOULD_PAY = "would_pay"
    NO_TIME_LEFT = "no_time_left"
    NO_PAYLOAD_LEFT = "no_payload_left"
    NO_VOLUME_LEFT = "no_volume_left"
    STREAMS_WOULD_MIX = "streams_would_mix"
    DRIVES_TOO_LONG = "drives_too_long"
    WORKS_TOO_LONG = "works_too_long"
    NO_BREAK_FITS = "no_break_fits"


REASON_TEXT: Mapping[ReasonCode, str] = {
    ReasonCode.NO_SHIFT: "No van is out in these days.",
    ReasonCode.NO_PLACE: "No place is up for a visit in these days.",
    ReasonCode.CLOSED_ALL_DAYS: "Closed on all days of the plan.",
    ReasonCode.DAYS_RULED_OUT: "Open on {open_days} of the days, but every one is ruled out.",
    ReasonCode.NO_SHIFT_THAT_DAY: "No van is out on the days on which it can be visited.",
    ReasonCode.VAN_NOT_ALLOWED: "No van that is out may come here.",
    ReasonCode.STREAMS_APART: "{one_stream} and {other_stream} wait here and may not share a load.",
    ReasonCode.TOO_HEAVY: "Too heavy for van {van_id} by {excess_g}.",
    ReasonCode.TOO_BULKY: "Too bulky for van {van_id} by {excess_ml}.",
    ReasonCode.STREAM_TOO_BULKY: (
        "Van {van_id} has too little room set apart for {stream_id}, by {excess_ml}."
    ),
    ReasonCode.NO_ROAD: "No way is known between {other_id} and this place.",
    ReasonCode.NO_WINDOW_IN_SHIFT: (
        "No opening time fits a visit of {service_s} into the shift from {start_clock_s} to"
        " {end_clock_s}."
    ),
    ReasonCode.TOO_FAR: (
        "Van {van_id} could not be home before {home_clock_s}, and its shift ends at {end_clock_s}."
    ),
    ReasonCode.LEFT_OUT: "It can be visited, but is left out of this plan.",
    ReasonCode.VISITED: (
        "Visited on {day} at {arrival_clock_s}: the stop adds {extra_m} and {extra_s} and costs"
        " {extra_cost} against a worth of {worth}."
    ),
    ReasonCode.ASKED_FOR: "A visit was asked for, whatever it costs.",
    ReasonCode.BREAK_FIRST: "On arrival the driver has a break of {break_s}.",
    ReasonCode.BREAK_NOW: (
        "Before anything else the driver of van {van_id} has a break of {break_s}, until"
        " {start_clock_s}."
    ),
    ReasonCode.HOURS_MISSED: "Outside the hours that the place prefers, which costs {missed_cost}.",
    ReasonCode.NOT_WORTH_IT: (
        "The cheapest visit, on {day}, would add {extra_m} and {extra_s} and cost {extra_cost}"
        " against a worth of {worth}."
    ),
    ReasonCode.WOULD_PAY: (
        "A visit on {day} would add {extra_m} and {extra_s} and cost {extra_cost} against a"
        " worth of {worth}: adding it would pay."
    ),
    ReasonCode.NO_TIME_LEFT: (
        "On {day} van {van_id} has no time left: with this place it would be {late_s} late."
    ),
    ReasonCode.NO_PAYLOAD_LEFT: (
        "On {day} van {van_id} would be {excess_g} too heavy with this place."
    ),
    ReasonCode.NO_VOLUME_LEFT: (
        "On {day} van {van_id} would be {excess_ml} too full with this place."
    ),
    ReasonCode.STREAMS_WOULD_MIX: (
        "On {day} van {van_id} carries {other_stream}, which may not share a load with"
        " {one_stream}."
    ),
    ReasonCode.DRIVES_TOO_LONG: (
        "With this place the driver of {van_id} would drive {excess_s} longer than allowed."
    ),
    ReasonCode.WORKS_TOO_LONG: (
        "With this place the driver of {van_id} would be out {excess_s} longer than allowed."
    ),
    ReasonCode.NO_BREAK_FITS: (
        "With this place the driver of {van_id} would be {excess_s} too long without a break."
    ),
}


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One reason: its code, its numbers (unit last in each name), and its sentence."""

    code: ReasonCode
    params: Mapping[str, int | str | Decimal] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """The reason as a plain English sentence, its numbers with units."""
        shown = {name: _shown(name, value) for name, value in self.params.items()}
        return REASON_TEXT[self.code].format(**shown)


def _shown(name: str, value: int | str | Decimal) -> str:
    if not isinstance(value, int):
        return f"{value:.2f}" if isinstance(value, Decimal) else value
    if name.endswith("_clock_s"):
        return clock_text(value)
    if name.endswith("_s"):
        return f"{-(-value // S_PER_MINUTE)} min"
    for unit, per, sign in (("_g", G_PER_KG, "kg"), ("_ml", ML_PER_L, "l"), ("_m", M_PER_KM, "km")):
        if name.endswith(unit):
            return f"{Decimal(value) / per:.1f} {sign}"
    return f"day {value + 1}" if name == "day" else str(value)


def clock_text(time_s: int) -> str:
    """Return the time of day of a moment on the plan's axis, such as `09:05`."""
    minutes = time_s % S_PER_DAY // S_PER_MINUTE
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
