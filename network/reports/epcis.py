"""The ledger's lines of a period as an EPCIS 2.0 document, however many there are."""

import json
from collections.abc import Iterator
from datetime import datetime
from itertools import islice
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import Q, QuerySet

from network.lots.core.ledger import Position
from network.lots.models import HistoryImport, Lot, Movement
from network.lots.queries.seen import movements_seen_by
from network.people.core.actor import Actor
from network.people.models import Community, Organisation
from network.places.models import Place
from network.reports.core.epcis import (
    CONTEXT,
    OWN,
    SCHEMA_VERSION,
    Event,
    Line,
    events_of,
    urn,
)
from network.reports.periods import within
from network.reports.queries import Selection

# As many lines as are held in memory at once.
_AT_ONCE = 2_000
_LOCATION = "urn:epcglobal:epcis:vtype:Location"
_CLASS = "urn:epcglobal:epcis:vtype:EPCClass"
_NAME = "cbvmda:descriptionShort"
_FIELDS = (
    *("id", "at", "recorded_at", "reason", "mass_g", "reverses_id", "weighing__method"),
    *("from_account__kind", "from_account__holder_id", "from_account__lot_id"),
    *("to_account__kind", "to_account__holder_id", "to_account__lot_id"),
    *("from_account__lot__maker_id", "from_account__lot__place_id"),
)


def epcis_document(
    actor: Actor, *, community: Community, period: Selection, made_at: datetime
) -> Iterator[str]:
    """Yield the events of a period as one EPCIS 2.0 document in JSON-LD, a piece at a time.

    Only the days of `period` count. The memory it takes grows with the names of lots and places,
    not with the lines.
    """
    zone = ZoneInfo(community.timezone)
    seen = movements_seen_by(actor)
    lines = within(seen, "counts_at", period=period, zone=zone)
    head = {
        "@context": [CONTEXT, {OWN: f"{settings.PUBLIC_ORIGIN}/terms/"}],
        "type": "EPCISDocument",
        "schemaVersion": SCHEMA_VERSION,
        "creationDate": made_at.astimezone(zone).isoformat(timespec="milliseconds"),
        "epcisHeader": {"epcisMasterData": {"vocabularyList": _names(lines)}},
    }
    yield json.dumps(head, ensure_ascii=False)[:-1] + ', "epcisBody": {"eventList": ['
    separator = ""
    # In a transaction the database hands lines out as they are read, and keeps none for later.
    with transaction.atomic():
        events = events_of(_read(lines, community), zone)
        while piece := list(islice(events, _AT_ONCE)):
            yield separator + ",\n".join(_text(event) for event in piece)
            separator = ",\n"
    yield "]}}"


def _text(event: Event) -> str:
    return json.dumps(event, ensure_ascii=False)


def _read(lines: QuerySet[Movement], community: Community) -> Iterator[Line]:
    """Read lines in the order in which they were recorded, those of one act beside each other."""
    imports = frozenset(
        HistoryImport.objects.filter(community=community).values_list("id", flat=True)
    )
    order = ("recorded_at", "from_account__lot__maker_id", "id")
    for row in lines.order_by(*order).values(*_FIELDS).iterator(chunk_size=_AT_ONCE):
        yield _line(row, imports)


def _line(row: dict[str, Any], imports: frozenset[UUID]) -> Line:
    frm, to = (
        Position(
            kind=row[f"{side}_account__kind"],
            holder_id=row[f"{side}_account__holder_id"],
            lot_id=row[f"{side}_account__lot_id"],
        )
        for side in ("from", "to")
    )
    return Line(
        id=row["id"],
        at=row["at"],
        recorded_at=row["recorded_at"],
        reason=row["reason"],
        mass_g=row["mass_g"],
        frm=frm,
        to=to,
        maker_id=row["from_account__lot__maker_id"],
        place_id=row["from_account__lot__place_id"],
        found_by=row["weighing__method"],
        reverses_id=row["reverses_id"],
        in_van=imports.isdisjoint({frm.holder_id, to.holder_id}),
    )


def _names(lines: QuerySet[Movement]) -> list[dict[str, Any]]:
    """Return what the lots, places and makers of these lines are called; no person is named."""
    ids = (
        lines.order_by().values("from_account__lot_id"),
        lines.order_by().values("to_account__lot_id"),
    )
    lots = Lot.objects.filter(Q(id__in=ids[0]) | Q(id__in=ids[1])).order_by("id")
    places = Place.objects.filter(id__in=lots.order_by().values("place_id")).order_by("id")
    makers = Organisation.objects.filter(id__in=lots.order_by().values("maker_id")).order_by("id")
    sites = [*places.values_list("id", "name"), *makers.values_list("id", "name")]
    classes = [
        (lot_id, f"{stream}, {code}")
        for lot_id, stream, code in lots.values_list("id", "stream__name", "code").iterator()
    ]
    return [
        {"type": kind, "vocabularyElementList": [_named(*one) for one in named]}
        for kind, named in ((_LOCATION, sites), (_CLASS, classes))
        if named
    ]


def _named(thing: UUID, name: str) -> dict[str, Any]:
    return {"id": urn(thing), "attributes": [{"id": _NAME, "attribute": name}]}
