"""Which resins a piece can be, from what it does in liquids of known density.

Not valid for filled, foamed or layered plastics, nor with air trapped under a rim. Floating never
says what a piece is, only what it is not.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from network.materials.core.figures import Figure
from network.materials.core.resins import Resin

# Plain water at up to 1.00 g/cm³; 0.998 at 20 °C.
PLAIN_WATER_G_CM3_MAX = Decimal("1.00")


@dataclass(frozen=True, kw_only=True)
class FloatTest:
    """A piece put into a liquid of a stated density, in g/cm³, and whether it floated."""

    medium_g_cm3: Decimal
    floated: bool

    def __post_init__(self) -> None:
        if not self.medium_g_cm3 > 0:
            raise ValueError("a liquid has a density above zero")


def candidates(tests: Iterable[FloatTest], resins: Mapping[str, Resin]) -> tuple[str, ...]:
    """Return the symbols, sorted, of the resins whose density range fits every test.

    A resin stays when some density in its range does all that was seen; equal to the liquid's
    density counts both ways. Only resins with a density figure are judged, so an empty answer
    means 'none of those', and a resin without a figure is never ruled in or out. PVC (1.16 g/cm³
    and up) is ruled out by floating in water alone, never by sinking in it.
    """
    seen = tuple(tests)
    return tuple(
        sorted(
            symbol
            for symbol, resin in resins.items()
            if resin.density is not None and _fits(resin.density, seen)
        )
    )


def floated_in_plain_water(tests: Iterable[FloatTest]) -> bool:
    """Return whether the piece floated in a liquid no denser than plain water."""
    return any(test.floated and test.medium_g_cm3 <= PLAIN_WATER_G_CM3_MAX for test in tests)


def _fits(density: Figure, tests: tuple[FloatTest, ...]) -> bool:
    """Return whether the density's range and the range left by the tests overlap."""
    low = density.value if density.low is None else density.low
    high = density.value if density.high is None else density.high
    for test in tests:
        if test.floated:
            high = min(high, test.medium_g_cm3)
        else:
            low = max(low, test.medium_g_cm3)
    return low <= high
