"""What a product may say of where it came from.

Words of ISO 22095:2020 (3.3.1 to 3.3.5) and ISO 14021 §7.8, read in secondary sources.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import lcm
from typing import TypeVar

from network.units import largest_remainder

K = TypeVar("K")


class Custody(StrEnum):
    """The chain of custody models of ISO 22095 that can hold here."""

    IDENTITY_PRESERVED = "identity_preserved"
    SEGREGATED = "segregated"
    CONTROLLED_BLENDING = "controlled_blending"
    MASS_BALANCE = "mass_balance"


MEANING: Mapping[Custody, str] = {
    Custody.IDENTITY_PRESERVED: (
        "All of the material was set aside at one place and kept apart from all other material."
    ),
    Custody.SEGREGATED: (
        "All of the material was set aside at places of this community. Material of several places"
        " was mixed, and none from elsewhere."
    ),
    Custody.CONTROLLED_BLENDING: (
        "Material set aside at places of this community was mixed with bought material in a known"
        " proportion, which is in every piece."
    ),
    Custody.MASS_BALANCE: (
        "The proportion of material set aside in this community is known on average over what was"
        " made, not for each piece."
    ),
}


@dataclass(frozen=True, kw_only=True)
class Content:
    """What a batch was charged with, in g: collected, cut off in the workshop before, bought."""

    collected_g: int
    regrind_g: int
    bought_g: int

    def __post_init__(self) -> None:
        if min(self.collected_g, self.regrind_g, self.bought_g) < 0:
            raise ValueError("a mass is not negative")
        if self.collected_g + self.regrind_g + self.bought_g == 0:
            raise ValueError("a product has some mass")


def custody_of(*, places: int, bought_g: int, regrind_is_mixed: bool) -> Custody:
    """Return the model that the ledger bears out.

    `regrind_is_mixed` says that offcuts went in which hold bought material in a share that is not
    followed. Raises ValueError when it came from no place.
    """
    if places < 1:
        raise ValueError("what is in a product came from somewhere")
    if regrind_is_mixed:
        return Custody.MASS_BALANCE
    if bought_g:
        return Custody.CONTROLLED_BLENDING
    return Custody.IDENTITY_PRESERVED if places == 1 else Custody.SEGREGATED


def recycled_percent(content: Content) -> int:
    """Return the recycled content in whole per cent, rounded down.

    X = A / P × 100, where A is what was collected and P all of it. Offcuts that go in again are
    never counted as recycled: they are of the same process. Source: ISO 14021 §7.8.
    """
    whole_g = content.collected_g + content.regrind_g + content.bought_g
    return 100 * content.collected_g // whole_g


def mixed(parts: Mapping[K, int], of: Mapping[K, Mapping[K, Fraction]]) -> dict[K, Fraction]:
    """Return what a mix is made of, from the grams of its parts and what each is made of."""
    whole_g = sum(parts.values())
    if whole_g <= 0:
        raise ValueError("a mix has some mass")
    made_of: dict[K, Fraction] = {}
    for part, mass_g in parts.items():
        for origin, share in of[part].items():
            made_of[origin] = made_of.get(origin, Fraction(0)) + share * mass_g / whole_g
    return made_of


def in_parts(shares: Mapping[K, Fraction], whole: int) -> dict[K, int]:
    """Return shares as whole parts of a whole, which add up to it (largest remainder)."""
    common = lcm(*(share.denominator for share in shares.values()))
    weights = [int(share * common) for share in shares.values()]
    return dict(zip(shares, largest_remainder(whole, weights), strict=True))
