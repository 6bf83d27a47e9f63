"""What is this piece: evidence in a person's words, turned to probabilities and the next test."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from uuid import UUID

from network.errors import InvalidInput
from network.materials import catalogue
from network.materials.core.bayes import (
    Clue,
    Floated,
    Hypothesis,
    Liquid,
    bits_of_clue,
    bits_of_float_test,
    entropy_bits,
    posterior,
)
from network.materials.core.dangerous import danger_of
from network.materials.core.liquids import (
    brine_g_cm3,
    ethanol_water_g_cm3,
    mass_share_of_volume_share,
)
from network.people.core.actor import Actor
from network.workshop.cautions import NEVER_FLAME_OR_SNIFF, Caution, in_words
from network.workshop.queries.limits import certainty_min_of

OTHER = "other"
# Shares of our own judgement: most marks are right, most things are of their usual resin, and one
# piece in twenty is none of the resins listed.
MARK_IS_RIGHT = 0.97
ITEM_IS_USUAL_TIMES = 4.0
OTHER_PRIOR = 0.05
# What may be dangerous to melt has to be all but ruled out, however sure the rest is.
DANGEROUS_MAX = 0.01
# A test that tells less than this is not worth the walk to the sink.
BITS_MIN = 0.05
# Two liquids nearer than this tell the same.
SAME_LIQUID_G_CM3 = 0.005
STANDARD_G_CM3 = {"water": 0.001, "ethanol": 0.003, "brine": 0.010}
LIQUIDS = [("water", "water"), ("ethanol", "alcohol in water"), ("brine", "salt in water")]
BY = [("mass", "by mass"), ("volume", "by volume")]
DECISIONS = [("known", "known well enough"), ("set_aside", "set aside")]


@dataclass(frozen=True, kw_only=True)
class LiquidSaid:
    """A liquid as its bottle or bucket says; `percent` of alcohol or salt."""

    kind: str
    percent: Decimal | None = None
    by: str = "mass"
    temperature_c: Decimal = Decimal(20)


@dataclass(frozen=True, kw_only=True)
class FloatSaid:
    """What the piece did in a liquid."""

    liquid: LiquidSaid
    floated: bool


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """All that is known of a piece; `looks` are outcomes by the slug of the look."""

    mark: str = ""
    item: str = ""
    looks: dict[str, str] = field(default_factory=dict)
    float_tests: Sequence[FloatSaid] = ()


@dataclass(frozen=True, kw_only=True)
class ResinChance:
    """How likely a resin is."""

    symbol: str
    name: str
    probability: float
    is_dangerous: bool


@dataclass(frozen=True, kw_only=True)
class NextTest:
    """A harmless test not yet done, and how many bits it is expected to tell."""

    code: str
    text: str
    bits: float
    adults_only: bool
    cautions: Sequence[Mapping[str, str]]


@dataclass(frozen=True, kw_only=True)
class Identification:
    """How likely each resin is, likeliest first, what is decided and what to test next."""

    resins: Sequence[ResinChance]
    decision: str
    resin: str
    why: str
    certainty_min: Decimal
    open_bits: float
    next_tests: Sequence[NextTest]
    never: str = NEVER_FLAME_OR_SNIFF


def identify(actor: Actor, *, evidence: Evidence, stream_id: UUID | None = None) -> Identification:
    """Return how likely each resin is, and whether that is sure enough for the stream.

    Raises InvalidInput naming the part of the evidence that cannot be, NotFound for the stream.
    """
    certainty_min = certainty_min_of(actor, stream_id)
    hypotheses = _hypotheses()
    floats = [_floated(i, said) for i, said in enumerate(evidence.float_tests)]
    clues = _clues(evidence)
    chances = posterior(hypotheses, floats=floats, clues=clues)
    decision, resin, why = _decide(evidence, chances, certainty_min)
    return Identification(
        resins=_in_order(chances),
        decision=decision,
        resin=resin,
        why=why,
        certainty_min=certainty_min,
        open_bits=entropy_bits(chances),
        next_tests=_next_tests(evidence, hypotheses, floats, clues),
    )


def harmless_tests() -> Mapping[str, object]:
    """Return the looks and liquids that can be asked for, with their sources and cautions."""
    return {
        "looks": [
            {
                "slug": table.slug,
                "question": table.question,
                "outcomes": list(table.outcomes),
                "rests_on": table.source,
            }
            for table in catalogue.clue_tables().values()
        ],
        "liquids": [
            {
                "slug": medium.slug,
                "name": medium.name,
                "density_g_cm3": float(medium.density.value),
                "adults_only": medium.adults_only,
                "caution": medium.caution,
                "rests_on": medium.density.source,
            }
            for medium in catalogue.float_media().values()
        ],
        "never": NEVER_FLAME_OR_SNIFF,
    }


def density_g_cm3(said: LiquidSaid, *, field_name: str = "liquid") -> float:
    """Return a liquid's density in g/cm³; raises InvalidInput for one that cannot be."""
    percent = float(said.percent or 0)
    try:
        if said.kind == "brine":
            return brine_g_cm3(mass_percent=percent)
        share = percent / 100 if said.kind == "ethanol" else 0.0
        if said.by == "volume":
            share = mass_share_of_volume_share(share)
        return ethanol_water_g_cm3(mass_share=share, temperature_c=float(said.temperature_c))
    except ValueError as fault:
        raise InvalidInput.of(
            field_name,
            f"There is no such liquid: {fault}.",
            "Read the strength off the bottle in per cent, and the temperature in °C.",
        ) from None


