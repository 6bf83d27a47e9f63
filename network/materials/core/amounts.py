"""Estimates of mass from a volume or a count: never weighed, and always with what they rest on."""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from network.materials.core.figures import Figure

_ML_KG_PER_M3_IN_G = Decimal("0.001")


@dataclass(frozen=True, kw_only=True)
class EstimatedMass:
    """An estimated mass in grams; no low and high where the figure has no range."""

    mass_g: int
    low_g: int | None
    high_g: int | None


def mass_of_volume(volume_ml: int, bulk_density: Figure) -> EstimatedMass:
    """Return the mass of loose items that fill a volume, from a bulk density in kg/m3."""
    if bulk_density.unit != "kg/m3":
        raise ValueError(f"a bulk density is in kg/m3, not {bulk_density.unit}")
    return _times(volume_ml * _ML_KG_PER_M3_IN_G, bulk_density)


def mass_of_count(count: int, unit_mass: Figure) -> EstimatedMass:
    """Return the mass of a number of items, from the mass of one in g.

    The range is that of the figure times the count: a shared bias of the figure does not average
    out over many items.
    """
    if unit_mass.unit != "g":
        raise ValueError(f"a unit mass is in g, not {unit_mass.unit}")
    return _times(Decimal(count), unit_mass)


def _times(amount: Decimal, figure: Figure) -> EstimatedMass:
    if amount < 0:
        raise ValueError("an amount is not negative")
    return EstimatedMass(
        mass_g=_grams(amount * figure.value),
        low_g=None if figure.low is None else _grams(amount * figure.low),
        high_g=None if figure.high is None else _grams(amount * figure.high),
    )


def _grams(mass_g: Decimal) -> int:
    return int(mass_g.quantize(Decimal(1), rounding=ROUND_HALF_EVEN))
