"""Observations from plain JSON data, with the first fault named by its path."""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import TypeVar

from network.errors import InvalidInput
from network.materials.core.acceptance import Found, Observation, Stage
from network.materials.core.identification import FloatTest
from network.materials.core.terms import Colour, ContainerKind, Finding, Forming, State

PARTS = (
    "stage",
    "resins",
    "unmarked",
    "float_tests",
    "items",
    "colours",
    "forming",
    "met",
    "unmet",
    "found",
    "sample_g",
    "mass_g",
    "container",
)
# More than this is not something a person saw.
LIST_LENGTH_MAX = 100
TEXT_LENGTH_MAX = 40
# A hundred tonnes: beyond any load here, so a larger figure is a slip of the unit.
MASS_G_MAX = 100_000_000

Word = TypeVar("Word", bound=StrEnum)


def observation_from_data(data: object, *, stage: Stage) -> Observation:
    """Return the observation that plain JSON data describes, as seen at the given stage.

    All parts may be absent, which is 'unknown'. Raises InvalidInput naming the part and the mend.
    """
    if not isinstance(data, Mapping):
        raise InvalidInput.of("", "This is not an object.", "Send a JSON object.")
    for key in data:
        if key not in PARTS:
            mend = "Use only " + ", ".join(PARTS) + "."
            raise InvalidInput.of(str(key)[:TEXT_LENGTH_MAX], "There is no such part.", mend)
    try:
        return Observation(
            stage=stage,
            resins=_texts(data, "resins"),
            unmarked=_flag(data, "unmarked"),
            float_tests=tuple(_float_test(i, one) for i, one in _objects(data, "float_tests")),
            items=_texts(data, "items"),
            colours=_words(data, "colours", Colour),
            forming=_words(data, "forming", Forming),
            met=frozenset(_words(data, "met", State) or ()),
            unmet=frozenset(_words(data, "unmet", State) or ()),
            found=tuple(_found(i, one) for i, one in _objects(data, "found")),
            sample_g=_grams(data, "sample_g", "sample_g"),
            mass_g=_grams(data, "mass_g", "mass_g"),
            container=_word(data.get("container"), "container", ContainerKind),
        )
    except ValueError as fault:  # two parts that do not fit each other
        raise InvalidInput.of("", f"{fault}.", "Correct one of the two.") from None


def observation_to_data(observation: Observation) -> dict[str, object]:
    """Return the observation as plain JSON data, what is unknown left out."""
    data: dict[str, object] = {"stage": observation.stage.value}
    for name in ("resins", "items", "colours", "forming"):
        values = getattr(observation, name)
        if values is not None:
            data[name] = [str(value) for value in values]
    for name in ("met", "unmet"):
        data[name] = [state.value for state in State if state in getattr(observation, name)]
    data["unmarked"] = observation.unmarked
    data["float_tests"] = [
        {"medium_g_cm3": str(test.medium_g_cm3), "floated": test.floated}
        for test in observation.float_tests
    ]
    data["found"] = [{"what": one.what.value, "mass_g": one.mass_g} for one in observation.found]
    for name in ("sample_g", "mass_g", "container"):
        if getattr(observation, name) is not None:
            data[name] = getattr(observation, name)
    return data


def _found(path: str, data: Mapping[str, object]) -> Found:
    what = _word(data.get("what"), f"{path}.what", Finding)
    if what is None:
        raise InvalidInput.of(f"{path}.what", "It is not said what was found.", _choices(Finding))
    return Found(what=what, mass_g=_grams(data, "mass_g", f"{path}.mass_g"))


def _float_test(path: str, data: Mapping[str, object]) -> FloatTest:
    try:
        density = Decimal(str(data.get("medium_g_cm3")))
    except InvalidOperation:
        density = Decimal("NaN")
    if not (density.is_finite() and density > 0):
        mend = 'Write the density in g/cm³, such as "1.00" for water.'
        raise InvalidInput.of(f"{path}.medium_g_cm3", "This is not a density.", mend)
    return FloatTest(medium_g_cm3=density, floated=_flag(data, "floated", path=f"{path}.floated"))


def _texts(data: Mapping[str, object], key: str) -> tuple[str, ...] | None:
    values = _list(data, key)
    if values is None:
        return None
    for index, value in enumerate(values):
        if not isinstance(value, str) or not 0 < len(value) <= TEXT_LENGTH_MAX:
            mend = f"Send a text of at most {TEXT_LENGTH_MAX} characters."
            raise InvalidInput.of(f"{key}[{index}]", "This is not a name.", mend)
    return tuple(str(value) for value in values)


def _words(data: Mapping[str, object], key: str, kind: type[Word]) -> tuple[Word, ...] | None:
    values = _list(data, key)
    if values is None:
        return None
    words = [_word(value, f"{key}[{index}]", kind) for index, value in enumerate(values)]
    return tuple(word for word in words if word is not None)


def _word(value: object, path: str, kind: type[Word]) -> Word | None:
    if value is None:
        return None
    if value not in [word.value for word in kind]:
        raise InvalidInput.of(path, "This word is not known.", _choices(kind))
    return kind(str(value))


def _objects(data: Mapping[str, object], key: str) -> list[tuple[str, Mapping[str, object]]]:
    objects = []
    for index, value in enumerate(_list(data, key) or ()):
        path = f"{key}[{index}]"
        if not isinstance(value, Mapping):
            raise InvalidInput.of(path, "This is not an object.", "Send a JSON object.")
        objects.append((path, value))
    return objects


def _list(data: Mapping[str, object], key: str) -> list[object] | None:
    values = data.get(key)
    if values is None:
        return None
    if not isinstance(values, list | tuple) or len(values) > LIST_LENGTH_MAX:
        mend = f"Send a list of at most {LIST_LENGTH_MAX}."
        raise InvalidInput.of(key, "This is not a list that can be used.", mend)
    return list(values)


def _flag(data: Mapping[str, object], key: str, *, path: str = "") -> bool:
    value = data.get(key, False)
    if not isinstance(value, bool):
        raise InvalidInput.of(path or key, "This is neither true nor false.", "Send true or false.")
    return value


def _grams(data: Mapping[str, object], key: str, path: str) -> int | None:
    value = data.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= MASS_G_MAX:
        mend = f"Send whole grams from 0 to {MASS_G_MAX}."
        raise InvalidInput.of(path, "This is not a mass in whole grams.", mend)
    return value


def _choices(kind: type[StrEnum]) -> str:
    return "Write one of: " + ", ".join(word.value for word in kind) + "."
