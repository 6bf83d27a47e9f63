"""Agreeing that a place sets aside a stream, moving to newer rules, and ending it."""

from datetime import date, datetime
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from network.errors import Conflict, FieldError, InvalidInput, NotAllowed, WrongState
from network.geo import Point
from network.ids import new_id
from network.materials.core.rules import AcceptanceRules
from network.materials.models import Item, Stream
from network.materials.queries import (
    item_by_slug,
    latest_rules,
    rule_version_of,
    rules_of,
    stream_in,
)
from network.people.core.actor import CONTACT, MAKER, ORGANISER, Actor
from network.people.models import Community
from network.people.services.trail import Act, note_act
from network.places.core.calendar import ONE_DAY
from network.places.core.inputs import AgreementInput
from network.places.models import Agreement, Place
from network.places.queries import agreement_seen_by, local_day, place_seen_by, workshops_of
from network.places.queries.offers import distance_to_nearest_m
from network.places.services.containers import place_containers
from network.units import M_PER_KM


@transaction.atomic
def agree(
    actor: Actor,
    *,
    place_id: UUID,
    agreement: AgreementInput,
    agreement_id: UUID | None = None,
    at: datetime | None = None,
) -> Agreement:
    """Agree that a place sets aside a stream under its latest rules, in tagged containers.

    It runs once the place is admitted. Raises NotFound, NotAllowed, InvalidInput naming the
    field, Conflict while there is one on that stream.
    """
    place = place_seen_by(actor, place_id)
    actor.require(CONTACT, ORGANISER, organisation_id=place.organisation_id)
    if place.status not in {Place.Status.ADMITTED, Place.Status.ASKED}:
        raise WrongState("This place is not part of the community, so it can agree nothing.")
    return start_agreement(
        actor, place, agreement, agreement_id=agreement_id, at=at or timezone.now()
    )


@transaction.atomic
def end_agreement(
    actor: Actor,
    *,
    agreement_id: UUID,
    ends_on: date,
    reason: str = "",
    at: datetime | None = None,
) -> Agreement:
    """End an agreement with a day, which is its last; on one in the future it runs until then.

    The place's contact, the maker or an organiser may. Raises NotFound, NotAllowed, WrongState,
    InvalidInput for a day before its first.
    """
    agreement = locked_agreement(actor, agreement_id)
    _require_party(actor, agreement)
    if agreement.status == Agreement.Status.ENDED:
        raise WrongState("This agreement has ended already.")
    if ends_on < agreement.starts_on - ONE_DAY:
        raise InvalidInput.of(
            "ends_on",
            f"It starts on {agreement.starts_on}, after that day.",
            "Choose that day or a later one, or the day before it if it is not to start at all.",
        )
    agreement.ends_on = ends_on
    agreement.end_reason = reason.strip()
    if ends_on < local_day(agreement.community, at or timezone.now()):
        agreement.status = Agreement.Status.ENDED
    agreement.save(update_fields=["ends_on", "end_reason", "status"])
    note_act(actor, Act.AGREEMENT_ENDED, agreement)
    return agreement


@transaction.atomic
def move_to_rule_version(actor: Actor, *, agreement_id: UUID, rule_version_id: UUID) -> Agreement:
    """Move an agreement to a newer version of the stream's rules, as the place's contact.

    Raises NotFound, NotAllowed, WrongState, InvalidInput when the version is of another stream,
    is older, or does not take the agreement's main item.
    """
    agreement = locked_agreement(actor, agreement_id)
    actor.require(CONTACT, organisation_id=agreement.place.organisation_id)
    if agreement.status == Agreement.Status.ENDED:
        raise WrongState("This agreement has ended.")
    version = rule_version_of(agreement.stream, rule_version_id)
    if version.number < agreement.rule_version.number:
        raise InvalidInput.of(
            "rule_version_id",
            "These rules are older than those agreed.",
            "Choose a newer version.",
        )
    _check_item(agreement.main_item, rules_of(version), field="rule_version_id")
    agreement.rule_version = version
    agreement.save(update_fields=["rule_version"])
    return agreement


