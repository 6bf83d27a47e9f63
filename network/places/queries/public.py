"""What anyone may see of places: as much as each agreed to, and no more."""

from dataclasses import dataclass

from network.geo import Point
from network.people.models import Community
from network.places.core.precision import Precision, point_for_outsiders
from network.places.models import Place


@dataclass(frozen=True, kw_only=True)
class PublicPlace:
    """A place as outsiders see it; with its name and address only where its spot is shown.

    A name leads to a spot as surely as a point does.
    """

    kind: str
    precision: str
    name: str
    address: str
    district: str
    point: Point | None


def public_places(community: Community) -> list[PublicPlace]:
    """Return the admitted places that are on the public map, in an order that tells nothing."""
    places = (
        Place.objects.filter(community=community, status=Place.Status.ADMITTED)
        .exclude(public_precision=Precision.HIDDEN)
        .select_related("district")
    )
    shown = [_shown(place) for place in places]
    return sorted(shown, key=lambda one: (one.district, one.kind, one.name, one.point or ()))


def _shown(place: Place) -> PublicPlace:
    precision = Precision(place.public_precision)
    is_exact = precision is Precision.EXACT
    here = Point(place.longitude, place.latitude)
    on_the_map = precision is not Precision.DISTRICT
    return PublicPlace(
        kind=place.kind,
        precision=precision.value,
        name=place.name if is_exact else "",
        address=place.address if is_exact else "",
        district=place.district.name if place.district else "",
        point=point_for_outsiders(here, precision) if on_the_map else None,
    )
