"""What happens to a lot of the nation: a few stories, each told as lines of the ledger."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Masses = NDArray[np.int32]
Amounts = Mapping[str, Masses]


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line: why, from which of the lot's accounts to which, how much, and when after.

    `weighing` is which of the lot's weighings it rests on, `undoes` which line it reverses.
    """

    reason: str
    frm: str
    to: str
    amount: str
    after_h: int
    weighing: int | None = None
    undoes: int | None = None


@dataclass(frozen=True, kw_only=True)
class Story:
    """A share of all lots, by which method each of its weighings was made, and its lines."""

    share: float
    weighings: tuple[str, ...]
    lines: tuple[Line, ...]

    @property
    def accounts(self) -> tuple[str, ...]:
        """The accounts that its grams pass through, in the order met."""
        return tuple(dict.fromkeys(kind for line in self.lines for kind in (line.frm, line.to)))


def _collected(amount: str) -> tuple[Line, Line]:
    return (
        Line(
            reason="collected", frm="container", to="vehicle", amount=amount, after_h=0, weighing=0
        ),
        Line(reason="brought_home", frm="vehicle", to="collected", amount=amount, after_h=5),
    )


def _line(reason: str, frm: str, to: str, amount: str, after_h: int) -> Line:
    return Line(reason=reason, frm=frm, to=to, amount=amount, after_h=after_h)


STORIES = (
    Story(
        share=0.50,
        weighings=("weighed",),
        lines=(
            *_collected("all"),
            _line("shredded", "collected", "shredded", "all", 100),
            _line("lost", "shredded", "loss", "lost", 140),
            _line("passed_on", "shredded", "passed_on", "all_but_lost", 300),
        ),
    ),
    Story(
        share=0.25,
        weighings=("weighed",),
        lines=(
            *_collected("all"),
            _line("inspected_out", "collected", "residue", "out", 20),
            _line("washed", "collected", "washed", "all_but_out", 60),
            _line("lost", "washed", "loss", "lost", 90),
            _line("shredded", "washed", "shredded", "rest", 120),
        ),
    ),
    Story(
        share=0.10,
        weighings=("volume", "weighed"),
        lines=(
            *_collected("told"),
            Line(
                reason="reweighed",
                frm="container",
                to="collected",
                amount="all_but_told",
                after_h=24,
                weighing=1,
            ),
            _line("shredded", "collected", "shredded", "all", 100),
        ),
    ),
    Story(
        share=0.05,
        weighings=("volume",),
        lines=(*_collected("all"), _line("passed_on", "collected", "passed_on", "all", 200)),
    ),
    Story(
        share=0.04,
        weighings=("weighed",),
        lines=(*_collected("all"), _line("turned_away", "collected", "returned", "all", 30)),
    ),
    Story(
        share=0.06,
        weighings=("weighed",),
        lines=(
            *_collected("all"),
            _line("inspected_out", "collected", "residue", "out", 20),
            Line(
                reason="reversed",
                frm="residue",
                to="collected",
                amount="out",
                after_h=30,
                undoes=2,
            ),
            _line("shredded", "collected", "shredded", "all", 100),
        ),
    ),
)


def amounts(count: int, random: np.random.Generator) -> dict[str, Masses]:
    """Return the grams of each lot, and the parts of it that the stories name."""
    whole = np.clip(random.lognormal(8.6, 0.5, count), 500, 40_000).astype(np.int32)
    lost = np.maximum(whole // 50, 1)
    out = np.maximum(whole // 40, 1)
    told = np.maximum(whole * 9 // 10, 1)
    return {
        "all": whole,
        "lost": lost,
        "out": out,
        "told": told,
        "all_but_lost": whole - lost,
        "all_but_out": whole - out,
        "all_but_told": whole - told,
        "rest": whole - out - lost,
    }


def balances(story: Story, masses: Amounts) -> dict[str, NDArray[np.int64]]:
    """Return what is left in each account in the end, in g."""
    left = {kind: np.zeros(len(masses["all"]), dtype=np.int64) for kind in story.accounts}
    for line in story.lines:
        left[line.frm] -= masses[line.amount]
        left[line.to] += masses[line.amount]
    return left


def weighed_g(story: Story, which: int, masses: Amounts) -> Masses:
    """Return the net mass of one of the weighings."""
    first = next(line.amount for line in story.lines)
    return masses[first] if which == 0 else masses["all"]


def lines_per_lot() -> float:
    """Return how many lines a lot has on average."""
    return sum(story.share * len(story.lines) for story in STORIES)
