"""What a person says when registering a place or agreeing a stream, checked when made."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, time
from uuid import UUID

from network.errors import FieldError, InvalidInput
from network.places.core.precision import Precision

FIRST_DAY = date(2000, 1, 1)
LAST_DAY = date(2100, 12, 31)
WEEKDAYS = 7
WINDOWS_MAX = 50
SPANS_MAX = 100
SPAN_DAYS_MAX = 1100  # three years: a longer term or closure is a slip of the year
CONTAINERS_MAX = 100
VOLUME_ML_MAX = 5_000_000  # five cubic metres; no bag, crate, bin or drum of a place is larger
TARE_G_MAX = 500_000
LENGTHS_MAX = {"name": 160, "address": 240, "access_notes": 4000, "contact_phone": 40}
LABEL_LENGTH_MAX = 80
PLACE_KINDS = ("school", "cafe", "salon", "cleaner", "workshop", "other")
SPAN_KINDS = ("term", "closure")
CONTAINER_KINDS = ("bag", "crate", "bin", "drum")


@dataclass(frozen=True, kw_only=True)
class NewOrganisation:
    """An organisation that is made together with its first place."""

    name: str
    kind: str


@dataclass(frozen=True, kw_only=True)
class WindowInput:
    """A weekly time by the community's clock; weekday 0 is Monday."""

    weekday: int
    opens: time
    closes: time


@dataclass(frozen=True, kw_only=True)
class SpanInput:
    """Days of a term or of a closure, the last one included."""

    kind: str
    first_day: date
    last_day: date
    label: str = ""


@dataclass(frozen=True, kw_only=True)
class ContainersInput:
    """So many containers of one make."""

    kind: str
    volume_ml: int
    tare_g: int
    count: int = 1


@dataclass(frozen=True, kw_only=True)
class PlaceInput:
    """A place as its contact describes it; raises InvalidInput naming each field."""

    name: str
    kind: str
    address: str
    longitude: float
    latitude: float
    district_id: UUID | None = None
    access_notes: str = ""
    contact_phone: str = ""
    public_precision: Precision | None = None
    observes_public_holidays: bool = True
    prefers_from: time | None = None
    prefers_until: time | None = None
    windows: Sequence[WindowInput] = ()
    spans: Sequence[SpanInput] = ()

    def __post_init__(self) -> None:
        faults = (
            *_place_faults(self),
            *_preference_faults(self.prefers_from, self.prefers_until),
            *_window_faults(self.windows),
            *_span_faults(self.spans),
        )
        if faults:
            raise InvalidInput("This place cannot be saved like that.", fields=faults)


@dataclass(frozen=True, kw_only=True)
class AgreementInput:
    """Which stream is set aside from when on, in what; raises InvalidInput naming each field."""

    stream_id: UUID
    main_item: str
    starts_on: date
    containers: Sequence[ContainersInput] = ()

    def __post_init__(self) -> None:
        faults = (*_day_faults("starts_on", self.starts_on), *container_faults(self.containers))
        if faults:
            raise InvalidInput("This agreement cannot be made like that.", fields=faults)


def container_faults(containers: Sequence[ContainersInput]) -> Iterator[FieldError]:
    """Name what is wrong with containers, each by its path."""
    if sum(max(row.count, 0) for row in containers) > CONTAINERS_MAX:
        yield FieldError(
            field="containers",
            detail=f"These are more than {CONTAINERS_MAX} containers.",
            mend="Add fewer at once.",
        )
    for index, row in enumerate(containers):
        path = f"containers[{index}]"
        yield from _choice_faults(f"{path}.kind", row.kind, CONTAINER_KINDS)
        yield from _range_faults(f"{path}.volume_ml", row.volume_ml, 1, VOLUME_ML_MAX)
        yield from _range_faults(f"{path}.tare_g", row.tare_g, 0, TARE_G_MAX)
        yield from _range_faults(f"{path}.count", row.count, 1, CONTAINERS_MAX)