def _hypotheses() -> list[Hypothesis]:
    known = [resin for resin in catalogue.resins().values() if resin.density is not None]
    prior = (1 - OTHER_PRIOR) / len(known)
    found = []
    for resin in known:
        density = resin.density
        if density is None or density.low is None or density.high is None:
            continue
        found.append(
            Hypothesis(
                symbol=resin.symbol,
                low_g_cm3=float(density.low),
                usual_g_cm3=float(density.value),
                high_g_cm3=float(density.high),
                prior=prior,
                is_dangerous=bool(resin.danger),
            )
        )
    other = Hypothesis(
        symbol=OTHER, low_g_cm3=0.85, usual_g_cm3=1.2, high_g_cm3=1.6, prior=OTHER_PRIOR
    )
    return [*found, other]


def _floated(index: int, said: FloatSaid) -> Floated:
    density = density_g_cm3(said.liquid, field_name=f"float_tests[{index}].liquid")
    liquid = Liquid(density_g_cm3=density, standard_g_cm3=STANDARD_G_CM3[said.liquid.kind])
    return Floated(liquid=liquid, floated=said.floated)


def _clues(evidence: Evidence) -> list[Clue]:
    symbols = [h.symbol for h in _hypotheses()]
    clues: list[Clue] = []
    if evidence.mark and danger_of(evidence.mark) is None:
        marked = _marked(evidence.mark)
        right = [s for s in symbols if s in marked]
        wrong_share = (1 - MARK_IS_RIGHT) / (len(symbols) - len(right))
        clues.append({s: MARK_IS_RIGHT if s in right else wrong_share for s in symbols})
    if evidence.item:
        item = catalogue.items().get(evidence.item)
        if item is None:
            raise InvalidInput.of("item", "This item is not known.", "Choose a listed item.")
        usual = item.usual_resins
        clues.append({s: ITEM_IS_USUAL_TIMES if s in usual else 1.0 for s in symbols})
    tables = catalogue.clue_tables()
    for slug, outcome in evidence.looks.items():
        clues.append(tables[slug].outcomes[outcome])
    return clues


