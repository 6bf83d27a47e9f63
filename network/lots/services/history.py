"""Bringing in what was weighed before: read, mapped, saved whole, undone whole."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from operator import attrgetter
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput, WrongState
from network.ids import new_id
from network.lots.core.codes import lot_code
from network.lots.core.history import (
    DAY_FIRST,
    Columns,
    HistoryPreview,
    HistoryRow,
    Unknown,
    guessed_columns,
    guessed_decimal,
    read_history,
)
from network.lots.core.ledger import Position, Posting, mirror
from network.lots.ledger import lock_lots, position_of, post
from network.lots.models import Account, HistoryImport, Lot, Movement, Scale, Weighing
from network.lots.queries.history import (
    history_by_id,
    known_for,
    lines_of,
    remembered_columns,
)
from network.lots.services.common import refuse_reuse
from network.lots.services.measuring import Reading, measure, save_weighing
from network.materials.models import Stream
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Organisation
from network.people.queries import community_of, organisation_in
from network.places.core.spreadsheet import error_to_data
from network.places.core.spreadsheet_columns import folded
from network.places.models import Place
from network.places.spreadsheet_files import read_cells

WEIGHED, ESTIMATED = Weighing.Method.WEIGHED.value, Weighing.Method.ESTIMATED.value
SAVED_AS = (WEIGHED, ESTIMATED)
FILE_NAME_LENGTH_MAX = 160
# The time of day is not known: noon by the community's clock.
NOON = time(12)


@dataclass(frozen=True, kw_only=True)
class ColumnsWish:
    """What an organiser says the columns of a file mean; columns count from 0.

    `saved_as` is weighed, with the scale, or estimated. `places` and `streams` say what names in
    the file mean.
    """

    maker_id: UUID
    header: int
    day: int
    place: int
    mass: int
    stream: int | None
    unit: str
    decimal: str
    day_order: str
    saved_as: str
    scale_id: UUID | None
    default_stream_id: UUID | None
    places: Mapping[str, UUID]
    streams: Mapping[str, UUID]


@transaction.atomic
def begin_history(
    actor: Actor, *, import_id: UUID, file_name: str, content: bytes
) -> HistoryImport:
    """Read a spreadsheet of earlier weights and guess its columns, as they were mapped last.

    Raises NotAllowed, InvalidInput naming `file` for one that cannot be read at all.
    """
    actor.require(ORGANISER)
    refuse_reuse(HistoryImport.objects.filter(id=import_id))
    cells = read_cells(content)
    return HistoryImport.objects.create(
        id=import_id,
        community_id=actor.community_id,
        file_name=file_name[-FILE_NAME_LENGTH_MAX:],
        cells=cells,
        columns=_guess(cells, remembered_columns(actor)),
        status=HistoryImport.Status.PREVIEW,
        created_at=timezone.now(),
        created_by_id=actor.user_id,
    )


@transaction.atomic
def map_history(actor: Actor, *, import_id: UUID, wish: ColumnsWish) -> HistoryImport:
    """Say what the columns mean, and keep what the file would then add; adds nothing.

    Raises NotFound, InvalidInput naming the part that cannot be, WrongState once it was saved.
    """
    found = _held(actor, import_id)
    if found.status != HistoryImport.Status.PREVIEW:
        raise WrongState("This file was saved before: undo it first, then send it again.")
    maker = _maker(actor, wish.maker_id)
    scale = _scale(maker, wish)
    _check_names(actor, maker, wish)
    community = community_of(actor)
    known = known_for(community, maker_id=maker.id)
    preview = read_history(found.cells, _columns(wish, scale), known)
    found.maker = maker
    found.columns = _columns_data(found.cells, wish)
    found.preview = _preview_data(preview)
    found.save(update_fields=["maker", "columns", "preview"])
    return found


@transaction.atomic
def save_history(actor: Actor, *, import_id: UUID) -> HistoryImport:
    """Write every row of a mapped file to the ledger, or none; once only.

    Each is a lot that was collected, brought to the store and worked before the ledger began; in a
    closed period it counts late. Raises WrongState while errors stand or after it was saved.
    """
    found = _held(actor, import_id)
    if found.status != HistoryImport.Status.PREVIEW or not found.preview:
        raise WrongState("This file is saved already, or its columns are not mapped yet.")
    if found.preview["errors"]:
        raise WrongState("Some rows have errors. Mend them, or map their names, first.")
    maker, rows = _maker_of(found), [_row(row) for row in found.preview["rows"]]
    known = known_for(found.community, maker_id=maker.id)
    if any((r.day, r.place_id, r.stream_id, r.mass_g) in known.imported for r in rows):
        raise WrongState("Some rows were imported meanwhile. Map the columns again to see which.")
    clock = ZoneInfo(found.community.timezone)
    lines = [
        line
        for row in sorted(rows, key=attrgetter("day"))
        for line in _lines(actor, found, row, datetime.combine(row.day, NOON, tzinfo=clock))
    ]
    post(actor, lines, at=timezone.now())
    found.status = HistoryImport.Status.SAVED
    found.save(update_fields=["status"])
    return found


@transaction.atomic
def undo_history(actor: Actor, *, import_id: UUID, note: str) -> HistoryImport:
    """Undo a saved file whole, by reversing lines that count now; its lines stay in the ledger.

    Raises InvalidInput without a note that says why, WrongState unless it is saved.
    """
    found = _held(actor, import_id)
    if found.status != HistoryImport.Status.SAVED:
        raise WrongState("Only a file that is saved can be undone, and only once.")
    if not note.strip():
        raise InvalidInput.of("note", "A correction says why.", "Write what was wrong.")
    lines = lines_of(found)
    lock_lots(actor, {line.from_account.lot_id for line in lines})
    post(actor, [_undoing(line, note) for line in lines], at=timezone.now())
    found.status = HistoryImport.Status.UNDONE
    found.save(update_fields=["status"])
    return found


def _held(actor: Actor, import_id: UUID) -> HistoryImport:
    """Return an import, held by this transaction until it ends; raises NotFound."""
    actor.require(ORGANISER)
    HistoryImport.objects.select_for_update().filter(id=import_id).first()
    return history_by_id(actor, import_id)


def _maker(actor: Actor, maker_id: UUID) -> Organisation:
    maker = organisation_in(actor.community_id, maker_id, field="maker_id")
    if maker.kind != Organisation.Kind.MAKER:
        raise InvalidInput.of("maker_id", "This is no maker.", "Choose the maker who weighed.")
    return maker


def _maker_of(found: HistoryImport) -> Organisation:
    if found.maker is None:
        raise WrongState("The columns of this file are not mapped yet.")
    return found.maker


def _check_names(actor: Actor, maker: Organisation, wish: ColumnsWish) -> None:
    """Raise InvalidInput for a place that is not of the community, or a stream not the maker's."""
    places, streams = set(wish.places.values()), set(wish.streams.values())
    if wish.default_stream_id:
        streams.add(wish.default_stream_id)
    here = Place.objects.filter(community_id=actor.community_id, id__in=places)
    if here.count() != len(places):
        raise InvalidInput.of("places", "One of these is no place here.", "Choose it again.")
    if Stream.objects.filter(maker=maker, id__in=streams).count() != len(streams):
        raise InvalidInput.of("streams", "One of these is no stream of the maker.", "Choose again.")


