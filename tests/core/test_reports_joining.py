"""Several communities as one: against bags that are followed one by one."""

from collections import Counter
from uuid import UUID, uuid5

from hypothesis import given
from hypothesis import strategies as st

from network.reports.core.joining import Counted, joined_g

NAMES = [uuid5(UUID(int=0), name) for name in ("isle", "rock", "shore", "bay")]
A, B, C, _ = NAMES

# A bag: its grams, and the communities whose workshops it came to, one after the other.
bags = st.lists(
    st.tuples(st.integers(1, 9_000), st.lists(st.sampled_from(NAMES), min_size=1, max_size=4)),
    max_size=12,
)
members = st.lists(st.sampled_from(NAMES), min_size=1, max_size=5)


def path_of(stops: list[UUID]) -> list[UUID]:
    """Return the stops without staying at one."""
    return [stop for index, stop in enumerate(stops) if index == 0 or stops[index - 1] != stop]


def counted(found: list[tuple[int, list[UUID]]]) -> dict[UUID, Counted]:
    """Return what each community counts by itself: whatever comes to its workshop."""
    masses_g, came_g = Counter[UUID](), Counter[tuple[UUID, UUID]]()
    for mass_g, stops in found:
        path = path_of(stops)
        for index, here in enumerate(path):
            masses_g[here] += mass_g
            if index:
                came_g[here, path[index - 1]] += mass_g
    return {
        name: Counted(
            community_id=name,
            mass_g=masses_g[name],
            came_from_g={other: g for (here, other), g in came_g.items() if here == name},
        )
        for name in NAMES
    }


def joined_of(found: list[tuple[int, list[UUID]]], names: list[UUID]) -> int:
    each = counted(found)
    sources = {name: frozenset(one.came_from_g) for name, one in each.items()}
    return joined_g([each[name] for name in names], sources)


def once_g(found: list[tuple[int, list[UUID]]], names: list[UUID]) -> int:
    """Return the grams of the bags that came to any of them, each bag once."""
    return sum(mass_g for mass_g, stops in found if not set(names).isdisjoint(stops))


@given(bags, members)
def test_no_bag_is_counted_twice(found: list[tuple[int, list[UUID]]], names: list[UUID]) -> None:
    assert 0 <= joined_of(found, names) <= once_g(found, names)


@given(bags)
def test_all_together_count_each_bag_once(found: list[tuple[int, list[UUID]]]) -> None:
    assert joined_of(found, NAMES) == sum(mass_g for mass_g, _ in found)


@given(bags, members)
def test_the_order_does_not_matter_nor_naming_one_twice(
    found: list[tuple[int, list[UUID]]], names: list[UUID]
) -> None:
    whole = joined_of(found, names)
    assert joined_of(found, names[::-1]) == whole
    assert joined_of(found, [*names, names[0]]) == whole


@given(bags, st.sampled_from(NAMES))
def test_one_that_takes_from_no_other_is_what_it_counts_itself(
    found: list[tuple[int, list[UUID]]], name: UUID
) -> None:
    straight = [(mass_g, path_of(stops)[:1]) for mass_g, stops in found]
    assert joined_of(straight, [name]) == counted(straight)[name].mass_g


def test_what_went_through_a_third_community_is_not_counted_again() -> None:
    """10 kg go from the isle over the rock to the shore, which takes 3 kg of the rock's own."""
    found = [(10_000, [A, B, C]), (3_000, [B, C]), (2_000, [C])]
    assert joined_of(found, [A, B, C]) == 15_000
    # Without the rock nobody can tell its 3 kg from the isle's 10 kg: too little, never too much.
    assert joined_of(found, [A, C]) == 12_000
    assert joined_of(found, [C]) == 15_000
