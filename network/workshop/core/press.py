"""Force from area and pressure, and the size to cut a mould for."""

from decimal import ROUND_HALF_EVEN, Decimal

_MM2_KPA_PER_N = 1000
_TENTH_MM = Decimal("0.1")


def force_n(*, pressure_kpa: int, width_mm: int, length_mm: int) -> int:
    """Return the force that a pressure on a face takes, in N, rounded up."""
    return -(-pressure_kpa * width_mm * length_mm // _MM2_KPA_PER_N)


def pressure_kpa_max(*, rating_n: int, width_mm: int, length_mm: int) -> int:
    """Return the highest pressure on a face that a press of this rating gives, in kPa."""
    return rating_n * _MM2_KPA_PER_N // (width_mm * length_mm)


def cavity_mm(size_mm: Decimal, *, shrinkage_percent: Decimal) -> Decimal:
    """Return the size of the mould for a piece of this size when cold, to a tenth of a mm."""
    left = 1 - shrinkage_percent / 100
    if not 0 < left <= 1:
        raise ValueError("a piece shrinks by less than all of it")
    return (size_mm / left).quantize(_TENTH_MM, rounding=ROUND_HALF_EVEN)
