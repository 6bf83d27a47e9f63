"""The verdict: a maker's rules applied to what someone declared, saw or measured."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from network.materials.core.dangerous import danger_of
from network.materials.core.identification import FloatTest, candidates, floated_in_plain_water
from network.materials.core.resins import Resin
from network.materials.core.rules import AcceptanceRules
from network.materials.core.terms import (
    Colour,
    ContainerKind,
    Finding,
    Forming,
    State,
    Unmarked,
)
from network.materials.core.words import Code, say


class Stage(StrEnum):
    """How closely the material was looked at."""

    DECLARATION = "declaration"
    DOORSTEP = "doorstep"
    INSPECTION = "inspection"


class Outcome(StrEnum):
    """What happens to the material."""

    TAKEN = "taken"
    TAKEN_WITH_EXTRA_WORK = "taken_with_extra_work"
    TURNED_AWAY = "turned_away"


@dataclass(frozen=True, kw_only=True)
class Found:
    """Something that does not belong, with its grams in the sample; None when only seen."""

    what: Finding
    mass_g: int | None = None

    def __post_init__(self) -> None:
        if self.mass_g is not None and self.mass_g < 0:
            raise ValueError("a finding cannot weigh less than nothing")


@dataclass(frozen=True, kw_only=True)
class Observation:
    """What is known of an amount; None or an absent state is 'unknown' and is never inferred.

    `resins`, `items`, `colours` and `forming` are what the amount is meant to be, strays are
    `found`. `unmarked` says that pieces without a resin mark are part of it, `float_tests` what
    such pieces did. `mass_g` is the whole amount, `sample_g` what the findings were weighed from.
    """

    stage: Stage
    resins: tuple[str, ...] | None = None
    unmarked: bool = False
    float_tests: tuple[FloatTest, ...] = ()
    items: tuple[str, ...] | None = None
    colours: tuple[Colour, ...] | None = None
    forming: tuple[Forming, ...] | None = None
    met: frozenset[State] = frozenset()
    unmet: frozenset[State] = frozenset()
    found: tuple[Found, ...] = ()
    sample_g: int | None = None
    mass_g: int | None = None
    container: ContainerKind | None = None

    def __post_init__(self) -> None:
        if self.met & self.unmet:
            raise ValueError("a state cannot be both met and unmet")
        if self.mass_g is not None and self.mass_g < 0:
            raise ValueError("an amount cannot weigh less than nothing")
        self._check_sample()

    def _check_sample(self) -> None:
        weighed_g = sum(found.mass_g or 0 for found in self.found)
        if self.sample_g is None:
            if weighed_g:
                raise ValueError("weighed findings need the mass of the sample they came from")
        elif self.sample_g <= 0:
            raise ValueError("a sample weighs more than nothing")
        elif weighed_g > self.sample_g:
            raise ValueError("the findings weigh more than the sample they came from")


@dataclass(frozen=True, kw_only=True)
class Reason:
    """One rule that was not kept: its code and params for machines, its words for people."""

    code: Code
    outcome: Outcome
    params: Mapping[str, str] = field(default_factory=dict)
    words: str
    next_time: str


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What happens to the material, why, and which rules nobody has looked at yet."""

    outcome: Outcome
    reasons: tuple[Reason, ...]
    unknown: tuple[str, ...]


_SEVERITY = {Outcome.TAKEN: 0, Outcome.TAKEN_WITH_EXTRA_WORK: 1, Outcome.TURNED_AWAY: 2}


def evaluate(
    rules: AcceptanceRules, observation: Observation, resins: Mapping[str, Resin]
) -> Verdict:
    """Return the verdict on an observation, the gravest reason first.

    Each broken rule gives one reason; the outcome is that of the gravest. What nobody looked at
    breaks no rule and is listed as `unknown`. A material that is dangerous to melt is turned away
    whatever the rules say, by the list in code and by the `danger` of the given resins.
    """
    reasons = [
        *_danger_reasons(observation, resins),
        *_choice_reasons(rules, observation, resins),
        *_unmarked_reasons(rules, observation, resins),
        *_state_reasons(rules, observation),
        *_finding_reasons(rules, observation),
        *_contamination_reasons(rules, observation),
        *_amount_reasons(rules, observation),
    ]
    reasons.sort(key=lambda reason: -_SEVERITY[reason.outcome])
    return Verdict(
        outcome=reasons[0].outcome if reasons else Outcome.TAKEN,
        reasons=tuple(reasons),
        unknown=_unknown(rules, observation),
    )


