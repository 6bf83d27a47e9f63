"""What the server says is said in the language that the request asks for, where it is known."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import get_language
from rest_framework.renderers import JSONRenderer

from network.tongues import translated

# The members of answers in which sentences of ours stand; what people wrote stands in others.
_SAID = {"detail", "mend", "text", "words", "next_time"}


def said(text: str) -> str:
    """Return a sentence in the language of the request being answered."""
    return translated(text, (get_language() or "en").split("-")[0])


class SayingJSONRenderer(JSONRenderer):
    """JSON whose sentences are in the reader's language; codes, names and figures stay."""

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        """Return the answer with its sentences translated."""
        rendered: bytes = super().render(
            answer_in_language(data), accepted_media_type, renderer_context
        )
        return rendered


def answer_in_language(data: Any) -> Any:
    """Return an answer with its sentences in the language of the request."""
    if isinstance(data, Mapping):
        return {name: _member(name, value) for name, value in data.items()}
    return [answer_in_language(one) for one in data] if isinstance(data, list) else data


def _member(name: str, value: Any) -> Any:
    return said(value) if name in _SAID and isinstance(value, str) else answer_in_language(value)
