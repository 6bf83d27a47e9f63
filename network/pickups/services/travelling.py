"""What a maker's ways are reckoned with, and a community's roads."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from network.errors import FieldError, InvalidInput
from network.geo import Point
from network.people.core.actor import MAKER, Actor
from network.people.models import Community
from network.pickups.core.learning import CORRECTION_MAX, CORRECTION_MIN
from network.pickups.core.road_file import read_roads
from network.pickups.core.roads import OFF_ROAD_M_MAX, spots_of
from network.pickups.models import KeptTravel, Roads, TravelTerms
from network.pickups.services.vehicles import sole_maker
from network.places.models import Place

ROAD_FACTOR_MAX = Decimal(4)
SPEED_KM_PER_H_MIN, SPEED_KM_PER_H_MAX = Decimal(5), Decimal(130)
SOURCE_LENGTH_MAX = 200
_LIMITS = {
    "road_factor": (Decimal(1), ROAD_FACTOR_MAX),
    "speed_km_per_h": (SPEED_KM_PER_H_MIN, SPEED_KM_PER_H_MAX),
    "straight_correction": (CORRECTION_MIN, CORRECTION_MAX),
    "roads_correction": (CORRECTION_MIN, CORRECTION_MAX),
}


@dataclass(frozen=True, kw_only=True)
class TravelFigures:
    """What a maker sets of its ways; None leaves a figure as it is.

    How much longer roads are than the straight way, how fast one drives, and what the seconds are
    multiplied by where ways are straight and where they go along roads.
    """

    road_factor: Decimal | None = None
    speed_km_per_h: Decimal | None = None
    straight_correction: Decimal | None = None
    roads_correction: Decimal | None = None

    def __post_init__(self) -> None:
        faults = [
            FieldError(
                field=name,
                detail=f"It must be from {least} to {greatest}.",
                mend="Choose a figure between the two.",
            )
            for name, (least, greatest) in _LIMITS.items()
            if getattr(self, name) is not None and not least <= getattr(self, name) <= greatest
        ]
        if faults:
            raise InvalidInput("Ways cannot be reckoned so.", fields=tuple(faults))


@transaction.atomic
def change_travel(
    actor: Actor, *, figures: TravelFigures, maker_id: UUID | None = None
) -> TravelTerms:
    """Set what a maker's ways are reckoned with; plans that are there stand as they are.

    The maker may be left out by who acts for one only. Raises NotAllowed or InvalidInput.
    """
    maker_id = maker_id or sole_maker(actor)
    actor.require(MAKER, organisation_id=maker_id)
    told = {field.name: getattr(figures, field.name) for field in fields(figures)}
    changes = {name: value for name, value in told.items() if value is not None}
    terms, _ = TravelTerms.objects.update_or_create(
        maker_id=maker_id, defaults={"community_id": actor.community_id, **changes}
    )
    return terms


@dataclass(frozen=True, kw_only=True)
class RoadsBrought:
    """The roads that a community has now (m), how much hangs together with nothing, who is off."""

    length_m: int
    left_out_m: int
    places: int
    off_roads: tuple[str, ...]


@transaction.atomic
def bring_roads(
    *, community: Community, features: Mapping[str, Any], source: str, as_of: date
) -> RoadsBrought:
    """Let a community's ways go along these roads from now on; those before are replaced.

    `features` is a GeoJSON FeatureCollection with OpenStreetMap's tags. Raises InvalidInput for a
    file that is none, or where no place is within reach of its roads.
    """
    if not 0 < len(source.strip()) <= SOURCE_LENGTH_MAX:
        raise InvalidInput.of(
            "source",
            f"must have 1 to {SOURCE_LENGTH_MAX} characters",
            "Say who drew the roads, and under which licence.",
        )
    network = read_roads(features)
    places = list(
        Place.objects.filter(community=community, status=Place.Status.ADMITTED).order_by("name")
    )
    spots = spots_of(network, [Point(place.longitude, place.latitude) for place in places])
    off = tuple(place.name for place, spot in zip(places, spots, strict=True) if spot is None)
    if places and len(off) == len(places):
        raise InvalidInput.of(
            "roads",
            f"come to none of the {len(places)} places within {OFF_ROAD_M_MAX:.0f} m",
            "Check that the file is of the right part of the world, longitude first.",
        )
    Roads.objects.update_or_create(
        community=community,
        defaults={
            "features": features,
            "version": _version_of(features),
            "source": source.strip(),
            "as_of": as_of,
        },
    )
    # Ways of other roads are of no use any more.
    KeptTravel.objects.filter(community=community).delete()
    return RoadsBrought(
        length_m=network.length_m,
        left_out_m=network.left_out_m,
        places=len(places),
        off_roads=off,
    )


def _version_of(features: Mapping[str, Any]) -> str:
    text = json.dumps(features, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
