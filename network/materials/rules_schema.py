"""The shape of a maker's rules as plain data, in JSON Schema 2020-12; `rules_from_data` checks."""

from enum import StrEnum

from network.materials.core import rules, rules_data
from network.materials.core.terms import (
    Colour,
    ContainerKind,
    Finding,
    Forming,
    Need,
    State,
    Unmarked,
)

Schema = dict[str, object]


def _word(kind: type[StrEnum]) -> Schema:
    return {"type": "string", "enum": [word.value for word in kind]}


def _list_of(items: Schema, *, length_min: int = 0) -> Schema:
    return {
        "type": "array",
        "items": items,
        "minItems": length_min,
        "maxItems": rules_data.LIST_LENGTH_MAX,
    }


def _choice_of(items: Schema) -> Schema:
    return {"oneOf": [{"type": "string", "const": rules_data.ANY}, _list_of(items, length_min=1)]}


_NAME: Schema = {"type": "string", "minLength": 1}
_SHARE: Schema = {
    "type": "string",
    "pattern": r"^[0-9](\.[0-9]{1,6})?$",
    "description": 'A share of the mass sampled: two per cent is "0.02".',
}

RULES: Schema = {
    "type": "object",
    "description": "What a maker accepts. What is not named may be any.",
    "required": list(rules_data.REQUIRED),
    "additionalProperties": False,
    "properties": {
        "schema_version": {"type": "integer", "const": rules.SCHEMA_VERSION},
        "resins": _list_of(_NAME, length_min=1),
        "items": _choice_of(_NAME),
        "colours": _choice_of(_word(Colour)),
        "forming": _choice_of(_word(Forming)),
        "states": {
            "type": "object",
            "additionalProperties": False,
            "properties": {state.value: _word(Need) for state in State},
        },
        "never": _list_of(_word(Finding)),
        "unmarked": _word(Unmarked),
        "contamination_clean_max": _SHARE,
        "contamination_extra_work_max": _SHARE,
        "smallest_g": {"type": "integer", "minimum": 0, "maximum": rules.SMALLEST_G_MAX},
        "containers": _choice_of(_word(ContainerKind)),
        "notes": {"type": "string", "maxLength": rules.NOTES_LENGTH_MAX},
    },
}
