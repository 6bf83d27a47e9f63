"""What a report on paper needs: small groups hidden, figures rounded, an axis for bars."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from network.units import G_PER_KG

PLACES_MIN = 3
TOGETHER = "Smaller groups, together"
_OTHERS = "All others, together"
_TICKS_MAX = 5
_G_PLACES = 3


@dataclass(frozen=True, kw_only=True)
class Group:
    """Sums of one group in g, and the places they come from."""

    name: str
    collected_g: int
    diverted_g: int
    places: frozenset[UUID]


def protect(groups: Iterable[Group]) -> list[Group]:
    """Return groups of which none tells what one or two places brought, largest first.

    Groups of fewer than three places are put together, and if these still are too few, so that
    the total would give them away, with the next larger ones. Nothing is left out: sums stay.
    """
    shown = sorted(groups, key=lambda group: (len(group.places), group.name))
    hidden: list[Group] = []
    while shown and (
        len(shown[0].places) < PLACES_MIN or (hidden and len(_places(hidden)) < PLACES_MIN)
    ):
        hidden.append(shown.pop(0))
    whole = sorted(shown, key=lambda group: (-group.diverted_g, group.name))
    return [*whole, _joined(hidden, TOGETHER)] if hidden else whole


def longest(groups: Sequence[Group], *, rows_max: int) -> list[Group]:
    """Return at most so many groups; the last ones together where there are more."""
    if len(groups) <= rows_max:
        return list(groups)
    kept, rest = groups[: rows_max - 1], groups[rows_max - 1 :]
    return [*kept, _joined(rest, _OTHERS)]


def _joined(groups: Iterable[Group], name: str) -> Group:
    whole = list(groups)
    return Group(
        name=name,
        collected_g=sum(group.collected_g for group in whole),
        diverted_g=sum(group.diverted_g for group in whole),
        places=_places(whole),
    )


def _places(groups: Iterable[Group]) -> frozenset[UUID]:
    return frozenset().union(*(group.places for group in groups))


def stated_kg(mass_g: int, expanded_g: int) -> tuple[str, str]:
    """Return a mass and its uncertainty in kg, the latter with two digits, rounded up.

    JCGM 100:2008 (GUM), 7.2.6: two digits of an uncertainty are enough, and the figure has no
    more places than it.
    """
    unit_g = 10 ** max(0, len(str(expanded_g)) - 2)
    up_g = -(-expanded_g // unit_g) * unit_g
    near_g = (2 * mass_g + unit_g) // (2 * unit_g) * unit_g
    places = max(0, _G_PLACES - (len(str(unit_g)) - 1))
    return _kg(near_g, places), _kg(up_g, places)


def _kg(mass_g: int, places: int) -> str:
    return f"{Decimal(mass_g) / G_PER_KG:,.{places}f}"


def months_between(first: date, last: date) -> list[str]:
    """Return each month from the one of the first day to that of the last, as `2025-10`."""
    return [
        f"{month // 12:04}-{month % 12 + 1:02}"
        for month in range(first.year * 12 + first.month - 1, last.year * 12 + last.month)
    ]


def ticks_g(masses_g: Iterable[int]) -> list[int]:
    """Return the marks of an axis with these masses and zero, in g: 1, 2 or 5 × 10^n apart."""
    known = [0, *masses_g]
    low, high = min(known), max(known)
    steps = (factor * 10**power for power in range(12) for factor in (1, 2, 5))
    step = next(s for s in steps if -(-high // s) - low // s <= _TICKS_MAX)
    return list(range(low // step * step, -(-high // step) * step + 1, step))
