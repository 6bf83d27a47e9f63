"""A table of sums that may be published: small cells are withheld, and cannot be worked out again.

Sources: the minimum frequency rule, the dominance rule and complementary suppression as in
Hundepool et al., Statistical Disclosure Control (2012); recalled from memory, and the limits below
are common practice, no published source.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from functools import partial

import numpy as np
from scipy.optimize import linprog

# A sum is withheld of fewer places than this, or where one place brought more than this share.
PLACES_MIN = 5
LARGEST_SHARE_MAX = 0.75
# What can be worked out of a withheld sum from the others must be off by this share either way.
OFF_SHARE_MIN = 0.25
# Two figures closer than this are one, to whoever solves the equations.
_SAME_G = 1e-3

# A row and a column; None is 'all of them'.
Key = tuple[str | None, str | None]
# What each place brought to a cell, in g.
Brought = Mapping[str, int]
# A sum, and the sums it is the sum of.
Relation = tuple[Key, list[Key]]


def published(cells: Mapping[tuple[str, str], Brought]) -> dict[Key, int | None]:
    """Return the sums by row and column with their totals, in g; None for what is withheld."""
    brought = _with_totals(cells)
    sums_g = {key: sum(places.values()) for key, places in brought.items()}
    small = {key for key, places in brought.items() if _is_small(places)}
    withheld = set(small)
    while exposed := _exposed(sums_g, small, withheld):
        withheld |= _partners(sums_g, exposed, withheld)
    return {key: None if key in withheld else mass_g for key, mass_g in sums_g.items()}


def relations(keys: Iterable[Key]) -> list[Relation]:
    """Return which sum is the sum of which others: what every reader of the table knows."""
    cells = [key for key in keys if None not in key]
    rows = list(dict.fromkeys(row for row, _ in cells))
    columns = list(dict.fromkeys(column for _, column in cells))
    return [
        *(((row, None), [key for key in cells if key[0] == row]) for row in rows),
        *(((None, column), [key for key in cells if key[1] == column]) for column in columns),
        ((None, None), [(row, None) for row in rows]),
        ((None, None), [(None, column) for column in columns]),
    ]


def _with_totals(cells: Mapping[tuple[str, str], Brought]) -> dict[Key, Counter[str]]:
    brought: dict[Key, Counter[str]] = {}
    for (row, column), places in cells.items():
        keys: tuple[Key, ...] = ((row, column), (row, None), (None, column), (None, None))
        for key in keys:
            brought.setdefault(key, Counter()).update(places)
    return brought


def _is_small(places: Brought) -> bool:
    given = [mass_g for mass_g in places.values() if mass_g > 0]
    return len(given) < PLACES_MIN or max(given) > LARGEST_SHARE_MAX * sum(given)


def _exposed(sums_g: Mapping[Key, int], small: set[Key], withheld: set[Key]) -> list[Key]:
    """Return what is withheld and can be worked out: small sums nearly, others exactly."""
    found: list[Key] = []
    if not withheld or len(withheld) == len(sums_g):
        return found  # where all is withheld there is nothing to work with
    for key, (low, high) in _ranges(sums_g, withheld).items():
        off_g = OFF_SHARE_MIN * abs(sums_g[key]) if key in small else 0.0
        within = low <= sums_g[key] - off_g + _SAME_G and high >= sums_g[key] + off_g - _SAME_G
        if not within or high - low < _SAME_G:
            found.append(key)
    return found


def _ranges(sums_g: Mapping[Key, int], withheld: set[Key]) -> dict[Key, tuple[float, float]]:
    """Return between what each withheld sum must lie, for one who knows all the others."""
    unknown = [key for key in sums_g if key in withheld]
    rows, right = [], []
    for total, parts in relations(sums_g):
        rows.append([(key in parts) - (key == total) for key in unknown])
        known_g = sum(sums_g[part] for part in parts if part not in withheld)
        right.append((0 if total in withheld else sums_g[total]) - known_g)
    bounds = [(0 if sums_g[key] >= 0 else None, None) for key in unknown]
    return {
        key: (
            _end(np.eye(len(unknown))[index], rows, right, bounds),
            -_end(-np.eye(len(unknown))[index], rows, right, bounds),
        )
        for index, key in enumerate(unknown)
    }


def _end(
    aim: np.ndarray, rows: list[list[int]], right: list[int], bounds: list[tuple[int | None, None]]
) -> float:
    """Return the least value of an aim; minus infinity where there is none."""
    found = linprog(aim, A_eq=np.array(rows), b_eq=np.array(right), bounds=bounds)
    return float(found.fun) if found.status == 0 else -np.inf


def _partners(sums_g: Mapping[Key, int], exposed: Iterable[Key], withheld: set[Key]) -> set[Key]:
    """Return what is withheld as well, so that nothing stands alone; at least one sum."""
    known = [{total, *parts} for total, parts in relations(sums_g)]
    added: set[Key] = set()
    for key in exposed:
        left = [other for other in sums_g if other not in withheld | added]
        alone = [keys for keys in known if keys & (withheld | added) == {key}]
        if left and (alone or not added):
            beside = set[Key]().union(*(alone or [keys for keys in known if key in keys]))
            added.add(min(left, key=partial(_worth, beside=beside, sums_g=sums_g)))
    return added


def _worth(key: Key, beside: set[Key], sums_g: Mapping[Key, int]) -> tuple[bool, bool, int, int]:
    """Return how much would be lost: what hides nothing is last, a total after a cell, by mass."""
    return key not in beside, sums_g[key] <= 0, key.count(None), sums_g[key]
