"""How long work took on what went on into some pieces, from the times of all that led up to it.

A run of washing took its time for all that came out of it, so what went on has its part of that
time by mass, as it has of everything else.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from graphlib import TopologicalSorter
from typing import Generic, TypeVar

L = TypeVar("L")


@dataclass(frozen=True, kw_only=True)
class Making(Generic[L]):
    """How a lot came to be: the grams of each lot in it, and the run that made it, if one did.

    A run has its masses in and out in g; its time, in s, was not always measured.
    """

    parts_g: Mapping[L, int]
    kind: str = ""
    in_g: int = 1
    out_g: int = 1
    duration_s: int | None = None

    def __post_init__(self) -> None:
        if not 0 < self.out_g <= self.in_g:
            raise ValueError("what comes out is part of what went in")


@dataclass(frozen=True, kw_only=True)
class Times:
    """Work on a gram by kind, in s, and the kinds of which some run was not timed."""

    s_per_g: Mapping[str, float] = field(default_factory=dict)
    untimed: frozenset[str] = frozenset()


def times_of(wanted: Iterable[L], makings: Mapping[L, Making[L]]) -> dict[L, Times]:
    """Return the work that a gram of each lot has behind it; what is not in `makings` has none."""
    found: dict[L, Times] = {}
    came_from = {lot: making.parts_g for lot, making in makings.items()}
    for lot in TopologicalSorter(came_from).static_order():
        found[lot] = _times(makings[lot], found) if lot in makings else Times()
    return {lot: found.get(lot, Times()) for lot in wanted}


def together(parts_g: Mapping[L, int], times: Mapping[L, Times], *, whole_g: int) -> Times:
    """Return the work that a gram of a mix has behind it; what was bought in it has none."""
    s_per_g: dict[str, float] = {}
    for part, mass_g in parts_g.items():
        for kind, seconds in times[part].s_per_g.items():
            s_per_g[kind] = s_per_g.get(kind, 0.0) + seconds * mass_g / whole_g
    untimed = frozenset().union(*(times[part].untimed for part in parts_g))
    return Times(s_per_g=s_per_g, untimed=untimed)


def _times(making: Making[L], found: Mapping[L, Times]) -> Times:
    """Add a run's own time to that of what went in, of which a gram that comes out took more."""
    before = together(making.parts_g, found, whole_g=sum(making.parts_g.values()) or 1)
    s_per_g = {kind: s * making.in_g / making.out_g for kind, s in before.s_per_g.items()}
    if not making.kind:
        return Times(s_per_g=s_per_g, untimed=before.untimed)
    if making.duration_s is None:
        return Times(s_per_g=s_per_g, untimed=before.untimed | {making.kind})
    own = making.duration_s / making.out_g
    s_per_g[making.kind] = s_per_g.get(making.kind, 0.0) + own
    return Times(s_per_g=s_per_g, untimed=before.untimed)
