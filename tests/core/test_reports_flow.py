"""The balance of a flow adds up for any lines, any period and any slicing; its picture is true."""

from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.reports.core.balance import ENTRY, STOCKS, Balance, Flow, balance_of
from network.reports.core.picture import GAP, WIDTH, Bar, Link, Picture, drawn
from network.reports.core.points import POINTS, counted_g

KINDS = (ENTRY, *STOCKS, "returned", "residue", "passed_on", "loss")
flows = st.builds(
    Flow,
    from_kind=st.sampled_from(KINDS),
    to_kind=st.sampled_from(KINDS),
    reason=st.sampled_from(("collected", "washed", "turned_away", "charged")),
    mass_g=st.integers(-50_000, 50_000).filter(bool),
)


def after(opening_g: dict[str, int], lines: Sequence[Flow]) -> dict[str, int]:
    """Return what lies where after lines were written: the ledger in three lines."""
    there_g = defaultdict(int, opening_g)
    for line in lines:
        there_g[line.from_kind] -= line.mass_g
        there_g[line.to_kind] += line.mass_g
    return dict(there_g)


def balanced(lines: Sequence[Flow], opening_g: dict[str, int] | None = None) -> Balance:
    opening_g = opening_g or {}
    return balance_of(lines, opening_g=opening_g, closing_g=after(opening_g, lines))


@given(
    st.lists(flows, max_size=40), st.dictionaries(st.sampled_from(STOCKS), st.integers(0, 9_999))
)
def test_what_came_in_and_was_there_is_what_went_out_and_is_there(
    lines: list[Flow], opening_g: dict[str, int]
) -> None:
    found = balanced(lines, opening_g)
    assert found.difference_g == 0
    assert found.collected_g + found.opening_g == found.gone_g + found.closing_g
    for stock in found.stocks:
        assert stock.opening_g + stock.in_g - stock.out_g == stock.closing_g


@given(st.lists(flows, max_size=40), st.integers(0, 40))
def test_two_periods_one_after_the_other_are_the_whole(lines: list[Flow], cut: int) -> None:
    first, second = balanced(lines[:cut]), None
    second = balanced(lines[cut:], {s.kind: s.closing_g for s in first.stocks})
    whole = balanced(lines)
    assert first.collected_g + second.collected_g == whole.collected_g
    assert first.gone_g + second.gone_g == whole.gone_g
    assert [s.closing_g for s in second.stocks] == [s.closing_g for s in whole.stocks]
    for point in POINTS:
        parts = counted_g(point, first) + counted_g(point, second)
        assert parts == counted_g(point, whole)


def test_a_line_that_is_missing_shows_as_a_difference() -> None:
    lines = [Flow(from_kind=ENTRY, to_kind="vehicle", reason="collected", mass_g=8_000)]
    assert balance_of(lines, opening_g={}, closing_g={"vehicle": 7_000}).difference_g == 1_000


def test_the_points_of_one_bag() -> None:
    """8,000 g; 300 g out at the inspection; 7,400 g charged, 400 g of it trimmed and used again."""
    found = balanced(
        [
            Flow(from_kind=ENTRY, to_kind="vehicle", reason="collected", mass_g=8_000),
            Flow(from_kind="vehicle", to_kind="collected", reason="brought_home", mass_g=8_000),
            Flow(from_kind="collected", to_kind="residue", reason="inspected_out", mass_g=300),
            Flow(from_kind="collected", to_kind="washed", reason="washed", mass_g=7_500),
            Flow(from_kind="collected", to_kind="loss", reason="washed", mass_g=200),
            Flow(from_kind="washed", to_kind="batch", reason="charged", mass_g=7_400),
            Flow(from_kind="batch", to_kind="offcut", reason="trimmed", mass_g=400),
            Flow(from_kind="offcut", to_kind="batch", reason="charged", mass_g=400),
            Flow(from_kind="batch", to_kind="product", reason="made", mass_g=7_100),
        ]
    )
    masses_g = {point: counted_g(point, found) for point in POINTS}
    assert masses_g == {
        "collected": 8_000,
        "accepted": 7_700,
        "entering": 7_400,
        "products": 7_100,
    }