def _place_faults(place: PlaceInput) -> Iterator[FieldError]:
    for field in ("name", "address"):
        if not getattr(place, field).strip():
            yield FieldError(field=field, detail="It is empty.", mend="Write something here.")
    for field, length_max in LENGTHS_MAX.items():
        yield from _length_faults(field, getattr(place, field), length_max)
    yield from _choice_faults("kind", place.kind, PLACE_KINDS)
    for field, degrees, most in (
        ("longitude", place.longitude, 180),
        ("latitude", place.latitude, 90),
    ):
        if not -most <= degrees <= most:  # also true of a number that is none
            yield FieldError(
                field=field,
                detail=f"It is not between -{most} and {most} degrees.",
                mend="Choose the point on the map, or check that the two are not swapped.",
            )


def _preference_faults(begins: time | None, ends: time | None) -> Iterator[FieldError]:
    """Hours that are preferred have a beginning and a later end."""
    if (begins is None) != (ends is None):
        yield FieldError(
            field="prefers_from" if begins is None else "prefers_until",
            detail="One of the two hours is missing.",
            mend="Write both, or neither.",
        )
    elif begins is not None and ends is not None and begins >= ends:
        yield FieldError(
            field="prefers_until",
            detail="The preferred hours end before they begin.",
            mend="Write the later time here.",
        )


def _window_faults(windows: Sequence[WindowInput]) -> Iterator[FieldError]:
    yield from _number_faults("windows", len(windows), WINDOWS_MAX)
    for index, window in enumerate(windows):
        path = f"windows[{index}]"
        yield from _range_faults(f"{path}.weekday", window.weekday, 0, WEEKDAYS - 1)
        if window.opens >= window.closes:
            yield FieldError(
                field=f"{path}.closes",
                detail="It closes before it opens.",
                mend="Write the later time here; a window ends by midnight.",
            )
        for earlier in windows[:index]:
            if earlier.weekday == window.weekday and (
                window.opens < earlier.closes and earlier.opens < window.closes
            ):
                yield FieldError(
                    field=f"{path}.opens",
                    detail="It overlaps with another window of that day.",
                    mend="Make one window of the two.",
                )
                break


def _span_faults(spans: Sequence[SpanInput]) -> Iterator[FieldError]:
    yield from _number_faults("spans", len(spans), SPANS_MAX)
    for index, span in enumerate(spans):
        path = f"spans[{index}]"
        yield from _choice_faults(f"{path}.kind", span.kind, SPAN_KINDS)
        yield from _length_faults(f"{path}.label", span.label, LABEL_LENGTH_MAX)
        yield from _day_faults(f"{path}.first_day", span.first_day)
        yield from _day_faults(f"{path}.last_day", span.last_day)
        length_days = (span.last_day - span.first_day).days + 1
        if length_days < 1:
            yield FieldError(
                field=f"{path}.last_day",
                detail="It is before the first day.",
                mend="Write the later day here.",
            )
        elif length_days > SPAN_DAYS_MAX:
            yield FieldError(
                field=f"{path}.last_day",
                detail=f"That is more than {SPAN_DAYS_MAX} days.",
                mend="Check the year.",
            )


def _day_faults(field: str, day: date) -> Iterator[FieldError]:
    if not FIRST_DAY <= day <= LAST_DAY:
        yield FieldError(
            field=field,
            detail=f"It is not between {FIRST_DAY} and {LAST_DAY}.",
            mend="Check the year.",
        )


def _length_faults(field: str, text: str, most: int) -> Iterator[FieldError]:
    if len(text) > most:
        yield FieldError(
            field=field,
            detail=f"It is longer than {most} characters.",
            mend="Shorten it.",
        )


def _range_faults(field: str, number: int, least: int, most: int) -> Iterator[FieldError]:
    if not least <= number <= most:
        yield FieldError(
            field=field,
            detail=f"It is not between {least} and {most}.",
            mend="Send a number in between.",
        )


def _number_faults(field: str, number: int, most: int) -> Iterator[FieldError]:
    if number > most:
        yield FieldError(field=field, detail=f"More than {most}.", mend="Send fewer.")


def _choice_faults(field: str, value: str, choices: Sequence[str]) -> Iterator[FieldError]:
    if value not in choices:
        yield FieldError(
            field=field,
            detail="It is not one of the known kinds.",
            mend=f"Choose one of: {', '.join(choices)}.",
        )
