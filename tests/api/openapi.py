"""Reads the API's own description, so that what it says of each field can be tried on it."""

import re
from collections.abc import Iterator, Mapping
from copy import deepcopy
from functools import cache
from typing import Any
from uuid import uuid4

from drf_spectacular.generators import SchemaGenerator

Schema = Mapping[str, Any]
NUL = "a\x00b"
LONG = "x" * 100_000
HUGE = 2**53 - 1
TOO_HUGE = 10**30
# What no field of a type may hold, by the type that the description gives it.
WRONG: Mapping[str, tuple[object, ...]] = {
    "string": ({}, [], NUL, LONG),
    "integer": ("many", 1.5, {}, [], -1, HUGE, TOO_HUGE),
    "number": ("far", {}, [], TOO_HUGE),
    "boolean": ("maybe", {}, []),
    "array": ({}, "x", 7),
    "object": ([], "x", 7),
}
WRONG_FORMATS: Mapping[str, tuple[object, ...]] = {
    "uuid": ("nope", "' OR 1=1 --"),
    "date": ("2026-13-01", "31/12/2026", "soon", "99999-01-01"),
    "date-time": ("2026-13-01T00:00:00Z", "soon"),
    "email": ("nobody", "a@b@c"),
}
# One of these fits each pattern.
TEXTS = ("1", "09:00", "text", "0f" * 32)
EXAMPLES: Mapping[str, str] = {
    "date": "2026-03-02",
    "date-time": "2026-03-02T09:00:00Z",
    "email": "wren@example.org",
}


@cache
def document() -> dict[str, Any]:
    """Return the OpenAPI document."""
    generator = SchemaGenerator()  # type: ignore[no-untyped-call]  # it has no types
    whole: dict[str, Any] = generator.get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
    return whole


def request_schema(template: str, method: str) -> Schema | None:
    """Return the schema of the JSON body of an operation; None where it takes none."""
    operation = document()["paths"]["/" + template][method.lower()]
    media = operation.get("requestBody", {}).get("content", {}).get("application/json")
    return resolved(media["schema"]) if media else None


def resolved(schema: Schema) -> Schema:
    """Return a schema with references followed, and the first of several shapes taken."""
    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[1]
        return resolved(document()["components"]["schemas"][name])
    for several in ("allOf", "oneOf", "anyOf"):
        if several in schema:
            return resolved({**schema[several][0], **_without(schema, several)})
    return schema


def _without(schema: Schema, key: str) -> dict[str, Any]:
    return {k: v for k, v in schema.items() if k != key}


def _type(schema: Schema) -> str:
    kind = schema.get("type", "object")
    return kind if isinstance(kind, str) else next(k for k in kind if k != "null")


def example(schema: Schema) -> Any:
    """Return a value of the described shape, every part there; ids in it are made up."""
    schema = resolved(schema)
    if "const" in schema or "enum" in schema:
        return schema.get("const", next(iter(schema.get("enum", [None]))))
    kind = _type(schema)
    if kind == "object":
        return {name: example(part) for name, part in schema.get("properties", {}).items()}
    if kind == "array":
        return [example(schema["items"])]
    if kind == "string":
        return _text(schema)
    return {"integer": max(schema.get("minimum", 1), 1), "number": 1.0, "boolean": True}[kind]


def _text(schema: Schema) -> str:
    if schema.get("format") == "uuid":
        return str(uuid4())
    if "pattern" in schema:
        return next(text for text in TEXTS if re.search(schema["pattern"], text))
    return EXAMPLES.get(schema.get("format", ""), "text")


def with_ids(body: Any, ids: Mapping[str, str]) -> Any:
    """Return a body with the made-up ids of the named parts replaced, at whatever depth."""
    if isinstance(body, list):
        return [with_ids(part, ids) for part in body]
    if not isinstance(body, dict):
        return body
    return {name: ids.get(name) or with_ids(part, ids) for name, part in body.items()}


def wrongs(schema: Schema, body: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Yield bodies of which one part, whose path is told, holds what it may not."""
    schema = resolved(schema)
    for name, described in schema.get("properties", {}).items():
        part = resolved(described)
        here = f"{path}.{name}" if path else name
        for value in _wrong_values(part):
            yield here, {**body, name: value}
        if _type(part) == "object" and part.get("properties"):
            for deeper, inner in wrongs(part, body[name], here):
                yield deeper, {**deepcopy(body), name: inner}
        if _type(part) == "array":
            for deeper, inner in _wrong_elements(part, body[name], here):
                yield deeper, {**deepcopy(body), name: inner}


def _wrong_elements(part: Schema, values: list[Any], here: str) -> Iterator[tuple[str, Any]]:
    items = resolved(part["items"])
    for value in _wrong_values(items):
        yield f"{here}[0]", [value]
    if _type(items) == "object":
        for deeper, inner in wrongs(items, values[0], f"{here}[0]"):
            yield deeper, [inner]


def _wrong_values(schema: Schema) -> Iterator[object]:
    kind = _type(schema)
    if "enum" in schema:
        yield from ("none-of-these", 7, {}, [])
        return
    yield from WRONG_FORMATS.get(schema.get("format", ""), ())
    if "pattern" in schema:
        yield from (text for text in ("25:00", "much") if not re.search(schema["pattern"], text))
    yield from WRONG[kind]


def uuid_parts(schema: Schema, body: Any) -> Iterator[str]:
    """Yield the names of top-level parts that hold an id."""
    for name, part in resolved(schema).get("properties", {}).items():
        if resolved(part).get("format") == "uuid" and name in body:
            yield name
