"""Lines of the mass ledger as events of EPCIS 2.0: what was seen, added up, turned into what.

Source: GS1 EPCIS 2.0 (ISO/IEC 19987) and CBV 2.0, in the JSON-LD binding. Masses in kg (`KGM`,
UN/ECE Recommendation 20).
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from types import MappingProxyType
from typing import Any
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from network.lots.core.ledger import Position
from network.units import G_PER_KG

SCHEMA_VERSION = "2.0"
CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
# Short for the vocabulary of this instance: the vocabulary of the standard has no washing.
OWN = "millrace"
OUTSIDE = frozenset({"container", "returned", "residue", "passed_on", "loss", "earlier"})
# What was done at once is one event, though the ledger has a line for each lot.
_TOGETHER = frozenset(
    {
        *("split", "merged", "washed", "delabelled", "sorted", "shredded"),
        *("charged", "made", "trimmed", "lost"),
    }
)
_STEPS: Mapping[str, str] = MappingProxyType(
    {
        "collected": "collecting",
        "brought_home": "receiving",
        "inspected_out": "inspecting",
        "passed_on": "shipping",
    }
)
# Where grams went, and how they are there; only what comes to an end is deleted.
_GONE: Mapping[str, tuple[str, str | None]] = MappingProxyType(
    {
        "returned": ("OBSERVE", "returned"),
        "passed_on": ("OBSERVE", "in_transit"),
        "residue": ("DELETE", "disposed"),
        "loss": ("DELETE", None),
        "earlier": ("DELETE", None),
        "container": ("DELETE", None),
    }
)
Event = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Line:
    """A line of the ledger, with the place its lot is of and how its mass was found.

    `in_van` is whether a vehicle's account is a vehicle: of imported history it is the import.
    """

    id: UUID
    at: datetime
    recorded_at: datetime
    reason: str
    mass_g: int
    frm: Position
    to: Position
    maker_id: UUID
    place_id: UUID | None
    found_by: str | None
    reverses_id: UUID | None
    in_van: bool = True


def urn(name: UUID) -> str:
    """Return the identifier of a thing (RFC 9562): EPCIS takes any URI."""
    return f"urn:uuid:{name}"


def events_of(lines: Iterable[Line], zone: ZoneInfo) -> Iterator[Event]:
    """Yield the events of lines that come in the order in which they were recorded."""
    for _, group in groupby(lines, key=_act):
        yield from _events(list(group), zone)


def _act(line: Line) -> tuple[datetime, UUID, UUID | None]:
    """Return what is alike for the lines of one act, and of no other."""
    return line.recorded_at, line.maker_id, None if line.reason in _TOGETHER else line.id


def _events(act: Sequence[Line], zone: ZoneInfo) -> Iterator[Event]:
    if any(_changes(line) for line in act):
        yield _transformation(act, zone)
        return
    for line in act:
        yield _object(line, zone)
        yield from _loading(line, zone)


def thing_of(position: Position) -> UUID | None:
    """Return what lies at a position: a lot, a batch, a run of pieces, or nothing of ours."""
    if position.kind in OUTSIDE:
        return None
    return position.holder_id if position.kind in {"batch", "product"} else position.lot_id


def _changes(line: Line) -> bool:
    """Return whether one thing became another."""
    source, target = thing_of(line.frm), thing_of(line.to)
    return source is not None and target is not None and source != target


def _transformation(act: Sequence[Line], zone: ZoneInfo) -> Event:
    """Return what went in and came out; what was thrown away or lost is stated beside it."""
    taken_g, made_g = Counter[UUID](), Counter[UUID]()
    gone_g = Counter[str]()
    for line in act:
        source, target = thing_of(line.frm), thing_of(line.to)
        if source is not None:
            taken_g[source] += line.mass_g
        if target is None:
            gone_g[line.to.kind] += line.mass_g
        else:
            made_g[target] += line.mass_g
    first = act[0]
    return {
        **_common(first, "TransformationEvent", zone),
        "inputQuantityList": _quantities(taken_g),
        "outputQuantityList": _quantities(made_g),
        "bizStep": _step(first.reason),
        "bizLocation": {"id": urn(first.maker_id)},
        **{f"{OWN}:{kind}_g": mass_g for kind, mass_g in sorted(gone_g.items())},
        **_undoing(first),
    }


def _object(line: Line, zone: ZoneInfo) -> Event:
    """Return what came, was seen, or is no more."""
    source, target = thing_of(line.frm), thing_of(line.to)
    thing = target or source or line.to.lot_id
    action, disposition = ("OBSERVE", "in_progress") if source else ("ADD", None)
    if target is None:
        action, disposition = _GONE[line.to.kind]
    event = _common(line, "ObjectEvent", zone) | {
        "action": action,
        "quantityList": _quantities({thing: line.mass_g}),
        "bizStep": _step(line.reason),
    }
    if disposition:
        event["disposition"] = disposition
    if line.found_by:
        event[f"{OWN}:mass_found_by"] = line.found_by
    return event | _where(line) | _undoing(line)


def _where(line: Line) -> Event:
    """Return where it was seen: at the place as it was collected, else at the maker's."""
    if line.frm.kind != "container" and line.to.kind not in {"container", "returned"}:
        return {"bizLocation": {"id": urn(line.maker_id)}}
    return {"readPoint": {"id": urn(line.place_id)}} if line.place_id else {}


def _loading(line: Line, zone: ZoneInfo) -> Iterator[Event]:
    """Yield that a lot was put into a vehicle, or taken out of it."""
    for position, action, step in ((line.frm, "DELETE", "unloading"), (line.to, "ADD", "loading")):
        if position.kind == "vehicle" and line.in_van:
            yield {
                **_common(line, "AggregationEvent", zone),
                "eventID": urn(uuid5(line.id, step)),
                "action": action,
                "parentID": urn(position.holder_id),
                "childQuantityList": _quantities({line.to.lot_id: line.mass_g}),
                "bizStep": step,
            }


def _common(line: Line, kind: str, zone: ZoneInfo) -> Event:
    at = line.at.astimezone(zone)
    return {
        "type": kind,
        "eventID": urn(line.id),
        "eventTime": at.isoformat(timespec="milliseconds"),
        "eventTimeZoneOffset": f"{at:%z}"[:3] + ":" + f"{at:%z}"[3:5],
        "recordTime": line.recorded_at.astimezone(zone).isoformat(timespec="milliseconds"),
    }


def _undoing(line: Line) -> Event:
    return {f"{OWN}:reverses": urn(line.reverses_id)} if line.reverses_id else {}


def _step(reason: str) -> str:
    return _STEPS.get(reason, f"{OWN}:{reason}")


def _quantities(masses_g: Mapping[UUID, int]) -> list[Event]:
    return [
        {"epcClass": urn(thing), "quantity": mass_g / G_PER_KG, "uom": "KGM"}
        for thing, mass_g in masses_g.items()
    ]
