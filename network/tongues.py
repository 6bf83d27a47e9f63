"""Sentences in other languages than English, in which each is written where it is decided.

The catalogues in `words/` know a sentence by its English form. `{names}` in it stand for what is
filled in. What no catalogue knows stays English: better a sentence in another language than none.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from pathlib import Path

ENGLISH = "en"
LANGUAGES = (ENGLISH, "de")

_FOLDER = Path(__file__).parent / "words"
_PLACE = re.compile(r"\{(\w+)\}")
_BETWEEN_SENTENCES = re.compile(r"(?<=[.!?]) (?=[A-Z])")
_FIGURE = re.compile(r"(\d+)\.(\d+)( \w+)?")
_DAY = re.compile(r"([A-Z][a-z]+day) (\d+) ([A-Z][a-z]+)( \d{4})?")
_ABOUT = re.compile(r"about (\d\d:\d\d)")


@dataclass(frozen=True, kw_only=True)
class _Catalogue:
    """One language's sentences: those that stand alone, and those that are filled in."""

    whole: dict[str, str]
    patterns: tuple[tuple[re.Pattern[str], str], ...]


@lru_cache(maxsize=4096)
def translated(text: str, language: str) -> str:
    """Return one or more sentences in a language, or as they are where it does not know them."""
    if language == ENGLISH or language not in LANGUAGES:
        return text
    return _text(_catalogue(language), text) or text


def entries(language: str) -> dict[str, str]:
    """Return a language's sentences by their English form."""
    found: dict[str, str] = {}
    for path in sorted((_FOLDER / language).glob("*.json")):
        found |= json.loads(path.read_text(encoding="utf-8"))
    return found


@cache
def _catalogue(language: str) -> _Catalogue:
    known = entries(language)
    filled = {english: said for english, said in known.items() if _PLACE.search(english)}
    return _Catalogue(
        whole={english: said for english, said in known.items() if english not in filled},
        # The longest first: of two that fit, it says more.
        patterns=tuple(
            (_pattern(english), filled[english]) for english in sorted(filled, key=len)[::-1]
        ),
    )


def _pattern(english: str) -> re.Pattern[str]:
    parts = _PLACE.split(english)
    names = [
        f"(?P<{part}>.+?)" if index % 2 else re.escape(part) for index, part in enumerate(parts)
    ]
    return re.compile("".join(names), flags=re.DOTALL)


def _text(catalogue: _Catalogue, text: str) -> str | None:
    """Return a text sentence by sentence, or else as a whole; None where it is not known."""
    parts = [_sentence(catalogue, part) for part in _BETWEEN_SENTENCES.split(text)]
    known = [part for part in parts if part is not None]
    # A pattern of one sentence may fit several; what each of them says is surer.
    return " ".join(known) if len(known) == len(parts) else _sentence(catalogue, text)


def _sentence(catalogue: _Catalogue, text: str) -> str | None:
    if text in catalogue.whole:
        return catalogue.whole[text]
    for pattern, said in catalogue.patterns:
        match = pattern.fullmatch(text)
        if match:
            filled = {name: _filling(catalogue, value) for name, value in match.groupdict().items()}
            return said.format_map(filled)
    return None


def _filling(catalogue: _Catalogue, value: str) -> str:
    """Return a name as it is; words, sentences, days and figures as the language says them."""
    words = value.split(", ")
    if all(word in catalogue.whole for word in words):
        return ", ".join(catalogue.whole[word] for word in words)
    return _text(catalogue, value) or next(_as_figure(catalogue, value), value)


def _as_figure(catalogue: _Catalogue, value: str) -> Iterator[str]:
    if match := _FIGURE.fullmatch(value):
        yield f"{match[1]},{match[2]}{match[3] or ''}"
    if match := _ABOUT.fullmatch(value):
        yield catalogue.whole["about"] + f" {match[1]}"
    if match := _DAY.fullmatch(value):
        weekday, month = catalogue.whole[match[1]], catalogue.whole[match[3]]
        yield f"{weekday}, {match[2]}. {month}{match[4] or ''}"
    if re.fullmatch(r"\d{4}-\d\d-\d\d", value):
        day = date.fromisoformat(value)
        yield f"{day.day}.{day.month}.{day.year}"
