"""What organisers state for their reports."""

from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput, NotFound
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.places.queries import places_seen_by
from network.reports.core.scenario import RANGES
from network.reports.models import OthersPlace, StatedFactor
from network.reports.queries import YEARS
from network.rows import one_of


@transaction.atomic
def state_factor(
    actor: Actor, *, factor_id: UUID, code: str, value: Decimal, source: str, year: int, region: str
) -> StatedFactor:
    """State a factor of the scenario, or confirm it by stating it as it is, with its source.

    It counts from now on; earlier versions stay. Raises NotAllowed, NotFound for no such factor,
    InvalidInput for a value that cannot be, or without source, year and region.
    """
    actor.require(ORGANISER)
    if code not in RANGES:
        raise NotFound("There is no such factor.")
    low, high = RANGES[code]
    if not low <= value <= high:
        detail = f"This is from {low} to {high}."
        raise InvalidInput.of("value", detail, "Look at its unit, and at the comma.")
    for field, text in (("source", source), ("region", region)):
        if not text.strip():
            raise InvalidInput.of(field, "A factor says where it is from.", "Write it down.")
    if year not in YEARS:
        mend = f"Send a year from {YEARS.start} to {YEARS.stop - 1}."
        raise InvalidInput.of("year", "A factor is of some year.", mend)
    # One at a time, so that versions count up.
    Community.objects.select_for_update(no_key=True).get(id=actor.community_id)
    former = StatedFactor.objects.filter(community_id=actor.community_id, code=code)
    return StatedFactor.objects.create(
        id=factor_id,
        community_id=actor.community_id,
        code=code,
        version=former.count() + 1,
        value=value,
        source=source.strip(),
        year=year,
        region=region.strip(),
        at=timezone.now(),
        by_id=actor.user_id,
    )


@transaction.atomic
def mark_others_place(actor: Actor, *, place_id: UUID, other: str | None) -> OthersPlace | None:
    """State which community counts before us what a place brings; None that nobody does.

    Raises NotAllowed, NotFound for the place, InvalidInput for a community that cannot be.
    """
    actor.require(ORGANISER)
    place = one_of(places_seen_by(actor), place_id, "There is no such place here.")
    if other is None:
        OthersPlace.objects.filter(place=place).delete()
        return None
    found = Community.objects.filter(slug=other).exclude(id=actor.community_id).first()
    if found is None:
        detail = "There is no such other community here."
        raise InvalidInput.of("other", detail, "Name another community of this server.")
    row, _ = OthersPlace.objects.update_or_create(
        community_id=actor.community_id,
        place=place,
        defaults={"other": found, "at": timezone.now(), "by_id": actor.user_id},
    )
    return row
