"""Public holidays of a country or a part of it, from the `holidays` library.

School terms are not among them: a place enters its own.
"""

from collections.abc import Mapping
from datetime import date

import holidays

from network.errors import InvalidInput


def public_holidays(
    country: str, subdivision: str, first_day: date, last_day: date
) -> Mapping[date, str]:
    """Return the public holidays from the first to the last day, with their names.

    `country` is ISO 3166-1 alpha-2; `subdivision` is the part after the hyphen of ISO 3166-2, or
    empty. Raises InvalidInput for a country or subdivision that the library does not know.
    """
    years = range(first_day.year, last_day.year + 1)
    try:
        known = holidays.country_holidays(country, subdiv=subdivision or None, years=years)
    except NotImplementedError as unknown:
        field = "subdivision" if country in holidays.list_supported_countries() else "country"
        raise InvalidInput.of(
            field,
            "The public holidays of it are not known here.",
            "Use its ISO 3166 code, or enter the days as closures.",
        ) from unknown
    return {day: name for day, name in sorted(known.items()) if first_day <= day <= last_day}
