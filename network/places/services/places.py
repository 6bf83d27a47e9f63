"""Registering, changing, admitting and refusing places."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, time
from typing import TypedDict
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from network.errors import Conflict, InvalidInput, NotAllowed, WrongState
from network.events import Event, announce
from network.ids import new_id
from network.materials.queries import under
from network.people.core.actor import CONTACT, MAKER, ORGANISER, Actor
from network.people.models import Organisation
from network.people.queries import district_in, organisation_in
from network.people.services import add_organisation, found_organisation
from network.people.services.trail import Act, note_seen
from network.places.core.inputs import (
    AgreementInput,
    NewOrganisation,
    PlaceInput,
    SpanInput,
    WindowInput,
)
from network.places.core.precision import Precision
from network.places.models import AccessWindow, Agreement, CalendarSpan, Place
from network.places.queries import local_day, place_seen_by
from network.places.services.agreements import start_agreement


class PlaceChanges(TypedDict, total=False):
    """What of a place is to be changed; what is left out stays as it is."""

    name: str
    kind: str
    district_id: UUID | None
    address: str
    longitude: float
    latitude: float
    access_notes: str
    contact_phone: str
    public_precision: Precision
    observes_public_holidays: bool
    prefers_from: time | None
    prefers_until: time | None
    windows: Sequence[WindowInput]
    spans: Sequence[SpanInput]


@transaction.atomic
def register_place(
    actor: Actor,
    *,
    place: PlaceInput,
    organisation: UUID | NewOrganisation,
    agreement: AgreementInput | None = None,
    place_id: UUID | None = None,
    at: datetime | None = None,
) -> Place:
    """Register a place with its calendar and, if wanted, its first agreement and containers.

    An organiser's, and that of an organisation that is known here, is admitted at once; any other
    is asked for. Raises NotAllowed, InvalidInput naming the field, Conflict for a place that is
    there already.
    """
    if actor.user_id is None:
        raise NotAllowed("Sign in first.")
    at = at or timezone.now()
    holder = _organisation(actor, organisation, at)
    _check_kind(actor, place, holder)
    if place.district_id:
        district_in(actor.community_id, place.district_id)
    is_known = actor.is_organiser or (isinstance(organisation, UUID) and _is_known(holder))
    row = Place(
        id=place_id or new_id(),
        community_id=actor.community_id,
        organisation=holder,
        status=Place.Status.ADMITTED if is_known else Place.Status.ASKED,
        created_at=at,
        admitted_at=at if is_known else None,
        admitted_by_id=actor.user_id if actor.is_organiser else None,
        **_columns(place),
    )
    _save(row, new=True)
    _set_windows(row, place.windows)
    _set_spans(row, place.spans)
    if agreement is not None:
        try:
            start_agreement(actor, row, agreement, at=at)
        except InvalidInput as refusal:
            raise under("agreement", refusal) from None
    return row


@transaction.atomic
def change_place(actor: Actor, *, place_id: UUID, changes: PlaceChanges) -> Place:
    """Change what is said of a place; its windows and spans are replaced whole.

    Raises NotFound, NotAllowed, InvalidInput naming the field, Conflict for a name and address
    that another place has.
    """
    place = locked_place(actor, place_id)
    actor.require(CONTACT, MAKER, ORGANISER, organisation_id=place.organisation_id)
    changed = replace(_as_input(place), **changes)
    if changed.kind != place.kind:
        _check_kind(actor, changed, place.organisation)
    if changed.district_id and changed.district_id != place.district_id:
        district_in(actor.community_id, changed.district_id)
    for column, value in _columns(changed).items():
        setattr(place, column, value)
    _save(place, new=False)
    if "windows" in changes:
        place.windows.all().delete()
        _set_windows(place, changed.windows)
    if "spans" in changes:
        place.spans.all().delete()
        _set_spans(place, changed.spans)
    return place


@transaction.atomic
def admit_place(actor: Actor, *, place_id: UUID, at: datetime | None = None) -> Place:
    """Admit a place that asked to join, or was refused before; its asked agreements run.

    Raises NotAllowed, NotFound, WrongState.
    """
    actor.require(ORGANISER)
    place = locked_place(actor, place_id)
    if place.status not in {Place.Status.ASKED, Place.Status.REFUSED}:
        raise WrongState("This place is not waiting to be admitted.")
    place.status = Place.Status.ADMITTED
    place.status_reason = ""
    place.admitted_at = at or timezone.now()
    place.admitted_by_id = actor.user_id
    place.save(update_fields=["status", "status_reason", "admitted_at", "admitted_by"])
    place.agreements.filter(status=Agreement.Status.ASKED).update(status=Agreement.Status.RUNNING)
    _announce(Event.PLACE_ADMITTED, place, place.admitted_at)
    return place


@transaction.atomic
def refuse_place(actor: Actor, *, place_id: UUID, reason: str, at: datetime | None = None) -> Place:
    """Refuse a place that asked to join, with the reason it is told; its agreements end.

    Raises NotAllowed, NotFound, WrongState, InvalidInput without a reason.
    """
    actor.require(ORGANISER)
    if not reason.strip():
        raise InvalidInput.of("reason", "It is empty.", "Write what the place should be told.")
    place = locked_place(actor, place_id)
    if place.status != Place.Status.ASKED:
        raise WrongState("This place is not waiting to be admitted.")
    place.status = Place.Status.REFUSED
    place.status_reason = reason.strip()
    place.save(update_fields=["status", "status_reason"])
    place.agreements.filter(status=Agreement.Status.ASKED).update(
        status=Agreement.Status.ENDED,
        ends_on=local_day(place.community, at or timezone.now()),
        end_reason=place.status_reason,
    )
    _announce(Event.PLACE_REFUSED, place, at or timezone.now())
    return place


def _announce(event: Event, place: Place, at: datetime) -> None:
    announce(event, community_id=place.community_id, subject_id=place.id, at=at)


def locked_place(actor: Actor, place_id: UUID) -> Place:
    """Return a place that an actor may see, its row locked until the end of the transaction."""
    place = place_seen_by(actor, place_id)
    Place.objects.select_for_update().get(id=place.id)
    return place_seen_by(actor, place_id)


def _organisation(actor: Actor, organisation: UUID | NewOrganisation, at: datetime) -> Organisation:
    if isinstance(organisation, UUID):
        holder = organisation_in(actor.community_id, organisation)
        actor.require(CONTACT, MAKER, ORGANISER, organisation_id=holder.id)
        return holder
    add = add_organisation if actor.is_organiser else found_organisation
    try:
        return add(actor, name=organisation.name, kind=organisation.kind, at=at)
    except InvalidInput as refusal:
        raise under("organisation", refusal) from None


def _is_known(organisation: Organisation) -> bool:
    """Whether an organiser has let it in: by inviting it, or by admitting one of its places.

    Else its contact, having asked for one place, could let in a second by itself.
    """
    statuses = set(organisation.places.values_list("status", flat=True))
    return not statuses or Place.Status.ADMITTED in statuses


def _check_kind(actor: Actor, place: PlaceInput, organisation: Organisation) -> None:
    is_maker = organisation.kind == Organisation.Kind.MAKER
    if place.kind == Place.Kind.WORKSHOP and not is_maker:
        raise InvalidInput.of(
            "kind", "Only a maker has a workshop.", "Choose the kind of place that it is."
        )
    if is_maker:
        actor.require(MAKER, ORGANISER, organisation_id=organisation.id)


def _columns(place: PlaceInput) -> dict[str, object]:
    return {
        "name": place.name.strip(),
        "kind": place.kind,
        "address": place.address.strip(),
        "longitude": place.longitude,
        "latitude": place.latitude,
        "district_id": place.district_id,
        "access_notes": place.access_notes,
        "contact_phone": place.contact_phone,
        "public_precision": place.public_precision or _usual_precision(place.kind),
        "observes_public_holidays": place.observes_public_holidays,
        "prefers_from": place.prefers_from,
        "prefers_until": place.prefers_until,
    }


def _usual_precision(kind: str) -> Precision:
    """A workshop wants to be found; any other place is shown only if it says so."""
    return Precision.EXACT if kind == Place.Kind.WORKSHOP else Precision.HIDDEN


def _as_input(place: Place) -> PlaceInput:
    return PlaceInput(
        name=place.name,
        kind=place.kind,
        address=place.address,
        longitude=place.longitude,
        latitude=place.latitude,
        district_id=place.district_id,
        access_notes=place.access_notes,
        contact_phone=place.contact_phone,
        public_precision=Precision(place.public_precision),
        observes_public_holidays=place.observes_public_holidays,
        prefers_from=place.prefers_from,
        prefers_until=place.prefers_until,
    )


def _save(place: Place, *, new: bool) -> None:
    """Save the place; of two who register or rename at once, the second is told of the first."""
    try:
        with transaction.atomic():
            place.save(force_insert=new)
    except IntegrityError as clash:
        raise Conflict(
            "There is a place of that name at that address. Choose another name, or ask the "
            "organiser to invite you to it."
        ) from clash


def _set_windows(place: Place, windows: Iterable[WindowInput]) -> None:
    AccessWindow.objects.bulk_create(
        AccessWindow(
            community_id=place.community_id,
            place=place,
            weekday=window.weekday,
            opens=window.opens,
            closes=window.closes,
        )
        for window in windows
    )


def _set_spans(place: Place, spans: Iterable[SpanInput]) -> None:
    CalendarSpan.objects.bulk_create(
        CalendarSpan(
            community_id=place.community_id,
            place=place,
            kind=span.kind,
            first_day=span.first_day,
            last_day=span.last_day,
            label=span.label,
        )
        for span in spans
    )


def note_contact_seen(actor: Actor, *, place_id: UUID) -> None:
    """Note that somebody who is not of a place saw its phone number or notes."""
    place = place_seen_by(actor, place_id)
    has_any = place.contact_phone or place.access_notes
    if has_any and place.organisation_id not in actor.held_for(CONTACT):
        note_seen(actor, Act.CONTACT_SEEN, place)
