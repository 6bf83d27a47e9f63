"""Every sentence a verdict says, in one place, keyed by code so that it can be translated.

The key is the reason's code, with `.` and the finding or state it is about where it has one. The
sentences are for a ten-year-old at a school: what was wrong, then what to do instead.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from network.materials.core.terms import Finding, Forming, State


class Code(StrEnum):
    """What a reason is about."""

    DANGEROUS_RESIN = "dangerous_resin"
    DANGEROUS_FOUND = "dangerous_found"
    RESIN_NOT_ACCEPTED = "resin_not_accepted"
    UNMARKED_IS_OTHER = "unmarked_is_other"
    UNMARKED_TURNED_AWAY = "unmarked_turned_away"
    UNMARKED_EXTRA_WORK = "unmarked_extra_work"
    ITEM_NOT_ACCEPTED = "item_not_accepted"
    COLOUR_NOT_ACCEPTED = "colour_not_accepted"
    FORMING_NOT_ACCEPTED = "forming_not_accepted"
    STATE_MUST = "state_must"
    STATE_WANTED = "state_wanted"
    NEVER_IN_IT = "never_in_it"
    FOUND = "found"
    CONTAMINATION_EXTRA_WORK = "contamination_extra_work"
    CONTAMINATION_TURNED_AWAY = "contamination_turned_away"
    TOO_LITTLE = "too_little"
    CONTAINER_NOT_ALLOWED = "container_not_allowed"


@dataclass(frozen=True, kw_only=True)
class Text:
    """What was wrong and what to do instead; `{names}` are the reason's params."""

    reason: str
    next_time: str


@dataclass(frozen=True, kw_only=True)
class _FindingText:
    name: str
    advice: str


FINDINGS: Mapping[Finding, _FindingText] = {
    Finding.OTHER_RESIN: _FindingText(
        name="another kind of plastic",
        advice="Look for the number in the triangle and keep only the numbers on your card.",
    ),
    Finding.DANGEROUS_RESIN: _FindingText(
        name="plastic that must never be melted",
        advice="Keep out anything with a 3 in the triangle, or PVC or V below it.",
    ),
    Finding.OTHER_ITEM: _FindingText(
        name="things of another kind",
        advice="Keep only the things shown on your card. If you are not sure, leave it out.",
    ),
    Finding.OTHER_COLOUR: _FindingText(
        name="other colours",
        advice="Put only the colours on your card in the container.",
    ),
    Finding.FOOD_RESIDUE: _FindingText(
        name="leftover food or drink",
        advice="Rinse each piece with water until nothing sticks to it.",
    ),
    Finding.OIL_OR_CHEMICAL: _FindingText(
        name="oil, paint or cleaning liquid",
        advice="Do not touch it. Ask a grown-up, and keep such bottles out.",
    ),
    Finding.MEDICAL: _FindingText(
        name="medical waste",
        advice="Do not touch it. Tell a grown-up at once: it has its own bin.",
    ),
    Finding.METAL: _FindingText(
        name="metal",
        advice="Leave out anything with a spring, a screw or a metal cap.",
    ),
    Finding.GLASS: _FindingText(
        name="glass",
        advice="Do not pick it out: glass cuts. Ask a grown-up, and keep glass in its own bin.",
    ),
    Finding.PAPER: _FindingText(
        name="paper or card",
        advice="Put paper and card in the paper bin.",
    ),
    Finding.LABEL: _FindingText(
        name="labels",
        advice="Peel the label off. If it sticks, soak it in warm water first.",
    ),
    Finding.WATER: _FindingText(
        name="water",
        advice="Shake the water out and let it dry in the air before it goes in.",
    ),
    Finding.OTHER: _FindingText(
        name="things that do not belong",
        advice="Look through the container and take out what is not on your card.",
    ),
}

_STATES: Mapping[State, Text] = {
    State.RINSED: Text(
        reason="It was not rinsed.",
        next_time="Rinse each piece with water until nothing sticks to it.",
    ),
    State.DRY: Text(
        reason="It was wet.",
        next_time="Shake the water out and let it dry in the air before it goes in.",
    ),
    State.LABEL_OFF: Text(
        reason="There were still labels on it.",
        next_time="Peel the label off. If it sticks, soak it in warm water first.",
    ),
    State.LID_OFF: Text(
        reason="The lids were still on.",
        next_time="Take off each lid and keep it apart.",
    ),
    State.SORTED_BY_COLOUR: Text(
        reason="The colours were mixed.",
        next_time="Use one container or bag for each colour.",
    ),
}

_MUST = " This has to be done before it can be taken."
_WANTED = " We take it, but it gives us extra work."

