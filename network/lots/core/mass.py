"""The uncertainty of a mass, after the GUM (JCGM 100:2008).

Each part says whether it is shared with other weighings: two loads on one scale are wrong by the
same calibration error, and two estimates by the same bulk density, so these do not average out.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot, sqrt

# OIML R 76-1 Table 6, class III: up to so many intervals, an error of so many thousandths of one.
_STEPS_CLASS_III = ((500, 500), (2_000, 1_000), (10_000, 1_500))
# R 76-1, 3.5.2: in service twice the error at verification is allowed.
_IN_SERVICE = 2
# R 76-1 Table 3: below so many intervals a class III scale is not meant to be used.
INTERVALS_MIN = 20
MG_PER_G = 1000
COVERAGE_FACTOR = 2
# Common practice, no published source: a mass told by eye is right to within a half.
BY_EYE_HALF_WIDTH = 0.5
# Common practice, no published source: how full a container is, is told to within a tenth of it.
FILL_HALF_WIDTH_PERCENT = 10


@dataclass(frozen=True, kw_only=True)
class Component:
    """One part of a standard uncertainty, in mg; `shared` when other masses err alike by it."""

    name: str
    standard_mg: float
    shared: bool = False

    def __post_init__(self) -> None:
        if self.standard_mg < 0:
            raise ValueError("an uncertainty is not negative")


@dataclass(frozen=True, kw_only=True)
class Mass:
    """A net mass in g with the parts of its uncertainty and what to be wary of."""

    gross_g: int
    tare_g: int
    components: tuple[Component, ...]
    warnings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.tare_g < self.gross_g:
            raise ValueError("the gross mass is more than the tare")

    @property
    def net_g(self) -> int:
        """What is left of the gross mass without the tare."""
        return self.gross_g - self.tare_g

    @property
    def standard_mg(self) -> float:
        """The combined standard uncertainty (k = 1), GUM 5.1.2."""
        return _in_quadrature(part.standard_mg for part in self.components)

    @property
    def shared_mg(self) -> float:
        """The part by which other masses, found in the same way, err alike."""
        return _in_quadrature(part.standard_mg for part in self.components if part.shared)

    @property
    def own_mg(self) -> float:
        """The part that is this mass's own."""
        return _in_quadrature(part.standard_mg for part in self.components if not part.shared)

    @property
    def expanded_mg(self) -> float:
        """The expanded uncertainty, for a coverage factor of 2 (about 95 %), GUM 6.2."""
        return COVERAGE_FACTOR * self.standard_mg


def error_limit_mg(mass_g: int, interval_g: int, *, in_service: bool = True) -> int:
    """Return the maximum permissible error, in mg, of a class III scale at a load.

    Raises ValueError beyond 10 000 intervals. Source: OIML R 76-1, Table 6 and 3.5.2.
    """
    for intervals_max, thousandths in _STEPS_CLASS_III:
        if mass_g <= intervals_max * interval_g:
            return thousandths * interval_g * (_IN_SERVICE if in_service else 1)
    raise ValueError("a class III scale has at most 10 000 intervals")


def weighed(
    *,
    gross_g: int,
    tare_g: int,
    interval_g: int,
    repeatability_g: int,
    in_service: bool = True,
) -> Mass:
    """Return a mass read from a class III scale.

    Gross and tare each have the scale's error limit as a rectangle's half-width (GUM 4.3.7) and
    its interval as a rectangle's width; repeatability is a standard deviation of the net mass. A
    tare of zero was not weighed and adds nothing. Raises ValueError beyond 10 000 intervals.
    """
    loads = [("gross", gross_g)]
    if tare_g:
        loads.append(("tare", tare_g))
    parts = [Component(name="repeatability", standard_mg=float(repeatability_g * MG_PER_G))]
    for name, load_g in loads:
        limit_mg = error_limit_mg(load_g, interval_g, in_service=in_service)
        parts.append(
            Component(name=f"{name}, error limit", standard_mg=rectangle(limit_mg), shared=True)
        )
        parts.append(
            Component(name=f"{name}, reading", standard_mg=rectangle(interval_g * MG_PER_G / 2))
        )
    warnings: tuple[str, ...] = ()
    if gross_g - tare_g < INTERVALS_MIN * interval_g:
        warnings = (f"Less than {INTERVALS_MIN * interval_g} g is little for this scale.",)
    return Mass(gross_g=gross_g, tare_g=tare_g, components=tuple(parts), warnings=warnings)


def estimated(
    *, mass_g: int, low_g: int | None, high_g: int | None, amount_half_width_g: float = 0
) -> Mass:
    """Return a mass worked out from a count or a volume by a figure of the trade.

    The figure's range, as it comes out in g, is taken as a triangle and is shared by all that rest
    on the same figure; no known range is taken as wide as telling by eye.
    `amount_half_width_g` is how far the count or the volume may itself be off, as a rectangle.
    """
    if low_g is None or high_g is None:
        spread_g = rectangle(mass_g * BY_EYE_HALF_WIDTH)
    else:
        spread_g = triangle(low=low_g, high=high_g, mode=mass_g)
    parts = [Component(name="figure, range", standard_mg=spread_g * MG_PER_G, shared=True)]
    if amount_half_width_g:
        off_mg = rectangle(amount_half_width_g) * MG_PER_G
        parts.append(Component(name="amount, told by eye", standard_mg=off_mg))
    return Mass(gross_g=mass_g, tare_g=0, components=tuple(parts))


def by_eye(*, gross_g: int, tare_g: int) -> Mass:
    """Return a mass that somebody told by eye."""
    half_width_mg = (gross_g - tare_g) * BY_EYE_HALF_WIDTH * MG_PER_G
    told = Component(name="told by eye", standard_mg=rectangle(half_width_mg), shared=True)
    return Mass(gross_g=gross_g, tare_g=tare_g, components=(told,))


def rectangle(half_width: float) -> float:
    """Return the standard uncertainty of a rectangle, GUM 4.3.7."""
    return half_width / sqrt(3)


def triangle(*, low: float, high: float, mode: float) -> float:
    """Return the standard deviation of a triangle; the symmetric one is GUM 4.3.9."""
    if not low <= mode <= high:
        raise ValueError("the most likely value lies within its range")
    variance = low**2 + mode**2 + high**2 - low * mode - low * high - mode * high
    return sqrt(max(variance, 0) / 18)


def total_standard_mg(shared_mg: Iterable[float], own_mg: Iterable[float]) -> float:
    """Return the standard uncertainty of a sum, in mg.

    `shared_mg` has one figure for each common cause: what its weighings err alike by, added up
    without squares (GUM 5.2.2, a correlation of one). Causes, and own parts, are independent.
    """
    return hypot(_in_quadrature(shared_mg), _in_quadrature(own_mg))


def _in_quadrature(parts: Iterable[float]) -> float:
    return hypot(*parts)
