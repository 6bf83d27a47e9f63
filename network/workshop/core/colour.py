"""Colours as measured: from a photo with a grey card to L*a*b*, and how far two are apart.

The conversions and CIEDE2000 are those of the library coloraide; the tests hold them against the
pairs of Sharma, Wu and Dalal (2005).
"""

from collections.abc import Mapping
from dataclasses import dataclass

from coloraide import Color

_LAB = "lab-d65"
_BYTE = 255
_LIGHTNESS_MAX = 100
_AB_MAX = 200
# Seen side by side, fewer than two units are hardly told apart (common practice).
SAME_TO_THE_EYE = 2.0


@dataclass(frozen=True, kw_only=True)
class Lab:
    """A colour in CIE L*a*b*, for D65."""

    lightness: float
    a: float
    b: float

    def __post_init__(self) -> None:
        if not 0 <= self.lightness <= _LIGHTNESS_MAX or max(abs(self.a), abs(self.b)) > _AB_MAX:
            raise ValueError("L* is from 0 to 100, a* and b* from -200 to 200")


def difference(one: Lab, other: Lab) -> float:
    """Return the colour difference CIEDE2000 of two colours."""
    colours = [Color(_LAB, [lab.lightness, lab.a, lab.b]) for lab in (one, other)]
    return float(colours[0].delta_e(colours[1], method="2000", space=_LAB))


def from_photo(
    sample: tuple[int, int, int], card: tuple[int, int, int], *, card_lightness: float
) -> Lab:
    """Return the colour of a sample, photographed beside a neutral card of known lightness.

    Both as 8-bit sRGB. Each channel is scaled so that the card becomes the grey that it is.
    Raises ValueError for a card that is black or burnt out, which says nothing of the light.
    """
    if not all(0 < channel < _BYTE for channel in card):
        raise ValueError("the card is black or burnt out in the photo")
    seen, light = (_linear(rgb) for rgb in (sample, card))
    grey = Color(_LAB, [card_lightness, 0, 0]).convert("srgb-linear").coords()
    true = [s * g / c for s, c, g in zip(seen, light, grey, strict=True)]
    lightness, a, b = Color("srgb-linear", true).convert(_LAB).coords()
    return Lab(lightness=min(100.0, max(0.0, lightness)), a=a, b=b)


def nearest(lab: Lab, named: Mapping[str, Lab]) -> list[tuple[str, float]]:
    """Return the named colours with their difference from one that was measured, nearest first."""
    apart = [(name, difference(lab, other)) for name, other in named.items()]
    return sorted(apart, key=lambda pair: (pair[1], pair[0]))


def _linear(rgb: tuple[int, int, int]) -> list[float]:
    return Color("srgb", [channel / _BYTE for channel in rgb]).convert("srgb-linear").coords()
