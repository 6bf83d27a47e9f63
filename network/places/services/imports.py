"""Importing a spreadsheet of places: first a preview, then all of it or nothing."""

from collections.abc import Sequence
from datetime import UTC, datetime, time
from math import cos, radians
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils import timezone

from network.errors import Conflict, FieldError, InvalidInput, MillraceError, WrongState
from network.ids import new_id
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community, District, Organisation
from network.people.queries import community_of
from network.people.services import add_district
from network.places.core.coordinates import LATITUDE_MAX, LONGITUDE_MAX, Box
from network.places.core.inputs import NewOrganisation, PlaceInput
from network.places.core.spreadsheet import (
    KnownPlace,
    PlaceRow,
    place_row_from_data,
    preview_places,
    preview_to_data,
)
from network.places.core.spreadsheet_columns import folded
from network.places.models import Place, PlaceImport
from network.places.queries import import_seen_by, places_seen_by
from network.places.services.places import register_place
from network.places.spreadsheet_files import read_cells

# A place further from the middle of its community is a slip of the pen (100 km, our choice).
COMMUNITY_DEGREES = 0.9
FILE_NAME_LENGTH_MAX = 160
# A maker's workshop belongs to a maker; every other kind of place has its kind of organisation.
_ORGANISATION_KINDS = {Place.Kind.WORKSHOP.value: Organisation.Kind.MAKER.value}


@transaction.atomic
def preview_import(
    actor: Actor,
    *,
    file_name: str,
    content: bytes,
    import_id: UUID | None = None,
    at: datetime | None = None,
) -> PlaceImport:
    """Read a spreadsheet of places, CSV or XLSX, and keep what it would add; adds no place.

    Raises NotAllowed, InvalidInput naming `file` for one that cannot be read at all; what is
    wrong in its rows is kept with the preview.
    """
    actor.require(ORGANISER)
    community = community_of(actor)
    districts = District.objects.filter(community=community)
    preview = preview_places(
        read_cells(content),
        box=_box_of(community),
        districts=list(districts.values_list("name", flat=True)),
        known=_known_places(actor),
    )
    return PlaceImport.objects.create(
        id=import_id or new_id(),
        community=community,
        file_name=file_name[-FILE_NAME_LENGTH_MAX:],
        preview=preview_to_data(preview),
        status=PlaceImport.Status.PREVIEW,
        created_at=at or timezone.now(),
        created_by_id=actor.user_id,
    )


@transaction.atomic
def save_import(actor: Actor, *, import_id: UUID, at: datetime | None = None) -> PlaceImport:
    """Save every place of a preview, admitted, or none of them; once only.

    Organisations and districts that are not there yet are added. Raises NotAllowed, NotFound,
    WrongState while errors stand or when it was saved before, Conflict naming the rows that have
    become places meanwhile.
    """
    actor.require(ORGANISER)
    PlaceImport.objects.select_for_update().filter(id=import_id).first()
    found = import_seen_by(actor, import_id)
    if found.status == PlaceImport.Status.SAVED:
        raise WrongState("This import was saved before.")
    if found.preview["errors"]:
        raise WrongState("Some rows have errors. Mend them in the file, and send it again.")
    rows = [place_row_from_data(row) for row in found.preview["rows"]]
    _save_rows(actor, rows, at=at or timezone.now())
    found.status = PlaceImport.Status.SAVED
    found.save(update_fields=["status"])
    return found


def _box_of(community: Community) -> Box:
    """The part of the map that a community is in; east to west it is as wide in metres."""
    wide = min(COMMUNITY_DEGREES / max(cos(radians(community.latitude)), 0.01), LONGITUDE_MAX / 2)
    return Box(
        south=max(community.latitude - COMMUNITY_DEGREES, -LATITUDE_MAX),
        north=min(community.latitude + COMMUNITY_DEGREES, LATITUDE_MAX),
        west=_wrapped(community.longitude - wide),
        east=_wrapped(community.longitude + wide),
    )


def _wrapped(longitude: float) -> float:
    whole_turn = 2 * LONGITUDE_MAX
    return (longitude + LONGITUDE_MAX) % whole_turn - LONGITUDE_MAX


def _known_places(actor: Actor) -> list[KnownPlace]:
    return [
        KnownPlace(
            name=place.name,
            address=place.address,
            longitude=place.longitude,
            latitude=place.latitude,
        )
        for place in places_seen_by(actor).select_related(None)
    ]


def _save_rows(actor: Actor, rows: Sequence[PlaceRow], *, at: datetime) -> None:
    districts = _districts(actor, rows)
    organisations = {
        folded(name): organisation_id
        for organisation_id, name in Organisation.objects.filter(
            community_id=actor.community_id
        ).values_list("id", "name")
    }
    clock = ZoneInfo(community_of(actor).timezone)
    faults: list[FieldError] = []
    for row in rows:
        holder = organisations.get(folded(row.organisation))
        try:
            place = register_place(
                actor,
                place=_place_input(row, districts.get(folded(row.district))),
                organisation=holder or _new_organisation(row),
                at=_joined_at(row, clock, at),
            )
        except MillraceError as refusal:
            faults += _row_faults(row, refusal)
        else:
            organisations[folded(row.organisation)] = place.organisation_id
    if faults:
        raise Conflict("Some rows cannot be saved now, so none was.", fields=tuple(faults))


def _districts(actor: Actor, rows: Sequence[PlaceRow]) -> dict[str, UUID]:
    """Return the districts by name; a community that has none yet gets those of the file."""
    here = District.objects.filter(community_id=actor.community_id)
    found = {folded(name): district_id for district_id, name in here.values_list("id", "name")}
    for row in rows:
        if row.district and folded(row.district) not in found:
            found[folded(row.district)] = add_district(actor, name=row.district).id
    return found


def _place_input(row: PlaceRow, district_id: UUID | None) -> PlaceInput:
    return PlaceInput(
        name=row.name,
        kind=row.kind,
        address=row.address,
        longitude=row.longitude,
        latitude=row.latitude,
        district_id=district_id,
        access_notes=row.access_notes,
        contact_phone=row.contact_phone,
    )


def _new_organisation(row: PlaceRow) -> NewOrganisation:
    return NewOrganisation(name=row.organisation, kind=_ORGANISATION_KINDS.get(row.kind, row.kind))


def _joined_at(row: PlaceRow, clock: ZoneInfo, at: datetime) -> datetime:
    """When the place joined: the day in its row, unless that is still to come."""
    if row.starts_on is None:
        return at
    return min(datetime.combine(row.starts_on, time.min, tzinfo=clock).astimezone(UTC), at)


def _row_faults(row: PlaceRow, refusal: MillraceError) -> list[FieldError]:
    path = f"rows[{row.row_number}]"
    if isinstance(refusal, InvalidInput) and refusal.fields:
        return [
            FieldError(field=f"{path}.{fault.field}", detail=fault.detail, mend=fault.mend)
            for fault in refusal.fields
        ]
    mend = "Take the row out of the file, or change it, and send the file again."
    return [FieldError(field=path, detail=refusal.detail, mend=mend)]
