"""Accepted-material rules from and to plain JSON data, with every fault named by its path."""

import difflib
import re
from collections.abc import Collection, Mapping
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from network.errors import FieldError, InvalidInput
from network.materials.core.dangerous import danger_of
from network.materials.core.resins import Resin
from network.materials.core.rules import SCHEMA_VERSION, AcceptanceRules
from network.materials.core.terms import (
    Colour,
    ContainerKind,
    Finding,
    Forming,
    Need,
    State,
    Unmarked,
)

ANY = "any"
REQUIRED = (
    "schema_version",
    "resins",
    "items",
    "contamination_clean_max",
    "contamination_extra_work_max",
)
OPTIONAL = (
    "colours",
    "forming",
    "states",
    "never",
    "unmarked",
    "smallest_g",
    "containers",
    "notes",
)
# A list longer than this is not a choice that a place could follow.
LIST_LENGTH_MAX = 100
_SHARE = re.compile(r"[0-9](\.[0-9]{1,6})?")
# What people write for a symbol; used to say the mend, not to accept it.
_OTHER_NAMES = {"HDPE": "PE-HD", "LDPE": "PE-LD", "PETE": "PET", "NYLON": "PA6"}

Word = TypeVar("Word", bound=StrEnum)


def rules_from_data(
    data: object,
    *,
    resins: Mapping[str, Resin] | None = None,
    items: Collection[str] | None = None,
) -> AcceptanceRules:
    """Return the rules that plain JSON data describes.

    With `resins` and `items` given, names outside of them are refused; without them (a stored
    version, whose catalogue may have moved on) they are not. Raises InvalidInput with one field
    error, path and mend for each fault.
    """
    if not isinstance(data, Mapping):
        raise InvalidInput.of("", "Rules are an object with named parts.", "Send a JSON object.")
    reader = _Reader(data)
    reader.check_keys()
    reader.check_version()
    try:
        rules = _read(reader)
    except InvalidInput as refusal:
        reader.add_further(refusal.fields)
    _check_known(reader, "resins", resins)
    _check_known(reader, "items", items)
    _check_danger_in_data(reader, resins or {})
    if reader.faults:
        raise InvalidInput("These rules cannot be used.", fields=tuple(reader.faults))
    return rules


def rules_to_data(rules: AcceptanceRules) -> dict[str, object]:
    """Return the rules as plain JSON data, in full and in a fixed order."""
    needs = dict.fromkeys(rules.must, Need.MUST) | dict.fromkeys(rules.wanted, Need.WANTED)
    return {
        "schema_version": SCHEMA_VERSION,
        "resins": list(rules.resins),
        "items": _list_or_any(rules.items),
        "colours": _list_or_any(rules.colours),
        "forming": _list_or_any(rules.forming),
        "states": {state.value: needs[state].value for state in State if state in needs},
        "never": [finding.value for finding in Finding if finding in rules.never],
        "unmarked": rules.unmarked.value,
        "contamination_clean_max": format(rules.contamination_clean_max, "f"),
        "contamination_extra_work_max": format(rules.contamination_extra_work_max, "f"),
        "smallest_g": rules.smallest_g,
        "containers": _list_or_any(rules.containers),
        "notes": rules.notes,
    }


def _list_or_any(values: tuple[str, ...] | None) -> list[str] | str:
    return ANY if values is None else [str(value) for value in values]


def _read(reader: "_Reader") -> AcceptanceRules:
    must, wanted = reader.states()
    return AcceptanceRules(
        resins=reader.names("resins") or (),
        items=reader.names("items", any_allowed=True),
        colours=reader.words("colours", Colour),
        forming=reader.words("forming", Forming),
        must=must,
        wanted=wanted,
        never=frozenset(reader.words("never", Finding, absent=[]) or ()),
        unmarked=reader.unmarked(),
        contamination_clean_max=reader.share("contamination_clean_max", instead=Decimal(0)),
        contamination_extra_work_max=reader.share(
            "contamination_extra_work_max", instead=Decimal(1)
        ),
        smallest_g=reader.grams("smallest_g"),
        containers=reader.words("containers", ContainerKind),
        notes=reader.text("notes"),
    )


def _check_known(reader: "_Reader", key: str, known: Collection[str] | None) -> None:
    values = reader.data.get(key)
    if known is None or not isinstance(values, list):
        return
    for index, value in enumerate(values):
        if isinstance(value, str) and value not in known:
            reader.fault(f"{key}[{index}]", f'"{value}" is not known here.', _nearest(value, known))


def _check_danger_in_data(reader: "_Reader", resins: Mapping[str, Resin]) -> None:
    """The code refuses what it knows to be dangerous; this refuses what the data adds to that."""
    values = reader.data.get("resins")
    for index, value in enumerate(values if isinstance(values, list) else ()):
        resin = resins.get(value) if isinstance(value, str) else None
        if resin and resin.danger and not danger_of(resin.symbol):
            reader.fault(
                f"resins[{index}]",
                f"{resin.symbol} is never melted: {resin.danger}",
                f"Take {resin.symbol} out of the list.",
            )


def _nearest(value: str, known: Collection[str]) -> str:
    usual = _OTHER_NAMES.get(value.upper().strip(), value.strip())
    by_folded = {word.casefold(): word for word in known}
    near = difflib.get_close_matches(usual.casefold(), by_folded, n=1, cutoff=0.7)
    if near:
        return f'Write "{by_folded[near[0]]}".'
    return "Write one of: " + ", ".join(sorted(known)) + "."


