"""Double entry in integer grams: postings, what they do to balances, reversal and division."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

CONTAINER = "container"


class Position(NamedTuple):
    """Where grams of one lot are: the kind of account, whose it is, and the lot."""

    kind: str
    holder_id: UUID
    lot_id: UUID


@dataclass(frozen=True, kw_only=True)
class Posting:
    """Grams that go from one position to another, why, and on what evidence.

    `id` is the line's id where the caller made it, `at` when it was done where not all that is
    posted was done at once. Raises ValueError for no mass at all and for one position given twice.
    """

    frm: Position
    to: Position
    mass_g: int
    reason: str
    weighing_id: UUID | None = None
    inspection_id: UUID | None = None
    reverses_id: UUID | None = None
    note: str = ""
    id: UUID | None = None
    at: datetime | None = None

    def __post_init__(self) -> None:
        if self.mass_g <= 0:
            raise ValueError("a posting moves at least one gram")
        if self.frm == self.to:
            raise ValueError("a posting has two different positions")


@dataclass(frozen=True, kw_only=True)
class Shortage:
    """A position that would have to give more than it has."""

    position: Position
    has_g: int
    wanted_g: int


def positions_of(postings: Iterable[Posting]) -> list[Position]:
    """Return each position once, in the order met."""
    return list(dict.fromkeys(p for posting in postings for p in (posting.frm, posting.to)))


def apply(balances_g: Mapping[Position, int], postings: Iterable[Posting]) -> dict[Position, int]:
    """Return the balances in g after the postings; their sum is what it was."""
    after = dict(balances_g)
    for posting in postings:
        _move(after, posting)
    return after


def _move(balances_g: dict[Position, int], posting: Posting) -> None:
    balances_g[posting.frm] = balances_g.get(posting.frm, 0) - posting.mass_g
    balances_g[posting.to] = balances_g.get(posting.to, 0) + posting.mass_g


def first_shortage(
    balances_g: Mapping[Position, int], postings: Iterable[Posting]
) -> Shortage | None:
    """Return the first posting that cannot be made in this order, or None.

    Material enters at a container, which therefore owes what has left it and can take back no more
    than that; any other position can give no more than it has.
    """
    now = dict(balances_g)
    for posting in postings:
        for position, room_g in (
            (posting.frm, None if posting.frm.kind == CONTAINER else now.get(posting.frm, 0)),
            (posting.to, -now.get(posting.to, 0) if posting.to.kind == CONTAINER else None),
        ):
            if room_g is not None and posting.mass_g > room_g:
                return Shortage(position=position, has_g=room_g, wanted_g=posting.mass_g)
        _move(now, posting)
    return None


def mirror(posting: Posting, *, reason: str, reverses_id: UUID, note: str, id: UUID) -> Posting:  # noqa: A002  # the field's name
    """Return the posting that undoes another."""
    return Posting(
        frm=posting.to,
        to=posting.frm,
        mass_g=posting.mass_g,
        reason=reason,
        weighing_id=posting.weighing_id,
        inspection_id=posting.inspection_id,
        reverses_id=reverses_id,
        note=note,
        id=id,
    )
