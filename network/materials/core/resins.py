"""Resins and items of the reference data, each with its figures."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from network.materials.core.dangerous import danger_of
from network.materials.core.figures import Figure, figure_from_data
from network.materials.core.terms import Forming

DENSITY = "density"
UNIT_MASS = "unit_mass"
BULK_DENSITY = "bulk_density"
_UNITS = {DENSITY: "g/cm3", UNIT_MASS: "g", BULK_DENSITY: "kg/m3"}


def _check_units(owner: str, figures: Mapping[str, Figure]) -> None:
    for quantity, figure in figures.items():
        wanted = _UNITS.get(quantity, figure.unit)
        if figure.unit != wanted:
            raise ValueError(f"{owner}: {quantity} is kept in {wanted}, not {figure.unit}")


@dataclass(frozen=True, kw_only=True)
class Resin:
    """A polymer by ISO 1043-1 symbol and, where it has one of its own, ASTM D7611 code.

    `danger` is the reason it must not be melted, empty for one that may be. Figures are keyed by
    quantity: `density` (g/cm3), `melting`, `glass_transition`, `press` and `moulding` (°C).
    Raises ValueError when data calls a resin harmless that the code knows to be dangerous.
    """

    symbol: str
    code: int | None
    name: str
    danger: str = ""
    danger_source: str = ""
    hand_behaviour: str = ""
    figures: Mapping[str, Figure] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if danger_of(self.symbol) and not self.danger:
            raise ValueError(f"{self.symbol} is dangerous to melt and must say so")
        if self.danger and not self.danger_source:
            raise ValueError(f"{self.symbol}: a danger needs its source")
        _check_units(self.symbol, self.figures)

    @property
    def density(self) -> Figure | None:
        """The density in g/cm3, where a figure is known."""
        return self.figures.get(DENSITY)


@dataclass(frozen=True, kw_only=True)
class Item:
    """A kind of thing set aside, with the resins it is usually made of.

    The usual resins are what to expect, never what a given piece is. Figures are keyed by
    quantity: `unit_mass` (g) and `bulk_density` (kg/m3, as it lies loose).
    """

    slug: str
    name: str
    usual_resins: tuple[str, ...]
    usual_resins_source: str
    forming: Forming | None
    figures: Mapping[str, Figure] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _check_units(self.slug, self.figures)

    @property
    def unit_mass(self) -> Figure | None:
        """The mass of one piece in g, where a figure is known."""
        return self.figures.get(UNIT_MASS)

    @property
    def bulk_density(self) -> Figure | None:
        """The loose bulk density in kg/m3, where a figure is known."""
        return self.figures.get(BULK_DENSITY)


def resin_from_data(row: Mapping[str, Any]) -> Resin:
    """Return a resin from a row of the reference data."""
    return Resin(
        symbol=row["symbol"],
        code=row["code"],
        name=row["name"],
        danger=row["danger"],
        danger_source=row["danger_source"],
        hand_behaviour=row["hand_behaviour"],
        figures=_figures_from_data(row["figures"]),
    )


def item_from_data(row: Mapping[str, Any]) -> Item:
    """Return an item from a row of the reference data."""
    return Item(
        slug=row["slug"],
        name=row["name"],
        usual_resins=tuple(row["usual_resins"]),
        usual_resins_source=row["usual_resins_source"],
        forming=None if row["forming"] is None else Forming(row["forming"]),
        figures=_figures_from_data(row["figures"]),
    )


def _figures_from_data(data: Mapping[str, Any]) -> dict[str, Figure]:
    return {quantity: figure_from_data(figure) for quantity, figure in data.items()}
