"""What lots are made of, as far as it is known, and what of that may go together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from network.lots.models import Lot
from network.materials import catalogue
from network.materials.core.dangerous import danger_of
from network.materials.models import Item, RuleVersion
from network.workshop.core.compatible import Fit, fit_of
from network.workshop.core.melt_flow import Part
from network.workshop.models import LotMaterial
from network.workshop.refusals import IncompatibleResin

UNKNOWN = Item.Forming.UNKNOWN.value


@dataclass(frozen=True, kw_only=True)
class Facts:
    """What a lot is made of; a part that is empty or None is not known."""

    resin: str = ""
    forming: str = UNKNOWN
    colour_id: UUID | None = None
    melt_flow: Decimal | None = None
    melt_flow_condition: str = ""


def facts_of(lots: Sequence[Lot]) -> dict[UUID, Facts]:
    """Return what each lot is made of: as described, else as its agreement leaves no choice."""
    described = {m.lot_id: m for m in LotMaterial.objects.filter(lot__in=lots)}
    return {
        lot.id: _described(described[lot.id]) if lot.id in described else _agreed(lot)
        for lot in lots
    }


def common_facts(facts: Sequence[Facts]) -> Facts:
    """Return what all of these have in common."""
    first = facts[0]
    same = {
        name: getattr(first, name)
        for name in ("resin", "forming", "colour_id")
        if all(getattr(other, name) == getattr(first, name) for other in facts)
    }
    flows = {(one.melt_flow, one.melt_flow_condition) for one in facts}
    if len(flows) == 1:
        same |= {
            "melt_flow": first.melt_flow,
            "melt_flow_condition": first.melt_flow_condition,
        }
    return Facts(**same)


def check_resins(resins: Mapping[str, str]) -> None:
    """Raise IncompatibleResin, naming the field, unless these may be melted together.

    `resins` are symbols by the field that names them.
    """
    first_field, first = next(iter(resins.items()))
    for field, resin in resins.items():
        if not resin:
            raise IncompatibleResin.of(
                field,
                "It is not known what this lot is made of, so it is not melted.",
                "Identify a piece of it and describe the lot, or leave it out.",
            )
        danger = danger_of(resin) or catalogue.resins()[resin].danger
        if danger:
            raise IncompatibleResin.of(
                field, f"{resin} is never melted: {danger}", "Set it aside for those licensed."
            )
        if fit_of(first, resin) is Fit.NEVER:
            raise IncompatibleResin.of(
                field,
                f"{resin} does not go together with {first} ({first_field}).",
                f"Take only lots of {first}, or make two batches.",
            )


def flow_part(facts: Facts, mass_g: int) -> Part:
    """Return a lot's grams as a part of a mix whose flow is estimated."""
    return Part(
        mass_g=mass_g,
        resin=facts.resin,
        is_blown=facts.forming == Item.Forming.BLOW,
        flow=None if facts.melt_flow is None else float(facts.melt_flow),
        condition=facts.melt_flow_condition,
    )


def _described(material: LotMaterial) -> Facts:
    return Facts(
        resin=material.resin_id or "",
        forming=material.forming,
        colour_id=material.colour_id,
        melt_flow=material.melt_flow,
        melt_flow_condition=material.melt_flow_condition,
    )


def _agreed(lot: Lot) -> Facts:
    if lot.agreement is None:
        # A mix of several places: what every version of the stream's rules took.
        versions = RuleVersion.objects.filter(stream_id=lot.stream_id)
        taken = {resin for version in versions for resin in version.rules["resins"]}
        return Facts(resin=taken.pop() if len(taken) == 1 else "")
    resins = lot.agreement.rule_version.rules["resins"]
    item = catalogue.items().get(lot.agreement.main_item_id)
    return Facts(
        resin=resins[0] if len(resins) == 1 else "",
        forming=item.forming.value if item and item.forming else UNKNOWN,
    )
