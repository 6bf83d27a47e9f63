"""Which of a maker's own colours a measured one is nearest to."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from network.errors import InvalidInput
from network.people.core.actor import Actor
from network.workshop.core.colour import SAME_TO_THE_EYE, Lab, from_photo, nearest
from network.workshop.models import NamedColour
from network.workshop.queries.seen import colours_seen_by

CARD_LIGHTNESS = 50.0  # a photographer's 18 % grey card


@dataclass(frozen=True, kw_only=True)
class PhotoReading:
    """8-bit sRGB of the sample and of a neutral card beside it, and the card's lightness L*."""

    sample: tuple[int, int, int]
    card: tuple[int, int, int]
    card_lightness: float = CARD_LIGHTNESS


@dataclass(frozen=True, kw_only=True)
class Near:
    """A named colour and how far it is from the measured one, in CIEDE2000."""

    colour: NamedColour
    difference: float


@dataclass(frozen=True, kw_only=True)
class Match:
    """The measured colour as L*a*b* (D65), and the named ones, nearest first."""

    lab: Sequence[Decimal]
    near: Sequence[Near]
    looks_the_same: bool


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
    cents = Decimal("0.01")
    parts = (measured.lightness, measured.a, measured.b)
    return Match(
        lab=[Decimal(part).quantize(cents) for part in parts],
        near=[Near(colour=colours[key], difference=round(d, 2)) for key, d in apart],
        looks_the_same=bool(apart) and apart[0][1] < SAME_TO_THE_EYE,
    )


def _measured(lab: Sequence[Decimal] | None, photo: PhotoReading | None) -> Lab:
    try:
        if lab is not None:
            lightness, a, b = (float(part) for part in lab)
            return Lab(lightness=lightness, a=a, b=b)
        if photo is not None:
            return from_photo(photo.sample, photo.card, card_lightness=photo.card_lightness)
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
