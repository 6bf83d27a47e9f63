"""Colours as measured: from a photo with a grey card to L*a*b*, and how far two are apart.

The conversions and CIEDE2000 are those of the library coloraide; the tests hold them against the
pairs of Sharma, Wu and Dalal (2005).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, sqrt

from coloraide import Color

_LAB = "lab-d65"
_BYTE = 255
_LIGHTNESS_MAX = 100
_AB_MAX = 200
# A channel is told in whole steps: half a step either way, evenly (JCGM 100:2008, 4.3.7).
_STEP_SPREAD = 1 / sqrt(12)
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


@dataclass(frozen=True, kw_only=True)
class Patch:
    """A patch of a photo: its mean in 8-bit sRGB, and the standard deviation of its pixels."""

    rgb: tuple[float, float, float]
    spread: tuple[float, float, float] = (0.0, 0.0, 0.0)


def difference(one: Lab, other: Lab) -> float:
    """Return the colour difference CIEDE2000 of two colours."""
    colours = [Color(_LAB, [lab.lightness, lab.a, lab.b]) for lab in (one, other)]
    return float(colours[0].delta_e(colours[1], method="2000", space=_LAB))


def from_photo(sample: Patch, card: Patch, *, card_lightness: float) -> Lab:
    """Return the colour of a sample, photographed beside a neutral card of known lightness.

    Each channel is scaled so that the card becomes the grey that it is.
    Raises ValueError for a card that is black or burnt out, which says nothing of the light.
    """
    if not all(0 < channel < _BYTE for channel in card.rgb):
        raise ValueError("the card is black or burnt out in the photo")
    return _under_daylight(sample.rgb, card.rgb, card_lightness)


def photo_uncertainty(sample: Patch, card: Patch, *, card_lightness: float) -> float:
    """Return how far off the colour may be by the spread of both patches, in CIEDE2000 (k = 1).

    Each channel is moved by its spread in turn, and the differences are added in squares, as JCGM
    100:2008, 5.1.3 note 2 has it. What is off in the whole photo is not in it, such as a card of
    another grey, or light that falls otherwise on card and sample.
    """
    here = from_photo(sample, card, card_lightness=card_lightness)
    moved = [
        _under_daylight(_moved(sample, channel), card.rgb, card_lightness) for channel in range(3)
    ]
    moved += [
        _under_daylight(sample.rgb, _moved(card, channel), card_lightness) for channel in range(3)
    ]
    return hypot(*(difference(here, there) for there in moved))


def nearest(lab: Lab, named: Mapping[str, Lab]) -> list[tuple[str, float]]:
    """Return the named colours with their difference from one that was measured, nearest first."""
    apart = [(name, difference(lab, other)) for name, other in named.items()]
    return sorted(apart, key=lambda pair: (pair[1], pair[0]))


def _under_daylight(
    sample: tuple[float, ...], card: tuple[float, ...], card_lightness: float
) -> Lab:
    seen, light = _linear(sample), _linear(card)
    grey = Color(_LAB, [card_lightness, 0, 0]).convert("srgb-linear").coords()
    true = [s * g / c for s, c, g in zip(seen, light, grey, strict=True)]
    lightness, a, b = Color("srgb-linear", true).convert(_LAB).coords()
    return Lab(lightness=min(100.0, max(0.0, lightness)), a=a, b=b)


def _moved(patch: Patch, channel: int) -> tuple[float, ...]:
    """Return a patch's mean with one channel moved by its spread, towards the middle."""
    by = hypot(patch.spread[channel], _STEP_SPREAD)
    rgb = list(patch.rgb)
    rgb[channel] += by if rgb[channel] < _BYTE / 2 else -by
    return tuple(rgb)


def _linear(rgb: tuple[float, ...]) -> list[float]:
    return Color("srgb", [channel / _BYTE for channel in rgb]).convert("srgb-linear").coords()