def _marked(mark: str) -> set[str]:
    """Return the resins that a mark can mean: a code of ASTM D7611 or a symbol of ISO 1043-1."""
    resins = catalogue.resins()
    text = mark.strip().strip("><").upper()
    by_code = {str(resin.code): symbol for symbol, resin in resins.items() if resin.code}
    if text in by_code or text.lstrip("0") in by_code:
        return {by_code[text.lstrip("0")]}
    if text in {"7", "07", "OTHER", "O"}:
        return {s for s, r in resins.items() if r.code is None} | {OTHER}
    spelled = {symbol.replace("-", ""): symbol for symbol in resins} | _SPELLINGS
    symbol = spelled.get(text.replace("-", ""))
    if symbol is None:
        raise InvalidInput.of(
            "mark",
            "This mark is not known.",
            "Write the number in the triangle, 1 to 7, or a symbol such as PP; else leave it out.",
        )
    return {symbol}


_SPELLINGS = {"HDPE": "PE-HD", "LDPE": "PE-LD", "PETE": "PET"}


def _decide(
    evidence: Evidence, chances: dict[str, float], certainty_min: Decimal
) -> tuple[str, str, str]:
    """Return what is decided, the resin if one is, and why."""
    danger = danger_of(evidence.mark) if evidence.mark else None
    if danger:
        return "set_aside", "", f"It is marked {evidence.mark}, and is never melted: {danger}."
    best = max(chances, key=lambda symbol: chances[symbol])
    resins = catalogue.resins()
    dangerous = sum(p for s, p in chances.items() if s in resins and resins[s].danger)
    if best == OTHER or chances[best] < float(certainty_min):
        why = f"No resin is as likely as the {_percent(certainty_min)} that is asked for."
        return "set_aside", "", why
    if resins[best].danger:
        return "set_aside", "", f"It is most likely {best}. {resins[best].danger}"
    if dangerous > DANGEROUS_MAX:
        return "set_aside", "", "A resin that is dangerous to melt is not ruled out yet."
    return (
        "known",
        best,
        f"{best} is more likely than the {_percent(certainty_min)} that is asked for.",
    )


def _percent(share: Decimal) -> str:
    return f"{(100 * share).normalize():f}%"


def _in_order(chances: dict[str, float]) -> list[ResinChance]:
    resins = catalogue.resins()
    return [
        ResinChance(
            symbol=symbol,
            name=resins[symbol].name if symbol in resins else "Another plastic, or a filled one",
            probability=probability,
            is_dangerous=symbol in resins and bool(resins[symbol].danger),
        )
        for symbol, probability in sorted(chances.items(), key=lambda pair: (-pair[1], pair[0]))
    ]


def _next_tests(
    evidence: Evidence,
    hypotheses: Sequence[Hypothesis],
    floats: Sequence[Floated],
    clues: Sequence[Clue],
) -> list[NextTest]:
    """Return the harmless tests left to do that tell something, the most telling first."""
    before = posterior(hypotheses, floats=floats, clues=clues)
    tests = [
        NextTest(
            code=slug,
            text=table.question,
            bits=bits_of_clue(before, list(table.outcomes.values())),
            adults_only=slug == "bend",
            cautions=in_words([Caution.EYES] if slug == "bend" else []),
        )
        for slug, table in catalogue.clue_tables().items()
        if slug not in evidence.looks
    ]
    for slug, medium in catalogue.float_media().items():
        density = float(medium.density.value)
        if any(abs(seen.liquid.density_g_cm3 - density) < SAME_LIQUID_G_CM3 for seen in floats):
            continue
        liquid = Liquid(
            density_g_cm3=density, standard_g_cm3=STANDARD_G_CM3[slug.split("-", maxsplit=1)[0]]
        )
        tests.append(
            NextTest(
                code=f"float:{slug}",
                text=f"Press it under in this, wipe off bubbles, let go: {medium.name.lower()}.",
                bits=bits_of_float_test(hypotheses, liquid, floats=floats, clues=clues),
                adults_only=medium.adults_only,
                cautions=in_words([Caution.ALCOHOL] if medium.adults_only else []),
            )
        )
    telling = [test for test in tests if test.bits >= BITS_MIN]
    return sorted(telling, key=lambda test: (-test.bits, test.adults_only, test.code))
