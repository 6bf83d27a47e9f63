"""Walks every route of the API, so that what is tested of one is tested of all."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.apps import apps
from django.urls import URLPattern, URLResolver, get_resolver
from django.urls.resolvers import RoutePattern

from network.people.models import CommunityRow

PREFIX = "api/v1/"
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
SAFE = "GET"

# Tables that addresses call by another name than their own.
OTHERWISE_NAMED = {"products": "ProductRun", "colours": "NamedColour"}


def named(part: str) -> type[CommunityRow]:
    """Return the table that the id after a part of an address is of: `place-imports`."""
    for table in apps.get_models():
        kebab = re.sub(r"(?<!^)(?=[A-Z])", "-", table.__name__).lower()
        if issubclass(table, CommunityRow) and (
            part in {f"{kebab}s", f"{kebab}es"} or OTHERWISE_NAMED.get(part) == table.__name__
        ):
            return table
    raise AssertionError(f"Say in OTHERWISE_NAMED which table {part} are the rows of.")


@dataclass(frozen=True, kw_only=True)
class Walked:
    """One route: its name in the rights table, its address with holes, and its view."""

    name: str
    template: str
    view: Any
    converters: Mapping[str, str]

    @property
    def methods(self) -> tuple[str, ...]:
        """The methods that its view has and lets through."""
        served = self.view.http_method_names
        return tuple(
            method
            for method in METHODS
            if method.lower() in served and hasattr(self.view, method.lower())
        )

    @property
    def subject(self) -> type[CommunityRow] | None:
        """The kind of thing that the id in its address names; None without one."""
        if "uuid" not in self.converters.values():
            return None
        parts = self.template.split("/")
        (at,) = [i for i, part in enumerate(parts) if self.converters.get(part[1:-1]) == "uuid"]
        return named(parts[at - 1])

    def handler(self, method: str) -> Any:
        """Return the method of its view."""
        return getattr(self.view, method.lower())

    def address(self, *, community: str, id: UUID) -> str:  # noqa: A002  # whatever id it takes
        """Return the address of one thing in a community."""
        fill = {"uuid": str(id), "slug": community, "str": "made-up"}
        holes = {name: fill[kind] for name, kind in self.converters.items()}
        return "/" + self.template.format(**holes)


def routes() -> list[Walked]:
    """Return every route under /api/v1/, by name."""
    return sorted(_walk(get_resolver(), ""), key=lambda route: route.name)


def _walk(resolver: URLResolver, before: str) -> Iterator[Walked]:
    for pattern in resolver.url_patterns:
        here = before + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            yield from _walk(pattern, here)
        elif here.startswith(PREFIX):
            yield _walked(pattern, here)


def _walked(pattern: URLPattern, here: str) -> Walked:
    assert isinstance(pattern.pattern, RoutePattern)
    converters = {}
    for hole in here.split("<")[1:]:
        kind, _, name = hole.partition(">")[0].rpartition(":")
        converters[name] = kind or "str"
        here = here.replace(f"<{hole.partition('>')[0]}>", "{" + name + "}")
    return Walked(
        name=pattern.name or "",
        template=here,
        view=vars(pattern.callback)["view_class"],
        converters=converters,
    )