def close_lapsed_agreements(*, at: datetime | None = None) -> int:
    """Mark as ended every agreement whose last day is past by its community's clock; no actor.

    Returns how many.
    """
    now = at or timezone.now()
    lapsing = Agreement.objects.exclude(status=Agreement.Status.ENDED).exclude(ends_on=None)
    communities = Community.objects.filter(id__in=lapsing.values("community_id"))
    return sum(
        lapsing.filter(community=community, ends_on__lt=local_day(community, now)).update(
            status=Agreement.Status.ENDED
        )
        for community in communities
    )


def start_agreement(
    actor: Actor,
    place: Place,
    agreement: AgreementInput,
    *,
    at: datetime,
    agreement_id: UUID | None = None,
) -> Agreement:
    """Make an agreement of a place, in a transaction; for services that have checked the actor."""
    stream = stream_in(actor.community_id, agreement.stream_id)
    _check_offered(place, stream)
    version = latest_rules(stream)
    item = item_by_slug(agreement.main_item)
    _check_under_rules(item, agreement, rules_of(version))
    _close_lapsed(place, stream, local_day(place.community, at))
    is_admitted = place.status == Place.Status.ADMITTED
    row = Agreement(
        id=agreement_id or new_id(),
        community_id=place.community_id,
        place=place,
        stream=stream,
        rule_version=version,
        main_item=item,
        status=Agreement.Status.RUNNING if is_admitted else Agreement.Status.ASKED,
        starts_on=agreement.starts_on,
        created_at=at,
        created_by_id=actor.user_id,
    )
    _save_new(row)
    place_containers(row, agreement.containers, at=at)
    return row


def locked_agreement(actor: Actor, agreement_id: UUID) -> Agreement:
    """Return an agreement that an actor may see, its row locked until the transaction ends."""
    agreement = agreement_seen_by(actor, agreement_id)
    Agreement.objects.select_for_update().get(id=agreement.id)
    return agreement_seen_by(actor, agreement_id)


def _require_party(actor: Actor, agreement: Agreement) -> None:
    is_contact = agreement.place.organisation_id in actor.held_for(CONTACT)
    is_maker = agreement.stream.maker_id in actor.held_for(MAKER)
    if not (is_contact or is_maker or actor.is_organiser):
        raise NotAllowed("Only the two sides of an agreement, or an organiser, may do that.")


def _check_offered(place: Place, stream: Stream) -> None:
    workshops = workshops_of(place.community_id, maker_ids=[stream.maker_id])
    if not stream.open_to_places or not workshops:
        raise InvalidInput.of(
            "stream_id", "This stream takes no new places now.", "Choose another stream."
        )
    here = Point(place.longitude, place.latitude)
    away_m = distance_to_nearest_m(here, workshops[stream.maker_id])
    if away_m > stream.reach_m:
        raise InvalidInput.of(
            "stream_id",
            f"{stream.maker} comes as far as {stream.reach_m / M_PER_KM:g} km, and this place is "
            f"{away_m / M_PER_KM:.1f} km away.",
            "Choose a stream of a maker nearer by, or check the place's point on the map.",
        )


def _check_under_rules(item: Item, agreement: AgreementInput, rules: AcceptanceRules) -> None:
    _check_item(item, rules, field="main_item")
    faults = [
        FieldError(
            field=f"containers[{index}].kind",
            detail=f"This stream is not collected in a {row.kind}.",
            mend=f"Choose one of: {', '.join(kind.value for kind in rules.containers or ())}.",
        )
        for index, row in enumerate(agreement.containers)
        if rules.containers is not None and row.kind not in {k.value for k in rules.containers}
    ]
    if faults:
        raise InvalidInput("The stream's rules do not allow that.", fields=tuple(faults))


def _check_item(item: Item, rules: AcceptanceRules, *, field: str) -> None:
    if rules.items is not None and item.slug not in rules.items:
        raise InvalidInput.of(
            field,
            f"These rules do not take this item: {item.name}.",
            f"The items they take are: {', '.join(rules.items)}.",
        )


def _close_lapsed(place: Place, stream: Stream, today: date) -> None:
    """Mark as ended an earlier agreement whose last day is past, so that a new one may follow."""
    lapsed = place.agreements.filter(stream=stream, ends_on__lt=today)
    lapsed.exclude(status=Agreement.Status.ENDED).update(status=Agreement.Status.ENDED)


def _save_new(agreement: Agreement) -> None:
    try:
        with transaction.atomic():
            agreement.save(force_insert=True)
    except IntegrityError as clash:
        raise Conflict(
            "This place sets aside this stream already. End that agreement before making another."
        ) from clash
