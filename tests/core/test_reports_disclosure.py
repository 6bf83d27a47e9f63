"""What may be published of small places: by rules, and against one who tries to work it out.

The limits (five places, three quarters) are common practice, no published source.
"""

from collections.abc import Mapping
from itertools import product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from network.reports.core.disclosure import Key, published

Cells = dict[tuple[str, str], dict[str, int]]
ROWS, COLUMNS = ("north", "south", "west"), ("caps", "tubs", "jars")


def cell(name: str, places: int, each_g: int) -> dict[str, int]:
    return {f"{name} {number}": each_g for number in range(places)}


def table(counts: Mapping[tuple[str, str], int], each_g: int = 1_000) -> Cells:
    """Return a table in which so many places of their own brought as much each."""
    return {key: cell("/".join(key), count, each_g) for key, count in counts.items() if count}


def withheld(found: Mapping[Key, int | None]) -> set[Key]:
    return {key for key, mass_g in found.items() if mass_g is None}


def test_where_every_sum_is_of_many_places_all_are_published() -> None:
    found = published(table(dict.fromkeys(product(ROWS, COLUMNS), 6)))
    assert not withheld(found)
    assert found["north", "caps"] == 6_000
    assert found["north", None] == 18_000
    assert found[None, None] == 54_000


def test_a_sum_of_four_places_is_withheld_and_of_five_is_not() -> None:
    for places, hidden in ((4, True), (5, False)):
        found = published(
            table({**dict.fromkeys(product(ROWS, COLUMNS), 6), ("north", "caps"): places})
        )
        assert (("north", "caps") in withheld(found)) is hidden


def test_a_sum_of_which_one_place_brought_most_is_withheld() -> None:
    cells = table(dict.fromkeys(product(ROWS, COLUMNS), 6))
    cells["north", "caps"] = {**cell("small", 5, 100), "the big school": 1_501}
    assert ("north", "caps") in withheld(published(cells))
    cells["north", "caps"]["the big school"] = 1_499
    assert not withheld(published(cells))


def test_a_withheld_sum_does_not_stand_alone_in_its_row_and_column() -> None:
    """One small cell of nine: at least a rectangle of four goes, and the totals stay."""
    found = published(table({**dict.fromkeys(product(ROWS, COLUMNS), 6), ("north", "caps"): 2}))
    hidden = withheld(found)
    assert len(hidden) == 4
    assert all(None not in key for key in hidden)
    for axis in (0, 1):
        assert all(sum(key[axis] == other[axis] for other in hidden) == 2 for key in hidden)


def test_a_row_of_one_cell_takes_its_total_with_it() -> None:
    found = published(table({("north", "caps"): 2, ("south", "caps"): 9, ("south", "tubs"): 9}))
    assert {("north", "caps"), ("north", None)} <= withheld(found)


def test_a_community_of_four_places_publishes_nothing() -> None:
    found = published(table({("north", "caps"): 2, ("south", "tubs"): 2}))
    assert set(found.values()) == {None}
    assert published({}) == {}


brought = st.dictionaries(
    st.sampled_from([f"place {number}" for number in range(9)]), st.integers(0, 5_000), min_size=1
)
tables = st.dictionaries(
    st.tuples(st.sampled_from(ROWS), st.sampled_from(COLUMNS)), brought, min_size=1
)


def equations(found: Mapping[Key, int | None]) -> tuple[list[Key], np.ndarray]:
    """Return what a reader does not know, and the sums that tie it together, written anew here."""
    unknown = sorted(withheld(found), key=str)
    rows = []
    for total in found:
        for axis in (0, 1):
            parts = [
                key
                for key in found
                if total[axis] is None
                and key[axis] is not None
                and key[1 - axis] == total[1 - axis]
            ]
            if parts:
                rows.append([(key in parts) - (key == total) for key in unknown])
    return unknown, np.array(rows, dtype=float)


@settings(max_examples=40, deadline=None)
@given(cells=tables)
def test_no_withheld_sum_follows_from_those_that_are_published(cells: Cells) -> None:
    """Linear algebra: a sum follows from the others if its row adds nothing to their rank."""
    found = published(cells)
    for key, mass_g in found.items():
        matching = [
            sum(places.values())
            for (row, column), places in cells.items()
            if key[0] in {row, None} and key[1] in {column, None}
        ]
        assert mass_g in {None, sum(matching)}
    unknown, known = equations(found)
    rank = np.linalg.matrix_rank(known) if unknown else 0
    for index in range(len(unknown)):
        alone = np.zeros((1, len(unknown)))
        alone[0, index] = 1
        assert np.linalg.matrix_rank(np.vstack([known, alone])) == rank + 1, unknown[index]


@settings(max_examples=15, deadline=None)
@given(masses=st.lists(st.integers(1, 2), min_size=4, max_size=4), small=st.integers(0, 3))
def test_whoever_tries_all_tables_finds_more_than_one_that_fits(
    masses: list[int], small: int
) -> None:
    """Brute force over all tables of two by two with whole kilograms that fit what is published."""
    keys = list(product(ROWS[:2], COLUMNS[:2]))
    cells = {
        key: cell("/".join(key), 1 if index == small else 6, masses[index])
        for index, key in enumerate(keys)
    }
    found = published(cells)
    ends = range(2 * 6 * 2 + 1)
    fitting: dict[Key, set[int]] = {key: set() for key in withheld(found)}
    for a, b, c in product(ends, repeat=3):
        total = found[None, None]
        d = (total if total is not None else a + b + c + 1) - a - b - c
        tried = dict(zip(keys, (a, b, c, d), strict=True))
        sums = {
            key: sum(
                g for at, g in tried.items() if key[0] in {at[0], None} and key[1] in {at[1], None}
            )
            for key in found
        }
        if d >= 0 and all(found[key] in {None, sums[key]} for key in found):
            for key, values in fitting.items():
                values.add(sums[key])
    assert keys[small] in fitting
    assert all(len(values) > 1 for values in fitting.values())
