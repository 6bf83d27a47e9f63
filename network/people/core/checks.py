"""What a community's particulars must look like."""

import re
from collections.abc import Iterator
from zoneinfo import available_timezones

from network.errors import FieldError, InvalidInput

_SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_COUNTRY = re.compile(r"[A-Z]{2}")  # ISO 3166-1 alpha-2
_CURRENCY = re.compile(r"[A-Z]{3}")  # ISO 4217


def check_community(
    *, slug: str, timezone: str, country: str, currency: str, longitude: float, latitude: float
) -> None:
    """Raise InvalidInput naming each particular that cannot be used."""
    faults = [
        *_shape_faults(slug=slug, country=country, currency=currency),
        *_place_faults(timezone=timezone, longitude=longitude, latitude=latitude),
    ]
    if faults:
        raise InvalidInput("This community cannot be founded like that.", fields=tuple(faults))


def _shape_faults(*, slug: str, country: str, currency: str) -> Iterator[FieldError]:
    if not _SLUG.fullmatch(slug):
        yield FieldError(
            field="slug",
            detail="It is part of the address of the community.",
            mend="Use small letters, digits and single hyphens between them.",
        )
    if not _COUNTRY.fullmatch(country):
        yield FieldError(
            field="country",
            detail="This is not a country code.",
            mend="Write the two capital letters of ISO 3166-1, such as GB.",
        )
    if not _CURRENCY.fullmatch(currency):
        yield FieldError(
            field="currency",
            detail="This is not a currency code.",
            mend="Write the three capital letters of ISO 4217, such as GBP.",
        )


def _place_faults(*, timezone: str, longitude: float, latitude: float) -> Iterator[FieldError]:
    if timezone not in available_timezones():
        yield FieldError(
            field="timezone",
            detail="This time zone is not known.",
            mend="Write one of the IANA time zones, such as Europe/London.",
        )
    for field, degrees, degrees_max in (
        ("longitude", longitude, 180),
        ("latitude", latitude, 90),
    ):
        if not -degrees_max <= degrees <= degrees_max:
            yield FieldError(
                field=field,
                detail=f"It lies outside of {-degrees_max} to {degrees_max} degrees.",
                mend="Write decimal degrees, and check that the two are not swapped.",
            )
