"""What a maker writes down: colours, what lots are made of, presses, and the limits."""

from collections.abc import Sequence
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from network.errors import InvalidInput, NotFound
from network.lots.models import Lot
from network.lots.services.common import own_lot, refuse_reuse
from network.materials.models import Resin, Stream
from network.materials.queries import stream_in
from network.people.core.actor import MAKER, ORGANISER, Actor
from network.workshop.core.colour import Lab
from network.workshop.models import (
    SET_C_MAX,
    SET_C_MIN,
    HeatLimit,
    LotMaterial,
    NamedColour,
    Press,
    StreamCertainty,
)
from network.workshop.services.common import own_colour, own_maker

CERTAINTY_MIN = Decimal("0.5")
CERTAINTY_MAX = Decimal("0.999")
HEATS_C_MAX = 400


def add_colour(
    actor: Actor,
    *,
    colour_id: UUID,
    maker_id: UUID,
    name: str,
    lab: Sequence[Decimal] | None = None,
) -> NamedColour:
    """Name a colour, with its L*a*b* (D65) where measured; raises InvalidInput."""
    maker = own_maker(actor, maker_id)
    refuse_reuse(NamedColour.objects.filter(id=colour_id))
    _refuse_double(NamedColour.objects.filter(maker=maker, name=name).exists())
    lightness, a, b = lab or (None, None, None)
    if lab is not None:
        _check_lab(lab)
    return NamedColour.objects.create(
        id=colour_id,
        community_id=actor.community_id,
        maker=maker,
        name=name,
        lab_l=lightness,
        lab_a=a,
        lab_b=b,
    )


@transaction.atomic
def measure_colour(actor: Actor, *, colour_id: UUID, lab: Sequence[Decimal]) -> NamedColour:
    """Keep the L*a*b* (D65) that a colour was measured as, in place of an earlier one.

    Raises NotFound for a colour of another maker, InvalidInput for a colour that is none.
    """
    colour = (
        NamedColour.objects.select_for_update(of=("self",))
        .filter(id=colour_id, community_id=actor.community_id, maker_id__in=actor.held_for(MAKER))
        .first()
    )
    if colour is None:
        raise NotFound("There is no such colour here.")
    _check_lab(lab)
    colour.lab_l, colour.lab_a, colour.lab_b = lab
    colour.save(update_fields=["lab_l", "lab_a", "lab_b"])
    return colour


@transaction.atomic
def describe_lot(
    actor: Actor,
    *,
    lot_id: UUID,
    resin: str = "",
    forming: str = "unknown",
    colour_id: UUID | None = None,
    melt_flow: Decimal | None = None,
    melt_flow_condition: str = "",
) -> LotMaterial:
    """Say what a lot is made of, in place of what was said before.

    Raises NotFound for the lot, InvalidInput for a resin, colour or flow that cannot be.
    """
    lot: Lot = own_lot(actor, lot_id)
    if resin and not Resin.objects.filter(symbol=resin).exists():
        raise InvalidInput.of("resin", "This resin is not known.", "Choose a listed resin.")
    if colour_id is not None:
        own_colour(lot.maker_id, colour_id, field="colour_id")
    check_flow(melt_flow, melt_flow_condition, field="melt_flow")
    material, _ = LotMaterial.objects.update_or_create(
        lot=lot,
        defaults={
            "community_id": actor.community_id,
            "resin_id": resin or None,
            "forming": forming,
            "colour_id": colour_id,
            "melt_flow": melt_flow,
            "melt_flow_condition": melt_flow_condition,
        },
    )
    return material


def check_flow(melt_flow: Decimal | None, condition: str, *, field: str) -> None:
    """Raise InvalidInput unless a flow has its condition, or neither is given."""
    if (melt_flow is None) != (condition == "") or (melt_flow is not None and melt_flow <= 0):
        raise InvalidInput.of(
            field,
            "A melt flow is a number above zero and says how it was measured.",
            "Send both, or neither: 190/2.16 for polyethylene, 230/2.16 for polypropylene.",
        )


def add_press(
    actor: Actor,
    *,
    press_id: UUID,
    maker_id: UUID,
    name: str,
    is_settable: bool,
    heats_c_max: int,
    rating_n: int,
    cooling: str,
) -> Press:
    """Add a maker's heat source and press; raises InvalidInput for a name in use."""
    maker = own_maker(actor, maker_id)
    refuse_reuse(Press.objects.filter(id=press_id))
    _refuse_double(Press.objects.filter(maker=maker, name=name).exists())
    if rating_n <= 0 or not SET_C_MIN <= heats_c_max <= HEATS_C_MAX:
        raise InvalidInput.of(
            "heats_c_max" if rating_n > 0 else "rating_n",
            "No press is like that.",
            f"Read the plates: newtons above zero, and from {SET_C_MIN} to {HEATS_C_MAX} °C.",
        )
    return Press.objects.create(
        id=press_id,
        community_id=actor.community_id,
        maker=maker,
        name=name,
        is_settable=is_settable,
        heats_c_max=heats_c_max,
        rating_n=rating_n,
        cooling=cooling,
    )


@transaction.atomic
def set_heat_limit(actor: Actor, *, set_c_max: int) -> HeatLimit:
    """Set the highest temperature of a community; it is never above 180 °C.

    Raises NotAllowed, or InvalidInput outside of what can be a limit.
    """
    actor.require(ORGANISER)
    if not SET_C_MIN <= set_c_max <= SET_C_MAX:
        raise InvalidInput.of(
            "set_c_max",
            f"A limit is from {SET_C_MIN} to {SET_C_MAX} °C.",
            f"Send {SET_C_MAX} or less: a community may only lower the limit.",
        )
    limit, _ = HeatLimit.objects.update_or_create(
        community_id=actor.community_id,
        defaults={
            "set_c_max": set_c_max,
            "changed_at": timezone.now(),
            "by_id": actor.user_id,
        },
    )
    return limit


@transaction.atomic
def set_certainty(actor: Actor, *, stream_id: UUID, certainty_min: Decimal) -> StreamCertainty:
    """Set how sure an identification must be for a stream; raises NotAllowed, InvalidInput."""
    stream: Stream = stream_in(actor.community_id, stream_id)
    actor.require(MAKER, organisation_id=stream.maker_id)
    if not CERTAINTY_MIN <= certainty_min <= CERTAINTY_MAX:
        raise InvalidInput.of(
            "certainty_min",
            "This is not a limit that sets anything aside, or it sets all aside.",
            f"Send a share from {CERTAINTY_MIN} to {CERTAINTY_MAX}, such as 0.9.",
        )
    certainty, _ = StreamCertainty.objects.update_or_create(
        stream=stream,
        defaults={"community_id": actor.community_id, "certainty_min": certainty_min},
    )
    return certainty


def _refuse_double(is_there: bool) -> None:  # noqa: FBT001  # what was asked of the database
    if is_there:
        raise InvalidInput.of("name", "Another one has this name.", "Choose another name.")


def _check_lab(lab: Sequence[Decimal]) -> None:
    lightness, a, b = (float(part) for part in lab)
    try:
        Lab(lightness=lightness, a=a, b=b)
    except ValueError as fault:
        raise InvalidInput.of("lab", f"This is no colour: {fault}.", "Measure it again.") from None
