"""The words of rules and observations with a name each, for forms and for the API's types."""

from enum import StrEnum

from network.materials.core.acceptance import Stage
from network.materials.core.terms import Colour, Finding, Forming, State


def _choices(words: type[StrEnum]) -> list[tuple[str, str]]:
    return [(word.value, word.value.replace("_", " ")) for word in words]


FINDINGS = _choices(Finding)
STATES = _choices(State)
COLOURS = _choices(Colour)
FORMING = _choices(Forming)
STAGES = _choices(Stage)