_SINGLE: Mapping[Code, Text] = {
    Code.DANGEROUS_RESIN: Text(
        reason="{resins} must never be melted: the fumes are poisonous. Nobody here can take it.",
        next_time="Keep out {resins}. If you cannot read the mark, leave the piece out and ask.",
    ),
    Code.DANGEROUS_FOUND: Text(
        reason="There was plastic in it that must never be melted: the fumes are poisonous.",
        next_time=FINDINGS[Finding.DANGEROUS_RESIN].advice,
    ),
    Code.RESIN_NOT_ACCEPTED: Text(
        reason="It is {resins}. Only this plastic is taken here: {accepted}.",
        next_time="Look for the number in the triangle and keep only these: {accepted}.",
    ),
    Code.UNMARKED_IS_OTHER: Text(
        reason="Some pieces have no mark, and in the float test they behaved like another plastic.",
        next_time="Leave out pieces without a mark. Only this plastic is taken: {accepted}.",
    ),
    Code.UNMARKED_TURNED_AWAY: Text(
        reason="Some pieces have no mark, so nobody can tell which plastic they are.",
        next_time="Keep only pieces with one of these marks: {accepted}.",
    ),
    Code.UNMARKED_EXTRA_WORK: Text(
        reason="Some pieces have no mark. We must find out what they are before we melt them.",
        next_time="Keep pieces without a mark in a bag of their own.",
    ),
    Code.ITEM_NOT_ACCEPTED: Text(
        reason="This is not collected here: {items}.",
        next_time="Keep only these: {accepted}.",
    ),
    Code.COLOUR_NOT_ACCEPTED: Text(
        reason="This colour is not collected here: {colours}.",
        next_time="Keep only these colours: {accepted}.",
    ),
    Code.FORMING_NOT_ACCEPTED: Text(
        reason="It is {forming}, and that melts in another way than what is collected here.",
        next_time="Keep only these: {accepted}.",
    ),
    Code.CONTAMINATION_EXTRA_WORK: Text(
        reason="We looked at {sample_g} g, and {found_g} g of it did not belong there. "
        "Up to {limit_g} g in every 100 g is no trouble; this takes us extra work.",
        next_time="What we found most was {most}. {advice}",
    ),
    Code.CONTAMINATION_TURNED_AWAY: Text(
        reason="We looked at {sample_g} g, and {found_g} g of it did not belong there. "
        "We can take at most {limit_g} g in every 100 g.",
        next_time="What we found most was {most}. {advice}",
    ),
    Code.TOO_LITTLE: Text(
        reason="There are {mass_g} g so far. A trip is worth it from {smallest_g} g.",
        next_time="Keep collecting, and ask again when there is more.",
    ),
    Code.CONTAINER_NOT_ALLOWED: Text(
        reason="It is in a {container}. We have to tip it over into another container.",
        next_time="Use one of these: {accepted}.",
    ),
}

TEXTS: Mapping[str, Text] = {
    **{code.value: text for code, text in _SINGLE.items()},
    **{
        f"{Code.STATE_MUST}.{state}": Text(reason=text.reason + _MUST, next_time=text.next_time)
        for state, text in _STATES.items()
    },
    **{
        f"{Code.STATE_WANTED}.{state}": Text(reason=text.reason + _WANTED, next_time=text.next_time)
        for state, text in _STATES.items()
    },
    **{
        f"{Code.NEVER_IN_IT}.{finding}": Text(
            reason=f"We found {text.name} in it. That must never be in it.", next_time=text.advice
        )
        for finding, text in FINDINGS.items()
    },
    **{
        f"{Code.FOUND}.{finding}": Text(
            reason=f"We saw {text.name} in it. Taking that out is extra work.",
            next_time=text.advice,
        )
        for finding, text in FINDINGS.items()
    },
}


# The params of these are codes such as `milk-bottle-cap`; resin marks keep their hyphen.
_CODES_IN_PARAMS = {
    Code.ITEM_NOT_ACCEPTED,
    Code.COLOUR_NOT_ACCEPTED,
    Code.FORMING_NOT_ACCEPTED,
    Code.CONTAINER_NOT_ALLOWED,
}
_FORMING_WORDS: Mapping[str, str] = {
    Forming.INJECTION: "solid moulded like a cap",
    Forming.BLOW: "blown up like a bottle",
    Forming.THERMOFORMED: "thin and pressed like a yoghurt pot",
    Forming.FILM: "film like a bag",
}


def say(code: Code, params: Mapping[str, str]) -> Text:
    """Return the sentences of a reason, its params filled in."""
    about = params.get("finding") or params.get("state")
    text = TEXTS[f"{code}.{about}" if about else code.value]
    shown = dict(params)
    if code in _CODES_IN_PARAMS:
        shown = {name: _in_words(value) for name, value in params.items()}
    if "most" in params:
        most = FINDINGS[Finding(params["most"])]
        shown |= {"most": most.name, "advice": most.advice}
    return Text(reason=text.reason.format_map(shown), next_time=text.next_time.format_map(shown))


def _in_words(codes: str) -> str:
    return ", ".join(
        _FORMING_WORDS.get(code, code.replace("-", " ").replace("_", " "))
        for code in codes.split(", ")
    )
