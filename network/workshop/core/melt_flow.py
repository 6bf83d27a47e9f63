"""The melt flow of a mix, by the log-additive rule, and how far that rule may be trusted.

ln MFR is the mean of the parts' ln MFR by mass. Nielsen, Polymer Rheology (1977), as cited in a
secondary source; tested on virgin and recycled polypropylene by Traxler et al., Polymers 14
(2022), 2699. It is for miscible resins of one family; polyethylene with polypropylene is
immiscible, so there it only indicates.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import exp, log

# A trade note, read in a secondary source: beyond this ratio of flows the rule is off.
RATIO_MAX = 3.3
# Common practice, no published source: caps flow, blow-moulded bottles hardly; about one third of
# bottle, cut small and spread through, in two thirds of cap still fills a mould.
BLOWN_SHARE_MAX = 1 / 3
# From memory, unverified: a sheet of pieces of lower flow than this is pressed thick or not at all.
FLOW_MIN = 1.0


class FlowWarning(StrEnum):
    """Why an estimate of flow is to be doubted, or the mix with it."""

    RATIO = "ratio"
    IMMISCIBLE = "immiscible"
    TWO_CONDITIONS = "two_conditions"
    UNKNOWN_PART = "unknown_part"
    BLOWN = "blown"
    STIFF = "stiff"


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part of a mix: grams, resin, how it was formed, and its flow (g/10 min) where known."""

    mass_g: int
    resin: str
    is_blown: bool
    flow: float | None = None
    condition: str = ""

    def __post_init__(self) -> None:
        if self.mass_g <= 0:
            raise ValueError("a part has some mass")
        if self.flow is not None and not (self.flow > 0 and self.condition):
            raise ValueError("a flow is above zero and says how it was measured")


@dataclass(frozen=True, kw_only=True)
class MixFlow:
    """The flow of a mix where it can be worked out, its condition, and what to be wary of.

    `blown_share_max` is the largest share of the blow-moulded parts, in the same ratio to each
    other, at which the mix would reach `FLOW_MIN`; None where flows are not known.
    """

    flow: float | None
    condition: str
    blown_share: float
    blown_share_max: float | None
    warnings: tuple[FlowWarning, ...]


def flow_of_mix(parts: Sequence[Part]) -> MixFlow:
    """Return the melt flow of parts mixed by mass; raises ValueError for no parts."""
    if not parts:
        raise ValueError("a mix has parts")
    conditions = {part.condition for part in parts if part.flow is not None}
    known = all(part.flow is not None for part in parts)
    blown_share = _share(parts, [part for part in parts if part.is_blown])
    flow = _log_mean(parts) if known and len(conditions) == 1 else None
    return MixFlow(
        flow=flow,
        condition=next(iter(conditions)) if flow is not None else "",
        blown_share=blown_share,
        blown_share_max=None if flow is None else _blown_share_max(parts),
        warnings=tuple(_warnings(parts, flow, blown_share, conditions)),
    )


def _log_mean(parts: Sequence[Part]) -> float:
    whole_g = sum(part.mass_g for part in parts)
    return exp(sum(part.mass_g * log(part.flow) for part in parts if part.flow) / whole_g)


def _share(parts: Sequence[Part], some: Sequence[Part]) -> float:
    return sum(part.mass_g for part in some) / sum(part.mass_g for part in parts)


def _blown_share_max(parts: Sequence[Part]) -> float | None:
    """Return the share of blow-moulded material at which the mix just reaches the least flow."""
    stiff = [part for part in parts if part.is_blown]
    free = [part for part in parts if not part.is_blown]
    if not stiff or not free:
        return None
    ln_stiff, ln_free, ln_min = log(_log_mean(stiff)), log(_log_mean(free)), log(FLOW_MIN)
    if ln_stiff >= ln_min:
        return 1.0
    if ln_free <= ln_min:
        return 0.0
    return (ln_free - ln_min) / (ln_free - ln_stiff)


def _warnings(
    parts: Sequence[Part], flow: float | None, blown_share: float, conditions: set[str]
) -> list[FlowWarning]:
    flows = [part.flow for part in parts if part.flow is not None]
    found = {
        FlowWarning.RATIO: bool(flows) and max(flows) / min(flows) > RATIO_MAX,
        FlowWarning.IMMISCIBLE: len({part.resin for part in parts}) > 1,
        FlowWarning.TWO_CONDITIONS: len(conditions) > 1,
        FlowWarning.UNKNOWN_PART: len(flows) < len(parts),
        FlowWarning.BLOWN: blown_share > BLOWN_SHARE_MAX,
        FlowWarning.STIFF: flow is not None and flow < FLOW_MIN,
    }
    return [warning for warning, holds in found.items() if holds]
