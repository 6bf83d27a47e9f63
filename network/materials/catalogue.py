"""Reads the reference data that comes with Millrace: resins, items, and what tells resins apart."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from network.materials.core.figures import Figure, figure_from_data
from network.materials.core.resins import Item, Resin, item_from_data, resin_from_data


@dataclass(frozen=True, kw_only=True)
class FloatMedium:
    """A liquid for float tests; `caution` is shown wherever it is offered."""

    slug: str
    name: str
    adults_only: bool
    caution: str
    density: Figure


@dataclass(frozen=True, kw_only=True)
class ClueTable:
    """A harmless look at a piece: for each outcome, how often each resin shows it."""

    slug: str
    question: str
    source: str
    outcomes: Mapping[str, Mapping[str, float]]


@cache
def resins() -> Mapping[str, Resin]:
    """Return the known resins by ISO 1043-1 symbol."""
    rows = _rows("resins", "resins")
    return MappingProxyType({row["symbol"]: resin_from_data(row) for row in rows})


@cache
def items() -> Mapping[str, Item]:
    """Return the known items by slug."""
    rows = _rows("items", "items")
    return MappingProxyType({row["slug"]: item_from_data(row) for row in rows})


@cache
def float_media() -> Mapping[str, FloatMedium]:
    """Return the liquids for float tests by slug."""
    rows = _rows("float_media", "media")
    return MappingProxyType({row["slug"]: _medium(row) for row in rows})


@cache
def clue_tables() -> Mapping[str, ClueTable]:
    """Return the harmless looks that tell resins apart, by slug."""
    data = _data("clues")
    return MappingProxyType(
        {
            slug: ClueTable(
                slug=slug,
                question=clue["question"],
                source=data["source"],
                outcomes=clue["outcomes"],
            )
            for slug, clue in data["clues"].items()
        }
    )


def _data(file_name: str) -> dict[str, Any]:
    file = resources.files("network.materials").joinpath("reference", f"{file_name}.json")
    data: dict[str, Any] = json.loads(file.read_text("utf-8"))
    return data


def _rows(file_name: str, key: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = _data(file_name)[key]
    return rows


def _medium(row: Mapping[str, Any]) -> FloatMedium:
    return FloatMedium(
        slug=row["slug"],
        name=row["name"],
        adults_only=row["adults_only"],
        caution=row["caution"],
        density=figure_from_data(row["density"]),
    )
