"""JSON that every view can use: no number or text in it that cannot be kept."""

import json
from collections.abc import Iterator, Mapping
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser
from rest_framework.utils.json import strict_constant

from network.errors import FieldError, InvalidInput

DEPTH_MAX = 20
# The largest whole number that every JSON reader has exactly (RFC 7493 §2.2).
NUMBER_MAX = 2**53 - 1


class StrictJSONParser(JSONParser):
    """Reads JSON in UTF-8; refuses what PostgreSQL cannot keep, naming the field."""

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """Return the data; raises ParseError for what is not JSON, InvalidInput for its parts."""
        try:
            data = json.loads(stream.read().decode("utf-8"), parse_constant=strict_constant)
        except (ValueError, RecursionError) as fault:
            raise ParseError(f"This is not JSON: {fault}.") from None
        faults = tuple(_faults(data))
        if faults:
            raise InvalidInput("Some of what was sent cannot be kept.", fields=faults)
        return data


def _faults(data: Any) -> Iterator[FieldError]:
    waiting: list[tuple[str, Any, int]] = [("", data, 0)]
    while waiting:
        path, value, depth = waiting.pop()
        if depth > DEPTH_MAX:
            yield FieldError(
                field=path[:80],
                detail=f"It is nested more than {DEPTH_MAX} deep.",
                mend="Send the shape that the API describes.",
            )
        elif isinstance(value, dict):
            waiting += [(f"{path}.{k}" if path else k, v, depth + 1) for k, v in value.items()]
            if any(not _is_text(key) for key in value):
                yield _unkept_text(path)
        elif isinstance(value, list):
            waiting += [(f"{path}[{i}]", v, depth + 1) for i, v in enumerate(value)]
        elif isinstance(value, str) and not _is_text(value):
            yield _unkept_text(path)
        elif isinstance(value, int | float) and not -NUMBER_MAX <= value <= NUMBER_MAX:
            yield FieldError(
                field=path or "body",
                detail="This number is too large to be kept exactly.",
                mend="Check its unit, and send a smaller number.",
            )


def _is_text(text: str) -> bool:
    """Return whether PostgreSQL can keep a text: it has no NUL and no half of a surrogate pair."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return "\0" not in text


def _unkept_text(path: str) -> FieldError:
    return FieldError(
        field=path or "body",
        detail="This text has a character that cannot be kept.",
        mend="Take NUL and broken characters out of it.",
    )
