"""The factors in force in a community: as last stated there, else as they came with Millrace."""

import json
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any
from uuid import UUID

from network.reports.core.scenario import RANGES, Factor
from network.reports.models import StatedFactor

CODES = tuple(RANGES)


def factors_of(community_id: UUID) -> dict[str, Factor]:
    """Return each factor by its code, in the order of the reference data."""
    stated: dict[str, StatedFactor] = {}
    for row in StatedFactor.objects.filter(community_id=community_id).order_by("version"):
        stated[row.code] = row
    return {code: _in_force(factor, stated.get(code)) for code, factor in _shipped().items()}


def _in_force(shipped: Factor, stated: StatedFactor | None) -> Factor:
    if stated is None:
        return shipped
    return Factor(
        code=shipped.code,
        unit=shipped.unit,
        value=stated.value.normalize(),
        low=None,
        high=None,
        source=stated.source,
        year=stated.year,
        region=stated.region,
        version=stated.version,
        confirmed=True,
    )


@cache
def _shipped() -> Mapping[str, Factor]:
    text = resources.files("network.reports").joinpath("reference/factors.json").read_text("utf-8")
    return {row["code"]: _factor(row) for row in json.loads(text)["factors"]}


def _factor(row: Mapping[str, Any]) -> Factor:
    return Factor(
        code=row["code"],
        unit=row["unit"],
        value=_number(row["value"]),
        low=_number(row["low"]),
        high=_number(row["high"]),
        source=row["source"],
        year=row["year"],
        region=row["region"],
        version=0,
        confirmed=False,
    )


def _number(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)