def contamination_share(observation: Observation) -> Fraction | None:
    """Return the found mass over the sampled mass, exactly; None when nothing was sampled."""
    if observation.sample_g is None:
        return None
    return Fraction(sum(found.mass_g or 0 for found in observation.found), observation.sample_g)


def verdict_to_data(verdict: Verdict) -> dict[str, object]:
    """Return the verdict as plain JSON data."""
    return {
        "outcome": verdict.outcome.value,
        "reasons": [
            {
                "code": reason.code.value,
                "outcome": reason.outcome.value,
                "params": dict(reason.params),
                "words": reason.words,
                "next_time": reason.next_time,
            }
            for reason in verdict.reasons
        ],
        "unknown": list(verdict.unknown),
    }


def _reason(code: Code, outcome: Outcome, **params: str) -> Reason:
    text = say(code, params)
    return Reason(
        code=code, outcome=outcome, params=params, words=text.reason, next_time=text.next_time
    )


def _is_dangerous(symbol: str, resins: Mapping[str, Resin]) -> bool:
    known = resins.get(symbol)
    return bool(danger_of(symbol) or (known and known.danger))


def _danger_reasons(observation: Observation, resins: Mapping[str, Resin]) -> Iterator[Reason]:
    dangerous = [s for s in observation.resins or () if _is_dangerous(s, resins)]
    if dangerous:
        marks = _marks(dangerous, resins)
        yield _reason(Code.DANGEROUS_RESIN, Outcome.TURNED_AWAY, resins=marks)
    if any(found.what is Finding.DANGEROUS_RESIN for found in observation.found):
        yield _reason(Code.DANGEROUS_FOUND, Outcome.TURNED_AWAY)


def _choice_reasons(
    rules: AcceptanceRules, observation: Observation, resins: Mapping[str, Resin]
) -> Iterator[Reason]:
    """What the amount is meant to be must be among what is accepted; strays are findings."""
    others = [
        symbol
        for symbol in observation.resins or ()
        if symbol not in rules.resins and not _is_dangerous(symbol, resins)
    ]
    if others:
        yield _reason(
            Code.RESIN_NOT_ACCEPTED,
            Outcome.TURNED_AWAY,
            resins=_marks(others, resins),
            accepted=_marks(rules.resins, resins),
        )
    for code, name, accepted, seen in (
        (Code.ITEM_NOT_ACCEPTED, "items", rules.items, observation.items),
        (Code.COLOUR_NOT_ACCEPTED, "colours", rules.colours, observation.colours),
        (Code.FORMING_NOT_ACCEPTED, "forming", rules.forming, observation.forming),
    ):
        outside = [value for value in seen or () if accepted is not None and value not in accepted]
        if outside:
            params = {name: _listed(outside), "accepted": _listed(accepted or ())}
            yield _reason(code, Outcome.TURNED_AWAY, **params)


def _unmarked_reasons(
    rules: AcceptanceRules, observation: Observation, resins: Mapping[str, Resin]
) -> Iterator[Reason]:
    """An unmarked piece is unknown; only floating in plain water can settle that it is accepted.

    Sinking settles nothing, since PVC and resins without a density figure sink too.
    """
    if not observation.unmarked:
        return
    accepted = _marks(rules.resins, resins)
    left = set(candidates(observation.float_tests, resins))
    if observation.float_tests and left.isdisjoint(rules.resins):
        yield _reason(Code.UNMARKED_IS_OTHER, Outcome.TURNED_AWAY, accepted=accepted)
        return
    if floated_in_plain_water(observation.float_tests) and (
        left <= set(rules.resins) or rules.unmarked is Unmarked.TAKEN_IF_IT_FLOATS
    ):
        return
    if rules.unmarked is Unmarked.TURNED_AWAY:
        yield _reason(Code.UNMARKED_TURNED_AWAY, Outcome.TURNED_AWAY, accepted=accepted)
    else:
        yield _reason(Code.UNMARKED_EXTRA_WORK, Outcome.TAKEN_WITH_EXTRA_WORK)