def _scale(maker: Organisation, wish: ColumnsWish) -> Scale | None:
    """Return the scale they were weighed on; none where they count as estimated."""
    if wish.saved_as == ESTIMATED:
        return None
    scale = Scale.objects.filter(maker=maker, id=wish.scale_id).first() if wish.scale_id else None
    if scale is None:
        mend = "Choose one of the maker's scales, or save them as estimated."
        raise InvalidInput.of("scale_id", "What was weighed names its scale.", mend)
    return scale


def _columns(wish: ColumnsWish, scale: Scale | None) -> Columns:
    try:
        return Columns(
            header=wish.header,
            day=wish.day,
            place=wish.place,
            mass=wish.mass,
            stream=wish.stream,
            unit=wish.unit,
            decimal=wish.decimal,
            day_order=wish.day_order,
            places={folded(text): place_id for text, place_id in wish.places.items()},
            streams={folded(text): stream_id for text, stream_id in wish.streams.items()},
            default_stream=wish.default_stream_id,
            load_g_max=scale.max_g if scale else None,
        )
    except ValueError as wrong:
        mend = "Choose another column for each of them."
        raise InvalidInput.of("mass", "A column is chosen twice.", mend) from wrong


def _guess(cells: Sequence[Sequence[str]], last: Mapping[str, Any]) -> dict[str, Any]:
    """Return the columns by what they were called last time, else by their usual names."""
    header, columns = guessed_columns(cells)
    names = {folded(cell): index for index, cell in enumerate(cells[header])}
    before = {
        meaning: names[name]
        for meaning, name in dict(last.get("names", {})).items()
        if name in names
    }
    kept = {name: last[name] for name in _KEPT if name in last}
    found = {**columns, **before}
    usual = {"unit": "kg", "day_order": DAY_FIRST, "saved_as": ESTIMATED}
    if "mass" in found:
        usual["decimal"] = guessed_decimal(cells, header=header, mass=found["mass"])
    return {**usual, **kept, **found, "header": header}


