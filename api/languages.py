"""What the server says is said in the language that the request asks for, where it is known."""

from collections.abc import Mapping
from typing import Any

import orjson
from django.utils.translation import get_language
from rest_framework.fields import CharField
from rest_framework.renderers import JSONRenderer
from rest_framework.utils.encoders import JSONEncoder

from network.tongues import ENGLISH, translated

# The members of answers in which sentences of ours stand; what people wrote stands in others.
_SAID = {"detail", "mend", "text", "words", "next_time"}
# What JSON has no form for is written as the framework writes it.
_other = JSONEncoder().default
_OPTIONS = orjson.OPT_NON_STR_KEYS | orjson.OPT_PASSTHROUGH_DATETIME


def said(text: str) -> str:
    """Return a sentence in the language of the request being answered."""
    return translated(text, _language())


class SaidField(CharField):
    """A sentence of ours in a member that may hold what people wrote, too."""

    def to_representation(self, value: str) -> str:
        return said(value)


class SaidNameField(CharField):
    """The name of a thing of the reference data, which sentences write small."""

    def to_representation(self, value: str) -> str:
        small = value.lower()
        return said(value) if said(small) == small else said(small)


class SayingJSONRenderer(JSONRenderer):
    """JSON whose sentences are in the reader's language; codes, names and figures stay."""

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        """Return the answer with its sentences translated."""
        if data is None:
            return b""
        return orjson.dumps(answer_in_language(data), default=_other, option=_OPTIONS)


def answer_in_language(data: Any) -> Any:
    """Return an answer with its sentences in the language of the request."""
    language = _language()
    # As it was written: a long answer is not gone through for nothing.
    return data if language == ENGLISH else _said_in(language, data)


def _language() -> str:
    return (get_language() or ENGLISH).split("-")[0]


def _said_in(language: str, data: Any, name: str = "") -> Any:
    if isinstance(data, Mapping):
        return {key: _said_in(language, value, key) for key, value in data.items()}
    if isinstance(data, list):
        return [_said_in(language, one) for one in data]
    is_sentence = name in _SAID and isinstance(data, str)
    return translated(data, language) if is_sentence else data