class _Reader:
    """Reads the parts of the data, keeps each fault, and goes on with a harmless value."""

    def __init__(self, data: Mapping[str, object]) -> None:
        self.data = data
        self.faults: list[FieldError] = []

    def fault(self, path: str, detail: str, mend: str) -> None:
        """Keep a fault."""
        self.faults.append(FieldError(field=path, detail=detail, mend=mend))

    def add_further(self, fields: tuple[FieldError, ...]) -> None:
        """Keep faults of parts that could be read; those of unreadable parts would be echoes."""
        roots = {_root(fault.field) for fault in self.faults}
        self.faults += [field for field in fields if _root(field.field) not in roots]

    def check_keys(self) -> None:
        """Refuse unknown parts, and name the missing ones."""
        for key in self.data:
            if key not in REQUIRED + OPTIONAL:
                mend = _nearest(str(key), REQUIRED + OPTIONAL)
                self.fault(str(key), "Rules have no such part.", mend)
        for key in REQUIRED:
            if key not in self.data:
                self.fault(key, "This part is missing.", f'Add "{key}".')

    def check_version(self) -> None:
        """Refuse data of another schema."""
        version = self.data.get("schema_version", SCHEMA_VERSION)
        if version is True or version != SCHEMA_VERSION:
            self.fault(
                "schema_version",
                "Rules of another schema cannot be read.",
                f"Write them after schema {SCHEMA_VERSION}.",
            )

    def names(self, key: str, *, any_allowed: bool = False) -> tuple[str, ...] | None:
        """Return a list of names; None stands for any."""
        values = self.data.get(key)
        if any_allowed and values == ANY:
            return None
        if not isinstance(values, list) or len(values) > LIST_LENGTH_MAX:
            if key in self.data:
                mend = f"Send a list of at most {LIST_LENGTH_MAX} names" + (
                    f', or "{ANY}".' if any_allowed else "."
                )
                self.fault(key, "This is not a list of names.", mend)
            return ()
        for index, value in enumerate(values):
            if not isinstance(value, str) or not value.strip():
                self.fault(f"{key}[{index}]", "This is not a name.", "Send a text.")
        return tuple(value for value in values if isinstance(value, str))

    def words(self, key: str, kind: type[Word], *, absent: object = ANY) -> tuple[Word, ...] | None:
        """Return a list of words of one kind; None stands for any."""
        values = self.data.get(key, absent)
        if values == ANY and absent == ANY:
            return None
        if not isinstance(values, list) or len(values) > LIST_LENGTH_MAX:
            self.fault(key, "This is not a list.", "Send a list such as " + _example(kind) + ".")
            return None
        known = [word.value for word in kind]
        for index, value in enumerate(values):
            if value not in known:
                self.fault(
                    f"{key}[{index}]", f"{_shown(value)} is not known.", _nearest(str(value), known)
                )
        return tuple(kind(value) for value in values if value in known)

    def states(self) -> tuple[frozenset[State], frozenset[State]]:
        """Return the states that must be met and those that are wanted."""
        values = self.data.get("states", {})
        if not isinstance(values, Mapping):
            self.fault("states", "This is not an object.", 'Send one such as {"rinsed": "must"}.')
            return frozenset(), frozenset()
        known = [state.value for state in State]
        needs = [need.value for need in Need]
        for key, value in values.items():
            if key not in known:
                mend = _nearest(str(key), known)
                self.fault(f"states.{key}", f"{_shown(key)} is not a known state.", mend)
            elif value not in needs:
                self.fault(
                    f"states.{key}", f"{_shown(value)} is not known.", 'Write "must" or "wanted".'
                )
        return (
            frozenset(s for s in State if values.get(s.value) == Need.MUST.value),
            frozenset(s for s in State if values.get(s.value) == Need.WANTED.value),
        )

    def unmarked(self) -> Unmarked:
        """Return what is done with unmarked pieces."""
        value = self.data.get("unmarked", Unmarked.EXTRA_WORK.value)
        known = [word.value for word in Unmarked]
        if value not in known:
            self.fault("unmarked", f"{_shown(value)} is not known.", _nearest(str(value), known))
            return Unmarked.EXTRA_WORK
        return Unmarked(value)

    def share(self, key: str, *, instead: Decimal) -> Decimal:
        """Return a share of the mass, which is a text so that it stays exact."""
        value = self.data.get(key)
        if isinstance(value, str) and _SHARE.fullmatch(value):
            return Decimal(value)
        if key in self.data:
            self.fault(key, f"{_shown(value)} is not a share.", 'Write two per cent as "0.02".')
        return instead

    def grams(self, key: str) -> int:
        """Return whole grams."""
        value = self.data.get(key, 0)
        if isinstance(value, int) and not isinstance(value, bool):
            return value
        self.fault(key, f"{_shown(value)} is not whole grams.", "Write 2000 for two kilograms.")
        return 0

    def text(self, key: str) -> str:
        """Return a text."""
        value = self.data.get(key, "")
        if isinstance(value, str):
            return value
        self.fault(key, "This is not a text.", "Send a text.")
        return ""


def _root(path: str) -> str:
    return re.split(r"[.\[]", path, maxsplit=1)[0]


def _shown(value: object) -> str:
    text = value if isinstance(value, str) else repr(value)
    return '"' + text[:40] + '"'


def _example(kind: type[StrEnum]) -> str:
    return '["' + next(iter(kind)).value + '"]'
