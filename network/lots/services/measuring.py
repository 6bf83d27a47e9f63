"""How a mass was found: what a person enters, and the weighing that comes of it."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from network.errors import InvalidInput, NotFound
from network.ids import new_id
from network.lots.core import mass
from network.lots.models import Lot, Scale, Weighing
from network.lots.services.common import refuse_reuse
from network.materials import catalogue
from network.materials.core.amounts import EstimatedMass, mass_of_count, mass_of_volume
from network.materials.core.resins import Item
from network.people.core.actor import MAKER, Actor
from network.places.models import Agreement, Container

# Five tonnes: more than a van carries, so a larger figure is a slip of the unit.
GROSS_G_MAX = 5_000_000
INTERVALS_MAX = 10_000
FILL_PERCENT_MAX = 150
PIECES_MAX = 1_000_000


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What a person enters for a mass; which parts are needed depends on the method.

    weighed: gross_g, scale_id, tare_g (the container's own when left out); counted: pieces;
    volume: percent; estimated: gross_g, tare_g.
    """

    method: str
    gross_g: int | None = None
    tare_g: int | None = None
    scale_id: UUID | None = None
    percent: int | None = None
    pieces: int | None = None


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A mass, how and on what it was found, and the common cause it shares with others."""

    method: str
    mass: mass.Mass
    shared_by: str
    scale: Scale | None = None


def add_scale(
    actor: Actor,
    *,
    scale_id: UUID,
    maker_id: UUID,
    name: str,
    max_g: int,
    interval_g: int,
    repeatability_g: int = 0,
    for_trade: bool = False,
) -> Scale:
    """Add a maker's scale, as its plate states it, and return it.

    Raises NotAllowed, InvalidInput when the plate cannot be that of a class III scale, Conflict
    for a name in use.
    """
    actor.require(MAKER, organisation_id=maker_id)
    refuse_reuse(Scale.objects.filter(id=scale_id))
    if not 0 < interval_g < max_g <= INTERVALS_MAX * interval_g:
        raise InvalidInput.of(
            "interval_g",
            f"A scale has at most {INTERVALS_MAX} intervals up to its highest load.",
            "Read Max and e off the scale's plate and send both in grams.",
        )
    if Scale.objects.filter(community_id=actor.community_id, maker_id=maker_id, name=name).exists():
        raise InvalidInput.of("name", "Another scale has this name.", "Choose another name.")
    return Scale.objects.create(
        id=scale_id,
        community_id=actor.community_id,
        maker_id=maker_id,
        name=name,
        max_g=max_g,
        interval_g=interval_g,
        repeatability_g=repeatability_g,
        for_trade=for_trade,
    )


def measure(
    actor: Actor, *, reading: Reading, maker_id: UUID, container: Container | None = None
) -> Measured:
    """Return the mass that a reading gives; raises InvalidInput naming the part that is wrong."""
    if reading.method == Weighing.Method.WEIGHED:
        measured = _weighed(actor, reading, maker_id, container)
    elif reading.method == Weighing.Method.ESTIMATED:
        gross_g, tare_g = _loads(reading, container)
        told = mass.by_eye(gross_g=gross_g, tare_g=tare_g)
        measured = Measured(method=reading.method, mass=told, shared_by="by_eye")
    elif container is None:
        raise InvalidInput.of("method", "Outside of a container it is weighed.", "Weigh it.")
    elif reading.method == Weighing.Method.COUNTED:
        measured = _counted(reading, container.agreement)
    elif reading.method == Weighing.Method.VOLUME:
        measured = _by_volume(reading, container)
    else:
        mend = "Use one of: " + ", ".join(Weighing.Method.values) + "."
        raise InvalidInput.of("method", "This method is not known.", mend)
    return measured


def save_weighing(
    actor: Actor, *, lot: Lot, stage: str, measured: Measured, at: datetime
) -> Weighing:
    """Save a mass as a weighing of a lot, with the workings of its uncertainty."""
    weighing = weighing_of(actor, lot=lot, stage=stage, measured=measured, at=at, id=new_id())
    weighing.save(force_insert=True)
    return weighing


def weighing_of(
    actor: Actor,
    *,
    lot: Lot,
    stage: str,
    measured: Measured,
    at: datetime,
    id: UUID,  # noqa: A002  # the id of what is made
) -> Weighing:
    """Return a mass as a weighing of a lot, not saved."""
    found = measured.mass
    return Weighing(
        id=id,
        community_id=actor.community_id,
        lot=lot,
        stage=stage,
        method=measured.method,
        gross_g=found.gross_g,
        tare_g=found.tare_g,
        net_g=found.net_g,
        uncertainty_mg=round(found.standard_mg),
        budget=_budget(measured),
        scale=measured.scale,
        at=at,
        by_id=actor.user_id,
    )


def _budget(measured: Measured) -> dict[str, object]:
    found = measured.mass
    return {
        "components": [
            {"name": part.name, "standard_mg": round(part.standard_mg), "shared": part.shared}
            for part in found.components
        ],
        "shared_by": measured.shared_by,
        "shared_mg": round(found.shared_mg),
        "own_mg": round(found.own_mg),
        "expanded_mg": round(found.expanded_mg),
        "coverage_factor": mass.COVERAGE_FACTOR,
        "warnings": list(found.warnings),
    }


def _weighed(
    actor: Actor, reading: Reading, maker_id: UUID, container: Container | None
) -> Measured:
    if reading.scale_id is None:
        raise InvalidInput.of("scale_id", "What was weighed names its scale.", "Choose the scale.")
    try:
        scale = Scale.objects.get(
            id=reading.scale_id, community_id=actor.community_id, maker_id=maker_id
        )
    except Scale.DoesNotExist:
        raise NotFound("There is no such scale here.") from None
    return on_scale(scale, reading, container)


def on_scale(scale: Scale, reading: Reading, container: Container | None = None) -> Measured:
    """Return the mass that a scale shows; raises InvalidInput naming the part that is wrong."""
    gross_g, tare_g = _loads(reading, container)
    if gross_g > scale.max_g:
        raise InvalidInput.of(
            "gross_g",
            f"{scale.name} weighs up to {scale.max_g} g.",
            "Weigh it in parts or on a larger scale.",
        )
    found = mass.weighed(
        gross_g=gross_g,
        tare_g=tare_g,
        interval_g=scale.interval_g,
        repeatability_g=scale.repeatability_g,
    )
    return Measured(method=reading.method, mass=found, shared_by=f"scale:{scale.id}", scale=scale)


def _loads(reading: Reading, container: Container | None) -> tuple[int, int]:
    """Return the gross mass and the tare, in g, checked."""
    tare_g = reading.tare_g
    if tare_g is None:
        tare_g = container.tare_g if container else 0
    if reading.gross_g is None or not 0 < reading.gross_g <= GROSS_G_MAX:
        mend = f"Send whole grams from 1 to {GROSS_G_MAX}."
        raise InvalidInput.of("gross_g", "There is no gross mass that can be used.", mend)
    if not 0 <= tare_g < reading.gross_g:
        raise InvalidInput.of(
            "tare_g",
            "The container alone weighs no less than all together, so nothing would be left.",
            "Look at both readings again; if the container was empty, skip it.",
        )
    return reading.gross_g, tare_g


def _counted(reading: Reading, agreement: Agreement) -> Measured:
    if reading.pieces is None or not 0 < reading.pieces <= PIECES_MAX:
        mend = f"Send a number from 1 to {PIECES_MAX}."
        raise InvalidInput.of("pieces", "It is not said how many there are.", mend)
    figure = _item(agreement).unit_mass
    if figure is None:
        raise _no_figure("pieces", agreement)
    return _estimated(reading, "pieces", mass_of_count(reading.pieces, figure), agreement)


def _by_volume(reading: Reading, container: Container) -> Measured:
    agreement = container.agreement
    percent = reading.percent
    if percent is None or not 0 < percent <= FILL_PERCENT_MAX:
        mend = f"Send how full it was, from 1 to {FILL_PERCENT_MAX}; skip an empty one."
        raise InvalidInput.of("percent", "It is not said how full it was.", mend)
    figure = _item(agreement).bulk_density
    if figure is None:
        raise _no_figure("percent", agreement)
    found = mass_of_volume(container.volume_ml * percent // 100, figure)
    return _estimated(
        reading,
        "percent",
        found,
        agreement,
        amount_half_width_g=found.mass_g * mass.FILL_HALF_WIDTH_PERCENT / percent,
    )


def _estimated(
    reading: Reading,
    field: str,
    found: EstimatedMass,
    agreement: Agreement,
    *,
    amount_half_width_g: float = 0,
) -> Measured:
    if not 0 < found.mass_g <= GROSS_G_MAX:
        detail = "That would be less than a gram or more than a van carries."
        raise InvalidInput.of(field, detail, "Weigh it instead.")
    return Measured(
        method=reading.method,
        mass=mass.estimated(
            mass_g=found.mass_g,
            low_g=found.low_g,
            high_g=found.high_g,
            amount_half_width_g=amount_half_width_g,
        ),
        shared_by=f"{reading.method}:{agreement.main_item_id}",
    )


def _item(agreement: Agreement) -> Item:
    return catalogue.items()[agreement.main_item_id]


def _no_figure(field: str, agreement: Agreement) -> InvalidInput:
    detail = f"No figure is known of {agreement.main_item}, so its mass cannot be worked out."
    return InvalidInput.of(field, detail, "Weigh it instead.")
