"""What organisers state for their reports."""

from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput, NotFound
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.reports.core.scenario import RANGES
from network.reports.models import StatedFactor
from network.reports.queries import YEARS


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