def test_a_reversal_counts_against_what_it_undoes() -> None:
    found = balanced(
        [
            Flow(from_kind=ENTRY, to_kind="vehicle", reason="collected", mass_g=1_234),
            Flow(from_kind=ENTRY, to_kind="vehicle", reason="collected", mass_g=-1_234),
        ]
    )
    assert found.flows == ()
    assert counted_g("collected", found) == 0


bars = st.lists(st.integers(1, 4), min_size=2, max_size=5)
# Mostly none, so that layers can be empty but for what passes them.
stocks = st.sampled_from((0, 0, 0, 17, 250_000))


@st.composite
def pictures(draw: st.DrawFn) -> tuple[list[Bar], list[Link], Picture]:
    layers = draw(bars)
    made = [
        Bar(
            name=f"{layer}.{index}",
            layer=layer,
            opening_g=draw(stocks),
            closing_g=draw(stocks),
        )
        for layer, count in enumerate(layers)
        for index in range(count)
    ]
    names = [bar.name for bar in made]
    ends = st.tuples(st.sampled_from(names), st.sampled_from(names))
    pairs = draw(st.lists(ends, max_size=12, unique=True))
    links = [
        Link(source=source, target=target, mass_g=draw(st.integers(0, 10_000_000)))
        for source, target in pairs
    ]
    return made, links, drawn(made, links)


@given(pictures())
def test_every_band_is_as_wide_as_its_mass_and_starts_and_ends_within_its_bars(
    made: tuple[list[Bar], list[Link], Picture],
) -> None:
    *_, picture = made
    bar_of = {bar.name: bar for bar in picture.bars}
    for band in picture.bands:
        source, target = bar_of[band.source], bar_of[band.target]
        assert band.width / band.mass_g == pytest.approx(source.width / source.mass_g)
        assert source.x - 1e-6 <= band.xs[0] <= source.x + source.width - band.width + 1e-6
        assert target.x - 1e-6 <= band.xs[-1] <= target.x + target.width - band.width + 1e-6
        assert band.layers == tuple(range(source.layer, target.layer + 1))
        assert len(band.xs) == len(band.layers)


@given(pictures())
def test_nothing_on_a_layer_lies_over_anything_else_or_outside(
    made: tuple[list[Bar], list[Link], Picture],
) -> None:
    *_, picture = made
    for layer in range(picture.layers):
        spans = [(bar.x, bar.x + bar.width) for bar in picture.bars if bar.layer == layer]
        for band in picture.bands:
            spans += [
                (x, x + band.width)
                for at, x in list(zip(band.layers, band.xs, strict=True))[1:-1]
                if at == layer
            ]
        spans.sort()
        assert all(left[1] + GAP - 1e-6 <= right[0] for left, right in pairwise(spans))
        assert all(first >= 0 and last <= WIDTH + 1e-6 for first, last in spans)


@given(pictures())
def test_what_leaves_a_bar_and_stays_is_no_wider_than_the_bar(
    made: tuple[list[Bar], list[Link], Picture],
) -> None:
    *_, picture = made
    for bar in picture.bars:
        leaves = sum(band.width for band in picture.bands if band.source == bar.name)
        comes = sum(band.width for band in picture.bands if band.target == bar.name)
        assert leaves + bar.closing_width <= bar.width + 1e-6
        assert comes + bar.opening_width <= bar.width + 1e-6


def test_links_that_go_up_and_bars_of_nothing_are_not_drawn() -> None:
    made = [Bar(name="top", layer=0), Bar(name="end", layer=1), Bar(name="idle", layer=1)]
    links = [
        Link(source="top", target="end", mass_g=5),
        Link(source="end", target="top", mass_g=3),
    ]
    picture = drawn(made, links)
    assert [bar.name for bar in picture.bars] == ["top", "end"]
    assert [(band.source, band.mass_g) for band in picture.bands] == [("top", 5)]
    assert drawn(made, []).bars == ()
