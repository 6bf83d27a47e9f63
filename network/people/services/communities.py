"""Founding a community and naming its parts."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import Conflict
from network.ids import new_id
from network.people.core.actor import ORGANISER, Actor
from network.people.core.checks import check_community
from network.people.models import Community, District, Role, User
from network.people.services.roles import hold

PHOTOS_DAYS_MAX = 365


@transaction.atomic
def create_community(
    *,
    organiser: User,
    slug: str,
    name: str,
    timezone_name: str,
    country: str,
    currency: str,
    longitude: float,
    latitude: float,
    subdivision: str = "",
    open_to_registration: bool = True,
    at: datetime | None = None,
) -> Community:
    """Found a community with its first organiser; whoever runs the server does this, no actor.

    Raises InvalidInput naming each particular that cannot be used, Conflict for a slug in use.
    """
    check_community(
        slug=slug,
        timezone=timezone_name,
        country=country,
        currency=currency,
        longitude=longitude,
        latitude=latitude,
    )
    if Community.objects.filter(slug=slug).exists():
        raise Conflict("There is a community of that slug.")
    community = Community.objects.create(
        slug=slug,
        name=name,
        timezone=timezone_name,
        country=country,
        subdivision=subdivision,
        currency=currency,
        longitude=longitude,
        latitude=latitude,
        open_to_registration=open_to_registration,
        created_at=at or timezone.now(),
    )
    hold(community.id, organiser, Role.ORGANISER, None, at)
    return community


@transaction.atomic
def add_district(actor: Actor, *, name: str, district_id: UUID | None = None) -> District:
    """Name a district; raises Conflict if there is one of that name."""
    actor.require(ORGANISER)
    if District.objects.filter(community_id=actor.community_id, name=name).exists():
        raise Conflict("There is a district of that name.")
    return District.objects.create(
        id=district_id or new_id(), community_id=actor.community_id, name=name
    )


@transaction.atomic
def change_community(actor: Actor, *, photos_kept_days: int) -> None:
    """Choose for how many days a photo is kept; photos taken before keep their time."""
    actor.require(ORGANISER)
    Community.objects.filter(id=actor.community_id).update(photos_kept_days=photos_kept_days)