def _state_reasons(rules: AcceptanceRules, observation: Observation) -> Iterator[Reason]:
    for state in State:
        if state in observation.unmet & rules.must:
            yield _reason(Code.STATE_MUST, Outcome.TURNED_AWAY, state=state.value)
        elif state in observation.unmet & rules.wanted:
            yield _reason(Code.STATE_WANTED, Outcome.TAKEN_WITH_EXTRA_WORK, state=state.value)


def _finding_reasons(rules: AcceptanceRules, observation: Observation) -> Iterator[Reason]:
    """What must never be in it turns it away in any amount; what was only seen is extra work."""
    kinds = {found.what for found in observation.found} - {Finding.DANGEROUS_RESIN}
    unweighed = {found.what for found in observation.found if found.mass_g is None}
    for finding in Finding:
        if finding in kinds & rules.never:
            yield _reason(Code.NEVER_IN_IT, Outcome.TURNED_AWAY, finding=finding.value)
        elif finding in kinds & unweighed:
            yield _reason(Code.FOUND, Outcome.TAKEN_WITH_EXTRA_WORK, finding=finding.value)


def _contamination_reasons(rules: AcceptanceRules, observation: Observation) -> Iterator[Reason]:
    """A share equal to a limit still keeps it."""
    share = contamination_share(observation)
    if share is None or share <= Fraction(rules.contamination_clean_max):
        return
    if share > Fraction(rules.contamination_extra_work_max):
        code, outcome = Code.CONTAMINATION_TURNED_AWAY, Outcome.TURNED_AWAY
        limit = rules.contamination_extra_work_max
    else:
        code, outcome = Code.CONTAMINATION_EXTRA_WORK, Outcome.TAKEN_WITH_EXTRA_WORK
        limit = rules.contamination_clean_max
    yield _reason(
        code,
        outcome,
        sample_g=str(observation.sample_g),
        found_g=str(sum(found.mass_g or 0 for found in observation.found)),
        limit_g=_plain(limit * 100),
        most=_heaviest(observation.found).value,
    )


def _amount_reasons(rules: AcceptanceRules, observation: Observation) -> Iterator[Reason]:
    """Too little is for those who can still wait: at an inspection the journey is made."""
    mass_g = observation.mass_g
    if (
        observation.stage is not Stage.INSPECTION
        and mass_g is not None
        and mass_g < rules.smallest_g
    ):
        yield _reason(
            Code.TOO_LITTLE,
            Outcome.TURNED_AWAY,
            mass_g=str(mass_g),
            smallest_g=str(rules.smallest_g),
        )
    container = observation.container
    if container and rules.containers is not None and container not in rules.containers:
        yield _reason(
            Code.CONTAINER_NOT_ALLOWED,
            Outcome.TAKEN_WITH_EXTRA_WORK,
            container=container.value,
            accepted=_listed(rules.containers),
        )


def _unknown(rules: AcceptanceRules, observation: Observation) -> tuple[str, ...]:
    """Name the rules that ask about something nobody has said."""
    waiting = observation.stage is not Stage.INSPECTION
    asked_and_answered = [
        ("resins", True, bool(observation.resins) or observation.unmarked),
        *(
            (name, getattr(rules, name) is not None, bool(getattr(observation, name)))
            for name in ("items", "colours", "forming")
        ),
        *(
            (
                f"states.{state.value}",
                state in rules.must | rules.wanted,
                state in observation.met | observation.unmet,
            )
            for state in State
        ),
        ("contamination", True, observation.sample_g is not None),
        ("smallest_g", waiting and rules.smallest_g > 0, observation.mass_g is not None),
        ("containers", rules.containers is not None, observation.container is not None),
    ]
    return tuple(name for name, asked, answered in asked_and_answered if asked and not answered)


def _heaviest(found: Iterable[Found]) -> Finding:
    masses: dict[Finding, int] = {}
    for one in found:
        masses[one.what] = masses.get(one.what, 0) + (one.mass_g or 0)
    return max(masses, key=lambda what: masses[what])


def _marks(symbols: Iterable[str], resins: Mapping[str, Resin]) -> str:
    """Return the marks as they stand on the thing: `PE-HD (2), PP (5)`."""
    marks = []
    for symbol in symbols:
        code = resins[symbol].code if symbol in resins else None
        marks.append(f"{symbol} ({code})" if code else symbol)
    return ", ".join(marks)


def _listed(values: Iterable[str]) -> str:
    return ", ".join(str(value) for value in values)


def _plain(number: Decimal) -> str:
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
