"""Which resins may be melted together: as miscibility charts have it, from memory, unverified."""

from enum import StrEnum

_POLYETHYLENES = frozenset({"PE-HD", "PE-LD"})
_POLYOLEFINS = _POLYETHYLENES | {"PP"}


class Fit(StrEnum):
    """How two resins go together."""

    SAME = "same"
    FAMILY = "family"  # they mix, and the piece is between them
    IMMISCIBLE = "immiscible"  # they hold together, weakly and in layers
    NEVER = "never"


def fit_of(one: str, other: str) -> Fit:
    """Return how two resins, by their ISO 1043-1 symbols, go together."""
    if one == other:
        return Fit.SAME
    pair = {one, other}
    if pair <= _POLYETHYLENES:
        return Fit.FAMILY
    return Fit.IMMISCIBLE if pair <= _POLYOLEFINS else Fit.NEVER
