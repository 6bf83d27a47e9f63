"""Carbon and cost as a scenario: what follows from stated factors, and never a certified figure.

Transport is always counted. What recycling may have avoided is counted only where somebody states
which share of new plastic the pieces displace: craft goods rarely displace it one to one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from network.units import G_PER_KG, M_PER_KM, S_PER_HOUR

# A short ton is 2,000 lb of 0.45359237 kg, exactly.
KG_PER_SHORT_TON = Decimal("907.18474")
_KG_PER_T = 1000
_CENT = Decimal("0.01")
OTHER = "recycled_other"
RECYCLED: Mapping[str, str] = {
    "PE-HD": "recycled_pe_hd",
    "PP": "recycled_pp",
    "PET": "recycled_pet",
}
# What a factor may be, so that a slip of the comma is noticed.
RANGES: Mapping[str, tuple[Decimal, Decimal]] = {
    "van_per_km": (Decimal(0), Decimal(5)),
    "recycled_pe_hd": (Decimal(-10), Decimal(10)),
    "recycled_pp": (Decimal(-10), Decimal(10)),
    "recycled_pet": (Decimal(-10), Decimal(10)),
    OTHER: (Decimal(-10), Decimal(10)),
    "landfilled": (Decimal(-10), Decimal(10)),
    "displaced_share": (Decimal(0), Decimal(1)),
    "wage_per_hour": (Decimal(0), Decimal(1_000_000)),
    "cost_per_km": (Decimal(0), Decimal(100_000)),
}


@dataclass(frozen=True, kw_only=True)
class Factor:
    """A factor of the scenario in `unit`; version 0 came with Millrace and nobody confirmed it.

    Without a value nobody has stated it, and what needs it is left out.
    """

    code: str
    unit: str
    value: Decimal | None
    low: Decimal | None
    high: Decimal | None
    source: str
    year: int | None
    region: str
    version: int
    confirmed: bool

    def __post_init__(self) -> None:
        if self.value is not None and not (self.source and self.year and self.region):
            raise ValueError("a factor has its source, year and region")


@dataclass(frozen=True, kw_only=True)
class Driven:
    """What finished routes took: how many, how far and how long."""

    routes: int
    distance_m: int
    duration_s: int


@dataclass(frozen=True, kw_only=True)
class Piece:
    """Grams of one resin that became pieces; without a resin where several may be in them."""

    resin: str | None
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class Carbon:
    """Grams of CO2e of driving, and what may have been avoided, if that is stated.

    `break_even_m` is how far a van may drive for what was avoided; `break_even_g` how many grams
    of pieces the driving of these days needs. None where it does not apply.
    """

    transport_co2e_g: int
    avoided_co2e_g: int | None
    net_co2e_g: int | None
    break_even_m: int | None
    break_even_g: int | None


@dataclass(frozen=True, kw_only=True)
class Cost:
    """Money for wages and vans, in all and for each kg accepted; None where there are none."""

    wages: Decimal
    vans: Decimal
    whole: Decimal
    per_kg: Decimal | None


def avoided_kg_per_kg(resin: str | None, factors: Mapping[str, Factor]) -> Decimal | None:
    """Return what a kg recycled instead of landfilled avoids, in kg CO2e, if that is known."""
    recycled = factors[RECYCLED.get(resin or "", OTHER)].value
    landfilled = factors["landfilled"].value
    if recycled is None or landfilled is None:
        return None
    return (landfilled - recycled) * _KG_PER_T / KG_PER_SHORT_TON


def carbon_of(driven: Driven, pieces: Sequence[Piece], factors: Mapping[str, Factor]) -> Carbon:
    """Return the carbon side of the scenario. Raises ValueError without a factor for the van."""
    per_km = factors["van_per_km"].value
    if per_km is None:
        raise ValueError("transport is always counted")
    transport_g = per_km * driven.distance_m  # kg/km is g/m
    avoided_g = _avoided_g(pieces, factors)
    gained = avoided_g if avoided_g and avoided_g > 0 else None
    mass_g = sum(piece.mass_g for piece in pieces)
    return Carbon(
        transport_co2e_g=_whole(transport_g),
        avoided_co2e_g=None if avoided_g is None else _whole(avoided_g),
        net_co2e_g=None if avoided_g is None else _whole(transport_g - avoided_g),
        break_even_m=_whole(gained / per_km) if gained and per_km else None,
        break_even_g=_whole(transport_g * mass_g / gained) if gained else None,
    )


def _avoided_g(pieces: Sequence[Piece], factors: Mapping[str, Factor]) -> Decimal | None:
    share = factors["displaced_share"].value
    if share is None:
        return None
    avoided_g = Decimal(0)
    for piece in pieces:
        per_kg = avoided_kg_per_kg(piece.resin, factors)
        if per_kg is None:
            return None
        avoided_g += per_kg * piece.mass_g * share
    return avoided_g


def cost_of(driven: Driven, accepted_g: int, factors: Mapping[str, Factor]) -> Cost | None:
    """Return what the routes cost, or None where wage or van have no stated figure."""
    wage, per_km = factors["wage_per_hour"].value, factors["cost_per_km"].value
    if wage is None or per_km is None:
        return None
    wages = (wage * driven.duration_s / S_PER_HOUR).quantize(_CENT, ROUND_HALF_UP)
    vans = (per_km * driven.distance_m / M_PER_KM).quantize(_CENT, ROUND_HALF_UP)
    whole = wages + vans
    per_kg = whole * G_PER_KG / accepted_g if accepted_g > 0 else None
    return Cost(
        wages=wages,
        vans=vans,
        whole=whole,
        per_kg=None if per_kg is None else per_kg.quantize(_CENT, ROUND_HALF_UP),
    )


def _whole(value: Decimal) -> int:
    return int(value.to_integral_value(ROUND_HALF_UP))
