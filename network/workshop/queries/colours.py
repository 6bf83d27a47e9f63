"""Which of a maker's own colours a measured one is nearest to."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from network.errors import InvalidInput
from network.people.core.actor import Actor
from network.workshop.core.colour import (
    SAME_TO_THE_EYE,
    Lab,
    Patch,
    from_photo,
    nearest,
    photo_uncertainty,
)
from network.workshop.models import NamedColour
from network.workshop.queries.seen import colours_seen_by

Rgb = tuple[float, float, float]
CARD_LIGHTNESS = 50.0  # a photographer's 18 % grey card
COVERAGE = 2


@dataclass(frozen=True, kw_only=True)
class PhotoReading:
    """The sample and a neutral card beside it in 8-bit sRGB, and the card's lightness L*."""

    sample: Rgb
    card: Rgb
    sample_spread: Rgb = (0.0, 0.0, 0.0)
    card_spread: Rgb = (0.0, 0.0, 0.0)
    card_lightness: float = CARD_LIGHTNESS

    @property
    def patches(self) -> tuple[Patch, Patch]:
        """The sample's patch and the card's."""
        return (
            Patch(rgb=self.sample, spread=self.sample_spread),
            Patch(rgb=self.card, spread=self.card_spread),
        )


@dataclass(frozen=True, kw_only=True)
class Near:
    """A named colour and how far it is from the measured one, in CIEDE2000."""

    colour: NamedColour
    difference: float


@dataclass(frozen=True, kw_only=True)
class Match:
    """The measured colour as L*a*b* (D65), and the named ones, nearest first.

    `uncertainty` is what the photo's own spread makes of it in CIEDE2000 (k = 2), None without one.
    `is_clear` says that the nearest is nearer than the next by more than that.
    """

    lab: Sequence[Decimal]
    near: Sequence[Near]
    looks_the_same: bool
    uncertainty: float | None
    is_clear: bool


def match_colour(
    actor: Actor,
    maker_id: UUID,
    *,
    lab: Sequence[Decimal] | None = None,
    photo: PhotoReading | None = None,
) -> Match:
    """Return the named colours nearest to one measured, as L*a*b* or by a photo.

    Raises InvalidInput for a colour that is none, or when neither is given.
    """
    measured = _measured(lab, photo)
    colours = {
        str(colour.id): colour
        for colour in colours_seen_by(actor).filter(maker_id=maker_id, lab_l__isnull=False)
    }
    apart = nearest(measured, {key: _lab(colour) for key, colour in colours.items()})
    off = None if photo is None or lab is not None else _off(photo)
    cents = Decimal("0.01")
    parts = (measured.lightness, measured.a, measured.b)
    return Match(
        lab=[Decimal(part).quantize(cents) for part in parts],
        near=[Near(colour=colours[key], difference=round(d, 2)) for key, d in apart],
        looks_the_same=bool(apart) and apart[0][1] < SAME_TO_THE_EYE,
        uncertainty=None if off is None else round(off, 2),
        is_clear=_is_clear([d for _key, d in apart], off or 0.0),
    )


def _off(photo: PhotoReading) -> float:
    return COVERAGE * photo_uncertainty(*photo.patches, card_lightness=photo.card_lightness)


def _is_clear(differences: Sequence[float], off: float) -> bool:
    match differences:
        case []:
            return False
        case [nearest_one, next_one, *_]:
            return next_one - nearest_one > off
    return True


def _measured(lab: Sequence[Decimal] | None, photo: PhotoReading | None) -> Lab:
    try:
        if lab is not None:
            lightness, a, b = (float(part) for part in lab)
            return Lab(lightness=lightness, a=a, b=b)
        if photo is not None:
            return from_photo(*photo.patches, card_lightness=photo.card_lightness)
    except ValueError as fault:
        raise InvalidInput.of(
            "lab" if photo is None else "photo",
            f"This is no colour: {fault}.",
            "Take the photo again, in even light, with the card beside the piece.",
        ) from None
    raise InvalidInput.of("lab", "No colour is given.", "Send lab, or photo.")


def _lab(colour: NamedColour) -> Lab:
    return Lab(
        lightness=float(colour.lab_l or 0), a=float(colour.lab_a or 0), b=float(colour.lab_b or 0)
    )
