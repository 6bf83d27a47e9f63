"""How likely each resin is, from what can be seen and done without harm, by Bayes' rule.

Each resin is a density that lies within its published range, most often near its usual value (a
triangle). Floating or sinking tells where that density lies, so several liquids are judged
together. All other clues are independent of each other once the resin is known; that is a
simplification, and one of the reasons why nothing is ever more than probable.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import log2

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

Clue = Mapping[str, float]
"""How likely what was seen is, by the symbol of a resin."""

# How often a piece does not do what its density says: a bubble, a filler, a look in bad light.
SLIP = 0.01
_GRID = 201


@dataclass(frozen=True, kw_only=True)
class Hypothesis:
    """A resin the piece may be: its density range in g/cm³, and how likely it is beforehand."""

    symbol: str
    low_g_cm3: float
    usual_g_cm3: float
    high_g_cm3: float
    prior: float
    is_dangerous: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.low_g_cm3 <= self.usual_g_cm3 <= self.high_g_cm3:
            raise ValueError("the usual density lies within its range")
        if not 0 < self.prior <= 1:
            raise ValueError("a prior is a probability above zero")


@dataclass(frozen=True, kw_only=True)
class Liquid:
    """A liquid's density and its standard uncertainty, in g/cm³."""

    density_g_cm3: float
    standard_g_cm3: float

    def __post_init__(self) -> None:
        if not (self.density_g_cm3 > 0 and self.standard_g_cm3 > 0):
            raise ValueError("a liquid has a density, known to within some uncertainty")


@dataclass(frozen=True, kw_only=True)
class Floated:
    """What the piece did in a liquid."""

    liquid: Liquid
    floated: bool


def posterior(
    hypotheses: Sequence[Hypothesis],
    *,
    floats: Sequence[Floated] = (),
    clues: Iterable[Clue] = (),
) -> dict[str, float]:
    """Return the probability of each resin given all that was seen; they add up to one."""
    weights = {h.symbol: h.prior * _float_likelihood(h, floats) for h in hypotheses}
    for clue in clues:
        weights = {symbol: weight * clue[symbol] for symbol, weight in weights.items()}
    whole = sum(weights.values())
    if whole <= 0:
        raise ValueError("a likelihood of nothing for every resin says that it was impossible")
    return {symbol: weight / whole for symbol, weight in weights.items()}


def entropy_bits(probabilities: Mapping[str, float]) -> float:
    """Return how much is still open, in bits (Shannon): 0 is certain, 1 is a toss of a coin."""
    return -sum(p * log2(p) for p in probabilities.values() if p > 0)


def bits_of_float_test(
    hypotheses: Sequence[Hypothesis],
    liquid: Liquid,
    *,
    floats: Sequence[Floated] = (),
    clues: Sequence[Clue] = (),
) -> float:
    """Return how many bits a float test is expected to tell, after what was seen."""
    before = posterior(hypotheses, floats=floats, clues=clues)
    both = [[*floats, Floated(liquid=liquid, floated=floated)] for floated in (True, False)]
    by_symbol = {h.symbol: h for h in hypotheses}
    told = []
    for seen in both:
        chance = sum(
            p * _float_likelihood(by_symbol[s], seen) / _float_likelihood(by_symbol[s], floats)
            for s, p in before.items()
        )
        told.append((chance, posterior(hypotheses, floats=seen, clues=clues)))
    return _gain(before, told)


def bits_of_clue(before: Mapping[str, float], outcomes: Sequence[Clue]) -> float:
    """Return how many bits a look with these possible outcomes is expected to tell."""
    told = []
    for outcome in outcomes:
        weights = {symbol: p * outcome[symbol] for symbol, p in before.items()}
        chance = sum(weights.values())
        if chance > 0:
            told.append((chance, {symbol: w / chance for symbol, w in weights.items()}))
    return _gain(before, told)


def _gain(before: Mapping[str, float], told: Iterable[tuple[float, Mapping[str, float]]]) -> float:
    left = sum(chance * entropy_bits(after) for chance, after in told)
    return max(0.0, entropy_bits(before) - left)


def _float_likelihood(hypothesis: Hypothesis, floats: Sequence[Floated]) -> float:
    """Return how likely a resin is to have done all this, over all densities it may have."""
    if not floats:
        return 1.0
    density, weight = _densities(hypothesis)
    likelihood = np.ones_like(density)
    for seen in floats:
        liquid = seen.liquid
        floats_share = ndtr((liquid.density_g_cm3 - density) / liquid.standard_g_cm3)
        share = floats_share if seen.floated else 1 - floats_share
        likelihood *= SLIP + (1 - 2 * SLIP) * share
    return float(weight @ likelihood)


@lru_cache(maxsize=64)
def _densities(hypothesis: Hypothesis) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return densities across a resin's range, with their weights by a triangle."""
    low, mode, high = hypothesis.low_g_cm3, hypothesis.usual_g_cm3, hypothesis.high_g_cm3
    if low == high:
        return np.array([mode]), np.array([1.0])
    edges = np.linspace(low, high, _GRID + 1)
    below = np.array([_triangle_below(float(x), low, mode, high) for x in edges])
    weights = np.array([b - a for a, b in pairwise(below)])
    return (edges[:-1] + edges[1:]) / 2, weights


def _triangle_below(x: float, low: float, mode: float, high: float) -> float:
    """Return the share of a triangular distribution below a value."""
    if x <= mode and mode > low:
        return (x - low) ** 2 / ((high - low) * (mode - low))
    if x <= mode:
        return 0.0
    return 1 - (high - x) ** 2 / ((high - low) * (high - mode))
