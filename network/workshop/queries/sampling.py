"""How many pieces to look at, and how sure what was found makes one."""

from dataclasses import dataclass

from network.errors import InvalidInput
from network.lots.core.sampling import (
    beta_interval,
    chance_to_catch,
    clopper_pearson,
    pieces_to_look_at,
)
from network.materials import catalogue


@dataclass(frozen=True, kw_only=True)
class SamplingQuestion:
    """A limit and a chance, as shares; the whole by mass or number where it is known.

    `looked_at` and `found` are of a look that was taken already.
    """

    limit: float
    chance: float
    item: str = ""
    whole_g: int | None = None
    whole_pieces: int | None = None
    looked_at: int | None = None
    found: int = 0


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What a look says of the whole: shares with their 95 % intervals."""

    share: float
    low: float
    high: float
    exact_low: float
    exact_high: float
    chance_it_would_have_caught: float


@dataclass(frozen=True, kw_only=True)
class SamplingPlan:
    """How much to look at; grams only where the item's unit mass is known, and estimated then."""

    pieces: int
    grams: int | None
    whole_pieces: int | None
    whole_is_estimated: bool
    chance: float
    seen: Seen | None


def sampling_plan(question: SamplingQuestion) -> SamplingPlan:
    """Return how many pieces catch a contamination at the limit with at least the chance.

    Exact: hypergeometric where the whole is known, else binomial. Raises InvalidInput naming what
    cannot be.
    """
    if not 0 < question.limit <= 1:
        raise InvalidInput.of("limit", "This is not a limit.", "Send a share such as 0.02.")
    if not 0 < question.chance < 1:
        raise InvalidInput.of("chance", "This is not a chance.", "Send a share such as 0.95.")
    unit_g = _unit_g(question.item)
    whole = question.whole_pieces
    estimated = whole is None and question.whole_g is not None and unit_g is not None
    if estimated and question.whole_g is not None and unit_g is not None:
        whole = max(1, round(question.whole_g / unit_g))
    pieces = pieces_to_look_at(whole=whole, limit_share=question.limit, chance=question.chance)
    return SamplingPlan(
        pieces=pieces,
        grams=None if unit_g is None else round(pieces * unit_g),
        whole_pieces=whole,
        whole_is_estimated=estimated,
        chance=chance_to_catch(looked_at=pieces, whole=whole, limit_share=question.limit),
        seen=_seen(question, whole),
    )


def _seen(question: SamplingQuestion, whole: int | None) -> Seen | None:
    looked_at, found = question.looked_at, question.found
    if looked_at is None:
        return None
    if not 0 <= found <= looked_at or looked_at == 0 or (whole is not None and looked_at > whole):
        raise InvalidInput.of(
            "looked_at",
            "More was found or looked at than there is.",
            "Count again what was looked at and what of it was found.",
        )
    bayes = beta_interval(found=found, sampled=looked_at)
    exact = clopper_pearson(found=found, sampled=looked_at)
    return Seen(
        share=bayes.share,
        low=bayes.low,
        high=bayes.high,
        exact_low=exact.low,
        exact_high=exact.high,
        chance_it_would_have_caught=chance_to_catch(
            looked_at=looked_at, whole=whole, limit_share=question.limit
        ),
    )


def _unit_g(item: str) -> float | None:
    if not item:
        return None
    known = catalogue.items().get(item)
    if known is None:
        raise InvalidInput.of("item", "This item is not known.", "Choose a listed item.")
    return float(known.unit_mass.value) if known.unit_mass else None