_KEPT = (
    *("maker_id", "unit", "decimal", "day_order", "saved_as", "scale_id", "default_stream_id"),
    *("places", "streams"),
)


def _columns_data(cells: Sequence[Sequence[str]], wish: ColumnsWish) -> dict[str, Any]:
    """Return a wish as plain data, with the names of its columns to know them by again."""
    data: dict[str, Any] = {
        name: str(value) if isinstance(value, UUID) else value for name, value in vars(wish).items()
    }
    for name in ("places", "streams"):
        data[name] = {text: str(row_id) for text, row_id in data[name].items()}
    header = cells[wish.header] if wish.header < len(cells) else []
    columns = {"day": wish.day, "place": wish.place, "mass": wish.mass, "stream": wish.stream}
    data["names"] = {
        meaning: folded(header[column])
        for meaning, column in columns.items()
        if column is not None and column < len(header)
    }
    return data


def _preview_data(preview: HistoryPreview) -> dict[str, Any]:
    return {
        "rows": [
            {
                "row_number": row.row_number,
                "day": row.day.isoformat(),
                "place_id": str(row.place_id),
                "stream_id": str(row.stream_id),
                "mass_g": row.mass_g,
            }
            for row in preview.rows
        ],
        "errors": [error_to_data(error) for error in preview.errors],
        "warnings": [error_to_data(warning) for warning in preview.warnings],
        "unknown_places": [_unknown(one) for one in preview.unknown_places],
        "unknown_streams": [_unknown(one) for one in preview.unknown_streams],
    }


def _unknown(one: Unknown) -> dict[str, object]:
    return {"text": one.text, "near_id": str(one.near) if one.near else None}


def _row(data: Mapping[str, Any]) -> HistoryRow:
    return HistoryRow(
        row_number=data["row_number"],
        day=date.fromisoformat(data["day"]),
        place_id=UUID(data["place_id"]),
        stream_id=UUID(data["stream_id"]),
        mass_g=data["mass_g"],
    )


def _lines(actor: Actor, found: HistoryImport, row: HistoryRow, noon: datetime) -> list[Posting]:
    """Make the lot of a row, and return the three lines that are written of it."""
    maker, at = _maker_of(found), noon.astimezone(UTC)
    lot_id = new_id()
    lot = Lot.objects.create(
        id=lot_id,
        community_id=actor.community_id,
        code=lot_code(lot_id),
        maker=maker,
        stream_id=row.stream_id,
        place_id=row.place_id,
        made_at=at,
    )
    saved_as, scale_id = found.columns["saved_as"], found.columns["scale_id"]
    reading = Reading(
        method=saved_as,
        gross_g=row.mass_g,
        tare_g=0,
        scale_id=UUID(scale_id) if saved_as == WEIGHED else None,
    )
    measured = measure(actor, reading=reading, maker_id=maker.id)
    weighing = save_weighing(
        actor, lot=lot, stage=Weighing.Stage.WORKSHOP, measured=measured, at=at
    )
    note = f"Imported history: {found.file_name}, row {row.row_number}"
    line = Posting(
        frm=Position(kind=Account.Kind.CONTAINER, holder_id=row.place_id, lot_id=lot.id),
        to=Position(kind=Account.Kind.VEHICLE, holder_id=found.id, lot_id=lot.id),
        mass_g=row.mass_g,
        reason=Movement.Reason.COLLECTED,
        weighing_id=weighing.id,
        note=note,
        at=at,
    )
    store = Position(kind=Account.Kind.COLLECTED, holder_id=maker.id, lot_id=lot.id)
    gone = Position(kind=Account.Kind.EARLIER, holder_id=maker.id, lot_id=lot.id)
    return [
        line,
        replace(line, frm=line.to, to=store, reason=Movement.Reason.BROUGHT_HOME),
        replace(line, frm=store, to=gone, reason=Movement.Reason.WORKED_EARLIER),
    ]


def _undoing(line: Movement, note: str) -> Posting:
    posting = Posting(
        frm=position_of(line.from_account),
        to=position_of(line.to_account),
        mass_g=line.mass_g,
        reason=line.reason,
        weighing_id=line.weighing_id,
    )
    return mirror(
        posting,
        reason=Movement.Reason.REVERSED,
        reverses_id=line.id,
        note=note,
        id=new_id(),
    )
