"""The ledger's arithmetic: nothing is made, nothing is lost, and every line can be undone."""

from itertools import pairwise
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.lots.core.codes import lot_code
from network.lots.core.ledger import Position, Posting, apply, first_shortage, mirror, positions_of

LOT = UUID(int=7)
POSITIONS = [
    Position(kind=kind, holder_id=UUID(int=index), lot_id=LOT)
    for index, kind in enumerate(["container", "vehicle", "collected", "residue", "loss"])
]
CONTAINER, VEHICLE, STORE, RESIDUE, _ = POSITIONS


def move(frm: Position, to: Position, mass_g: int) -> Posting:
    return Posting(frm=frm, to=to, mass_g=mass_g, reason="moved")


postings = st.lists(
    st.builds(
        move,
        st.sampled_from(POSITIONS[:2]),
        st.sampled_from(POSITIONS[2:]),
        st.integers(1, 100_000),
    ),
    max_size=30,
)


@given(postings)
def test_whatever_is_posted_the_sum_stays(lines: list[Posting]) -> None:
    before = dict.fromkeys(POSITIONS, 500)
    assert sum(apply(before, lines).values()) == sum(before.values())


@given(postings)
def test_a_line_and_its_mirror_leave_everything_as_it_was(lines: list[Posting]) -> None:
    undone = [
        mirror(line, reason="reversed", reverses_id=LOT, note="", id=LOT)
        for line in reversed(lines)
    ]
    before = dict.fromkeys(POSITIONS, 0)
    assert apply(apply(before, lines), undone) == before


def test_a_container_gives_without_limit_and_takes_back_no_more_than_it_gave() -> None:
    filled = move(CONTAINER, VEHICLE, 800)
    assert first_shortage({}, [filled]) is None
    assert first_shortage({}, [filled, move(VEHICLE, CONTAINER, 800)]) is None
    shortage = first_shortage({STORE: 900, CONTAINER: -800}, [move(STORE, CONTAINER, 801)])
    assert shortage is not None
    assert (shortage.position, shortage.has_g, shortage.wanted_g) == (CONTAINER, 800, 801)


def test_nothing_else_gives_what_it_does_not_have() -> None:
    shortage = first_shortage({STORE: 500}, [move(STORE, RESIDUE, 300), move(STORE, RESIDUE, 201)])
    assert shortage is not None
    assert (shortage.position, shortage.has_g, shortage.wanted_g) == (STORE, 200, 201)


@given(postings)
def test_without_a_shortage_no_balance_has_the_wrong_sign(lines: list[Posting]) -> None:
    before = {STORE: 0, VEHICLE: 50_000, CONTAINER: -50_000}
    if first_shortage(before, lines) is None:
        after = apply(before, lines)
        assert after[CONTAINER] <= 0
        assert all(mass_g >= 0 for position, mass_g in after.items() if position != CONTAINER)


def test_a_posting_moves_something_somewhere_else() -> None:
    with pytest.raises(ValueError, match="gram"):
        move(STORE, RESIDUE, 0)
    with pytest.raises(ValueError, match="different"):
        move(STORE, STORE, 5)


def test_positions_are_named_once() -> None:
    lines = [move(CONTAINER, VEHICLE, 5), move(VEHICLE, STORE, 5), move(CONTAINER, VEHICLE, 1)]
    assert positions_of(lines) == [CONTAINER, VEHICLE, STORE]


def test_a_lot_code_has_no_letters_that_are_misread() -> None:
    codes = [lot_code(UUID(int=number * 2**40 + number)) for number in range(200)]
    assert not set("ILOU") & set("".join(code[2:] for code in codes))
    assert all(one != other for one, other in pairwise(codes))
    assert lot_code(UUID(int=31)) == "L-00000-0000Z"
