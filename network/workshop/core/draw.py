"""Taking grams out of a mix: each part gives in proportion to what it still has."""

from collections.abc import Mapping
from typing import TypeVar

from network.units import largest_remainder

K = TypeVar("K")


def draw(there_g: Mapping[K, int], mass_g: int) -> dict[K, int]:
    """Return how many grams each part gives, adding up to the mass; none gives more than it has.

    Raises ValueError when there is less than that. A mix is taken to be even throughout.
    """
    if not 0 <= mass_g <= sum(there_g.values()):
        raise ValueError("more cannot be drawn than there is")
    given_g = largest_remainder(mass_g, list(there_g.values()))
    return dict(zip(there_g, given_g, strict=True))


def draw_in_turn(there_g: Mapping[K, int], masses_g: list[int]) -> list[dict[K, int]]:
    """Return several draws, one after the other, each from what the ones before have left.

    Raises ValueError when all together are more than there is.
    """
    left_g = dict(there_g)
    draws = []
    for mass_g in masses_g:
        given_g = draw(left_g, mass_g)
        left_g = {part: left_g[part] - given_g[part] for part in left_g}
        draws.append(given_g)
    return draws
