"""A stream's accepted-material rules as lines that a ten-year-old can act on."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from network.materials.core.resins import Item, Resin
from network.materials.core.rules import AcceptanceRules
from network.materials.core.terms import Finding, Forming, State, Unmarked
from network.materials.core.words import FINDINGS, TEXTS, Code

_FORMING_WORDS: Mapping[Forming, str] = {
    Forming.INJECTION: "hard things made in one piece, such as caps and lids",
    Forming.BLOW: "hollow things, such as bottles",
    Forming.THERMOFORMED: "thin shaped things, such as pots and trays",
    Forming.FILM: "thin soft things, such as bags",
}
_UNMARKED_WORDS: Mapping[Unmarked, str] = {
    Unmarked.TAKEN_IF_IT_FLOATS: "No mark to be found? Keep it too: the workshop tests it.",
    Unmarked.EXTRA_WORK: "No mark to be found? Keep it in a bag of its own.",
    Unmarked.TURNED_AWAY: "No mark to be found? Leave it out.",
}


@dataclass(frozen=True, kw_only=True)
class Line:
    """One thing to do or leave, as a code with its params and in words."""

    code: str
    params: Mapping[str, str] = field(default_factory=dict)
    text: str


@dataclass(frozen=True, kw_only=True)
class RulesInWords:
    """What to keep, how to get it ready, and what never belongs in it."""

    keep: tuple[Line, ...]
    ready: tuple[Line, ...]
    never: tuple[Line, ...]


def rules_in_words(
    rules: AcceptanceRules, *, resins: Mapping[str, Resin], items: Mapping[str, Item]
) -> RulesInWords:
    """Return the rules in words; a name that the catalogue no longer has is shown as it stands."""
    return RulesInWords(
        keep=(*_items(rules, items), *_forming(rules), _marks(rules, resins), _colours(rules)),
        ready=(*_states(rules), _unmarked(rules), *_containers(rules)),
        never=tuple(_never(rules)),
    )


def _items(rules: AcceptanceRules, items: Mapping[str, Item]) -> Iterable[Line]:
    if rules.items is None:
        return [Line(code="any_item", text="Anything made of the right plastic")]
    names = {slug: items[slug].name if slug in items else slug for slug in rules.items}
    return [
        Line(code="item", params={"slug": slug, "name": name}, text=name)
        for slug, name in names.items()
    ]


def _forming(rules: AcceptanceRules) -> Iterable[Line]:
    if rules.forming is None:
        return []
    words = _either([_FORMING_WORDS[forming] for forming in rules.forming])
    return [Line(code="forming", params={"forming": words}, text=f"Only {words}.")]


def _marks(rules: AcceptanceRules, resins: Mapping[str, Resin]) -> Line:
    """Name the marks; a resin without a number of its own is marked by its letters."""
    codes = {symbol: resins[symbol].code if symbol in resins else None for symbol in rules.resins}
    numbered = [f"a {code} in the triangle ({symbol})" for symbol, code in codes.items() if code]
    lettered = [f"the letters {symbol}" for symbol, code in codes.items() if not code]
    marks = _either([*numbered, *lettered])
    return Line(code="mark", params={"marks": marks}, text=f"Look for {marks}.")


def _colours(rules: AcceptanceRules) -> Line:
    if rules.colours is None:
        return Line(code="any_colour", text="Any colour.")
    colours = _either([colour.value for colour in rules.colours])
    return Line(code="colours", params={"colours": colours}, text=f"Only {colours}.")


def _states(rules: AcceptanceRules) -> Iterable[Line]:
    for code, wanted_states in ((Code.STATE_MUST, rules.must), (Code.STATE_WANTED, rules.wanted)):
        for state in State:
            if state in wanted_states:
                advice = TEXTS[f"{code}.{state}"].next_time
                text = advice if code is Code.STATE_MUST else f"If you can: {_lower(advice)}"
                yield Line(code=code.value, params={"state": state.value}, text=text)


def _unmarked(rules: AcceptanceRules) -> Line:
    return Line(code=f"unmarked_{rules.unmarked.value}", text=_UNMARKED_WORDS[rules.unmarked])


def _containers(rules: AcceptanceRules) -> Iterable[Line]:
    if rules.containers is None:
        return []
    kinds = _either([f"a {kind.value}" for kind in rules.containers])
    return [Line(code="containers", params={"containers": kinds}, text=f"Use {kinds}.")]


def _never(rules: AcceptanceRules) -> Iterable[Line]:
    """Name what never belongs in it; what is dangerous to melt always does not."""
    for finding in Finding:
        if finding is Finding.DANGEROUS_RESIN or finding in rules.never:
            advice = FINDINGS[finding].advice
            name = _upper(FINDINGS[finding].name)
            params = {"finding": finding.value, "name": name, "advice": advice}
            yield Line(code="never", params=params, text=f"{name}. {advice}")


def _either(words: Sequence[str]) -> str:
    """Join words as one says them: `a`, `a or b`, `a, b or c`."""
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def _upper(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
