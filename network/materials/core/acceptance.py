"""The verdict: a maker's rules applied to what someone declared, saw or measured."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from network.materials.core.identification import FloatTest
from network.materials.core.terms import Colour, ContainerKind, Finding, Forming, State


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

    code: str
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
