"""The cautions that belong where a route is planned and driven, in one place, by code.

They remind; they do not advise. Local codes and licensed practice come first.
"""

from collections.abc import Iterable, Mapping
from enum import StrEnum

LIFTING_FILTER_LOW_G = 16_000
LIFTING_FILTER_HIGH_G = 25_000
"""The UK Health and Safety Executive's lifting filters, close to the body and between knuckle
and waist height (women, men). It calls them a filter for closer looking, "not 'safe limits'".
The two figures are from memory and not verified against its current guidance."""


class Caution(StrEnum):
    """All cautions that a route or a stop can carry; each has its words in CAUTION_TEXT."""

    DRIVING = "driving"
    WASTE_CARRIER_PAPERS = "waste_carrier_papers"
    LIFTING = "lifting"
    LIFTING_OVER_16_KG = "lifting_over_16_kg"
    LIFTING_OVER_25_KG = "lifting_over_25_kg"
    CHILDREN = "children"


CAUTION_TEXT: Mapping[Caution, str] = {
    Caution.DRIVING: (
        "Secure the load, keep within the van's plated masses, take your breaks, and touch no"
        " screen while driving. A planned time is never a reason to hurry. The traffic law of the"
        " country comes first."
    ),
    Caution.WASTE_CARRIER_PAPERS: (
        "Carrying other people's waste can need a registration and a transfer note for each load."
        " The rules differ from country to country: ask the local regulator and carry what it asks"
        " for."
    ),
    Caution.LIFTING: (
        "Feel the weight before lifting, keep it close, and do not twist. What may be lifted"
        " depends on the person, the path and the grip: follow the local rules on manual handling."
    ),
    Caution.LIFTING_OVER_16_KG: (
        "A container here may weigh more than 16 kg. Look closer before lifting: use a trolley or"
        " two people, or empty it in parts. Staying under 16 kg would not make a lift safe either:"
        " such figures are filters, not safe limits."
    ),
    Caution.LIFTING_OVER_25_KG: (
        "A container here may weigh more than 25 kg. Do not lift it alone: use a trolley or two"
        " people, or empty it in parts. Staying under 25 kg would not make a lift safe either:"
        " such figures are filters, not safe limits."
    ),
    Caution.CHILDREN: (
        "Children are about. Arrive at reception and let staff lead you; do not drive in while"
        " pupils come or go, and take no names or pictures of them. The school's own rules come"
        " first."
    ),
}


def stop_cautions(*, gross_masses_g: Iterable[int], is_school: bool) -> list[Caution]:
    """Return what to heed at one stop where containers of these expected masses are lifted."""
    heaviest_g = max(gross_masses_g, default=0)
    cautions = [Caution.LIFTING]
    if heaviest_g > LIFTING_FILTER_HIGH_G:
        cautions.append(Caution.LIFTING_OVER_25_KG)
    elif heaviest_g > LIFTING_FILTER_LOW_G:
        cautions.append(Caution.LIFTING_OVER_16_KG)
    if is_school:
        cautions.append(Caution.CHILDREN)
    return cautions


def route_cautions(stops: Iterable[Iterable[Caution]]) -> list[Caution]:
    """Return what to heed on a whole route: its own cautions and each of its stops' once."""
    found = {caution for stop in stops for caution in stop}
    found |= {Caution.DRIVING, Caution.WASTE_CARRIER_PAPERS}
    return [caution for caution in Caution if caution in found]
