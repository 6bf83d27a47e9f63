"""Yields, draws, mixes and the flow of a mix."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta

from network.workshop.core.blend import (
    Answer,
    ColourShare,
    MixKind,
    Step,
    Stock,
    mix,
)
from network.workshop.core.compatible import Fit, fit_of
from network.workshop.core.draw import draw, draw_in_turn
from network.workshop.core.melt_flow import FlowWarning, Part, flow_of_mix
from network.workshop.core.yields import PRIOR_SHARE, Run, learned, promised_g

# ---- draws and yields


@given(there=st.lists(st.integers(0, 10_000), min_size=1, max_size=8), data=st.data())
def test_a_draw_takes_in_proportion_and_never_more_than_there_is(
    there: list[int], data: st.DataObject
) -> None:
    there_g = dict(enumerate(there))
    mass_g = data.draw(st.integers(0, sum(there)))
    given_g = draw(there_g, mass_g)
    assert sum(given_g.values()) == mass_g
    for part, part_g in given_g.items():
        assert 0 <= part_g <= there_g[part]
        assert abs(part_g - mass_g * there_g[part] / max(1, sum(there))) < 1


def test_draws_in_turn_leave_nothing_of_what_they_take_in_all() -> None:
    """By hand: 100 and 300 g; 200 g out is 50 and 150, then 200 g the other half."""
    assert draw_in_turn({"a": 100, "b": 300}, [200, 200]) == [{"a": 50, "b": 150}] * 2
    with pytest.raises(ValueError, match="more"):
        draw({"a": 1}, 2)


runs = st.lists(
    st.integers(1, 50_000).flatmap(
        lambda in_g: st.builds(Run, in_g=st.just(in_g), out_g=st.integers(0, in_g))
    ),
    max_size=20,
)


@given(kind=st.sampled_from(sorted(PRIOR_SHARE)), history=runs)
def test_a_yield_stays_between_nothing_and_all(kind: str, history: list[Run]) -> None:
    found = learned(kind, history)
    assert 0 <= found.low <= found.high <= 1
    assert 0 < found.share < 1
    expected_g, low_g = promised_g(10_000, [found, found])
    assert 0 <= low_g <= 10_000
    assert 0 <= expected_g <= 10_000


def test_without_a_run_a_yield_is_its_prior_and_with_many_it_is_what_they_were() -> None:
    """By hand: ten looks at 0.95 and 100 at 0.80 are (9.5 + 80)/110 = 0.8136…"""
    assert learned("wash", []).share == pytest.approx(0.95)
    own = learned("wash", [Run(in_g=5_000, out_g=4_000)] * 10)
    assert own.share == pytest.approx((9.5 + 80) / 110)
    assert own.low == pytest.approx(beta.ppf(0.025, 89.5, 20.5))
    assert own.high - own.low < learned("wash", []).high - learned("wash", []).low


def test_a_handful_says_less_than_a_load() -> None:
    handful = learned("wash", [Run(in_g=100, out_g=50)])
    load = learned("wash", [Run(in_g=10_000, out_g=5_000)])
    assert load.share < handful.share < 0.95


# ---- mixes


def one_step(**shares: str) -> list[Step]:
    colours = tuple(ColourShare(colour=c, share=Decimal(s)) for c, s in shares.items())
    return [Step(name="all", share=Decimal(1), colours=colours)]


def test_a_mix_takes_the_shares_wished() -> None:
    stocks = [
        Stock(lot="1", colour="green", mass_g=900),
        Stock(lot="2", colour="white", mass_g=900),
    ]
    found = mix(one_step(green="0.7", white="0.3"), stocks, mass_g=1_000).mix
    assert found is not None
    assert {p.lot: p.mass_g for p in found.portions} == {"1": 700, "2": 300}


def test_where_the_shares_may_give_the_scarce_colour_is_spared() -> None:
    """By hand: blue may be 0.4 to 0.6, and there is least of it, so 400 g are taken."""
    steps = [
        Step(
            name="all",
            share=Decimal(1),
            colours=(
                ColourShare(colour="blue", share=Decimal("0.5"), give=Decimal("0.1")),
                ColourShare(colour="white", share=Decimal("0.5"), give=Decimal("0.1")),
            ),
        )
    ]
    stocks = [
        Stock(lot="b", colour="blue", mass_g=700),
        Stock(lot="w", colour="white", mass_g=9_000),
    ]
    found = mix(steps, stocks, mass_g=1_000).mix
    assert found is not None
    assert {p.colour: p.mass_g for p in found.portions} == {"blue": 400, "white": 600}


def test_steps_keep_their_colours_apart() -> None:
    steps = [
        Step(
            name="ground",
            share=Decimal("0.8"),
            colours=(ColourShare(colour="white", share=Decimal(1)),),
        ),
        Step(
            name="swirl",
            share=Decimal("0.2"),
            colours=(ColourShare(colour="red", share=Decimal(1)),),
        ),
    ]
    stocks = [Stock(lot="w", colour="white", mass_g=900), Stock(lot="r", colour="red", mass_g=900)]
    found = mix(steps, stocks, mass_g=1_000).mix
    assert found is not None
    assert {(p.step, p.colour): p.mass_g for p in found.portions} == {
        ("ground", "white"): 800,
        ("swirl", "red"): 200,
    }


def test_what_the_stock_cannot_serve_is_answered_with_the_nearest() -> None:
    """By hand: 300 g of green at 0.7 serve 428 g; the whole takes 300 green and 700 white."""
    stocks = [
        Stock(lot="g", colour="green", mass_g=300),
        Stock(lot="w", colour="white", mass_g=900),
    ]
    answer = mix(one_step(green="0.7", white="0.3"), stocks, mass_g=1_000)
    assert answer.mix is None
    (short,) = answer.short
    assert (short.colour, short.needs_g, short.has_g) == ("green", 700, 300)
    smaller, other = answer.nearest
    assert (smaller.kind, smaller.off_g) == (MixKind.SMALLER, 0)
    assert 428 <= smaller.mass_g <= 430  # a share gives up to a gram either way
    assert (other.kind, other.mass_g, other.off_g) == (MixKind.OTHER_SHARES, 1_000, 800)
    assert {p.lot: p.mass_g for p in other.portions} == {"g": 300, "w": 700}


def test_with_nothing_in_stock_there_is_no_nearest() -> None:
    answer = mix(one_step(green="1"), [], mass_g=100)
    assert answer.mix is None
    assert answer.nearest == ()


shares = st.lists(st.integers(1, 9), min_size=1, max_size=3)
stock_lists = st.lists(
    st.builds(
        Stock,
        lot=st.uuids().map(str),
        colour=st.sampled_from("abc"),
        mass_g=st.integers(0, 3_000),
    ),
    max_size=6,
)


def steps_from(weights: list[list[int]], give: Decimal) -> list[Step]:
    def fractions(of: list[int]) -> list[Decimal]:
        parts = [Decimal(one) / sum(of) for one in of]
        parts = [part.quantize(Decimal("0.01")) for part in parts]
        return [*parts[:-1], 1 - sum(parts[:-1], Decimal(0))]

    whole = fractions([sum(one) for one in weights])
    return [
        Step(
            name=str(index),
            share=share,
            colours=tuple(
                ColourShare(colour="abc"[i], share=part, give=give)
                for i, part in enumerate(fractions(one))
            ),
        )
        for index, (one, share) in enumerate(zip(weights, whole, strict=True))
    ]


@settings(max_examples=60, deadline=None)
@given(
    weights=st.lists(shares, min_size=1, max_size=2),
    stocks=stock_lists,
    mass_g=st.integers(1, 4_000),
    give=st.sampled_from([Decimal(0), Decimal("0.1")]),
)
def test_no_mix_uses_more_than_there_is(
    weights: list[list[int]], stocks: list[Stock], mass_g: int, give: Decimal
) -> None:
    answer: Answer = mix(steps_from(weights, give), stocks, mass_g=mass_g)
    there_g = {stock.lot: stock.mass_g for stock in stocks}
    for found in (answer.mix, *answer.nearest):
        if found is None:
            continue
        assert sum(p.mass_g for p in found.portions) == found.mass_g
        for lot, has_g in there_g.items():
            assert sum(p.mass_g for p in found.portions if p.lot == lot) <= has_g
        assert (found.off_g > 0) == (found.kind is MixKind.OTHER_SHARES)


@settings(max_examples=30, deadline=None)
@given(stocks=stock_lists, mass_g=st.integers(1, 3_000), more_g=st.integers(1, 500))
def test_more_in_stock_never_serves_less(stocks: list[Stock], mass_g: int, more_g: int) -> None:
    steps = one_step(a="0.6", b="0.4")
    before = mix(steps, stocks, mass_g=mass_g).mix
    after = mix(steps, [*stocks, Stock(lot="x", colour="a", mass_g=more_g)], mass_g=mass_g).mix
    assert before is None or after is not None


def test_a_recipe_adds_up() -> None:
    with pytest.raises(ValueError, match="add up"):
        one_step(green="0.7", white="0.2")
    with pytest.raises(ValueError, match="add up"):
        mix(
            [Step(name="a", share=Decimal("0.5"), colours=one_step(a="1")[0].colours)], [], mass_g=1
        )


# ---- flow


def part(mass_g: int, flow: float | None, *, blown: bool = False, resin: str = "PE-HD") -> Part:
    return Part(
        mass_g=mass_g,
        resin=resin,
        is_blown=blown,
        flow=flow,
        condition="" if flow is None else "230/2.16" if resin == "PP" else "190/2.16",
    )


def test_half_of_one_and_half_of_two_flow_at_the_root_of_two() -> None:
    """PointSales, Tech Talk, after Nielsen, Polymer Rheology (1977): half 1, half 2 is 1.4145."""
    found = flow_of_mix([part(500, 1.0), part(500, 2.0)])
    assert found.flow == pytest.approx(1.414, abs=0.0005)
    assert found.warnings == ()


def test_a_third_of_bottle_in_caps_flows_less_than_the_plain_mean_says() -> None:
    """By hand: exp(0.7 ln 2.0 + 0.3 ln 0.3) = 1.132, where the plain mean would be 1.49."""
    found = flow_of_mix([part(700, 2.0), part(300, 0.3, blown=True)])
    assert found.flow == pytest.approx(1.132, abs=0.0005)
    assert found.warnings == (FlowWarning.RATIO,)
    # By hand: ln 2 / ln(2/0.3) = 0.365 of bottle would just reach a flow of one.
    assert found.blown_share_max == pytest.approx(0.3654, abs=0.0001)


def test_far_apart_flows_and_much_bottle_are_warned_of() -> None:
    found = flow_of_mix([part(500, 20.0), part(500, 0.3, blown=True)])
    assert found.flow == pytest.approx(2.449, abs=0.0005)
    assert found.warnings == (FlowWarning.RATIO, FlowWarning.BLOWN)


def test_flows_of_two_conditions_are_never_reckoned_together() -> None:
    found = flow_of_mix([part(500, 2.0), part(500, 2.0, resin="PP")])
    assert found.flow is None
    assert found.warnings == (FlowWarning.IMMISCIBLE, FlowWarning.TWO_CONDITIONS)


def test_an_unknown_flow_leaves_the_mix_unknown() -> None:
    found = flow_of_mix([part(500, 2.0), part(500, None, blown=True)])
    assert found.flow is None
    assert set(found.warnings) == {FlowWarning.UNKNOWN_PART, FlowWarning.BLOWN}


@given(
    flows=st.lists(st.floats(0.1, 50), min_size=1, max_size=6),
    masses=st.lists(st.integers(1, 5_000), min_size=6, max_size=6),
)
def test_a_mix_flows_neither_less_than_its_stiffest_nor_more_than_its_freest_part(
    flows: list[float], masses: list[int]
) -> None:
    found = flow_of_mix([part(m, f) for m, f in zip(masses, flows, strict=False)])
    assert found.flow is not None
    assert min(flows) * 0.999 <= found.flow <= max(flows) * 1.001


def test_polyolefins_go_together_weakly_and_nothing_else_does() -> None:
    assert fit_of("PE-HD", "PE-HD") is Fit.SAME
    assert fit_of("PE-HD", "PE-LD") is Fit.FAMILY
    assert fit_of("PE-HD", "PP") is Fit.IMMISCIBLE
    assert fit_of("PS", "PE-HD") is Fit.NEVER
