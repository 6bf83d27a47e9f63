"""Units: what is stored is SI in integers; these turn it from and to what people write."""

from decimal import ROUND_HALF_EVEN, Decimal

G_PER_KG = 1000
ML_PER_L = 1000
M_PER_KM = 1000
S_PER_HOUR = 3600


def kg_text(mass_g: int) -> str:
    """Return kilograms with all three places, so that no gram is hidden: `12.340 kg`."""
    return f"{Decimal(mass_g) / G_PER_KG:,.3f} kg"


def to_cents(amount: Decimal) -> Decimal:
    """Return an amount rounded to a hundredth, half to even (as IEEE 754 and most ledgers do)."""
    return amount.quantize(Decimal("0.01"), rounding=ROUND_HALF_EVEN)


def largest_remainder(total: int, weights: list[int]) -> list[int]:
    """Split an integer by weights so that the parts sum to the whole (Hamilton's method).

    Units: those of `total`. Ties go to the earlier part.
    Raises ValueError for a negative weight or when all are zero and the total is not.
    """
    if any(weight < 0 for weight in weights):
        raise ValueError("weights must not be negative")
    whole = sum(weights)
    if whole == 0:
        if total:
            raise ValueError("nothing to split by: all weights are zero")
        return [0] * len(weights)
    parts = [total * weight // whole for weight in weights]
    by_remainder = sorted(range(len(weights)), key=lambda i: (-(total * weights[i] % whole), i))
    for i in by_remainder[: total - sum(parts)]:
        parts[i] += 1
    return parts
