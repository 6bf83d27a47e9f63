"""The lines of a period as they are sealed: one text for each, and nothing of who wrote it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import OuterRef, QuerySet
from django.db.models.functions import JSONObject

from network.lots.core.seal import line_text
from network.lots.models import Finding, Movement

# As many lines as are held in memory at once.
CHUNK = 2_000

_LOT = ("id", "code", "maker_id", "stream_id", "agreement_id", "place_id", "made_at")
_WEIGHING = (
    *("id", "lot_id", "stage", "method", "gross_g", "tare_g", "net_g"),
    *("uncertainty_mg", "budget", "scale_id", "at"),
)
_INSPECTION = (
    *("id", "agreement_id", "container_id", "lot_id", "rule_version_id", "stage", "observation"),
    *("sample_g", "verdict", "reasons", "note", "at"),
)
_ACCOUNT = ("id", "community_id", "kind", "holder_id")
_OWN = ("id", "community_id", "at", "counts_at", "recorded_at", "mass_g", "reason", "note")


def _of(name: str, path: str, fields: tuple[str, ...]) -> dict[str, str]:
    return {f"{name}.{field}": f"{path}__{field}" for field in fields}


# What a sealed line states, by name, and where it is kept. `by` is left out, so that a person can
# be forgotten and the seal still holds.
_PARTS: Mapping[str, str] = {
    **{name: name for name in _OWN},
    "reverses_id": "reverses_id",
    **_of("from", "from_account", _ACCOUNT),
    **_of("from.lot", "from_account__lot", _LOT),
    **_of("to", "to_account", _ACCOUNT),
    **_of("to.lot", "to_account__lot", _LOT),
    **_of("weighing", "weighing", _WEIGHING),
    **_of("inspection", "inspection", _INSPECTION),
    "inspection.findings": "findings",
}


@dataclass(frozen=True, kw_only=True)
class SealedLine:
    """A line with its one text, and what a seal sums up of it."""

    id: UUID
    text: str
    mass_g: int
    from_kind: str
    to_kind: str
    is_late: bool


def lines_between(
    community_id: UUID, *, starts_at: datetime | None, ends_at: datetime
) -> QuerySet[Movement]:
    """Return the lines that count in a period, by their ids: the order of the tree."""
    lines = Movement.objects.filter(community_id=community_id, counts_at__lt=ends_at)
    if starts_at is not None:
        lines = lines.filter(counts_at__gte=starts_at)
    return lines.order_by("id")


def sealed_lines(lines: QuerySet[Movement]) -> Iterator[SealedLine]:
    """Read lines as they are sealed, a chunk at a time."""
    found = Finding.objects.filter(inspection=OuterRef("inspection_id")).order_by("kind")
    findings = ArraySubquery(found.values(json=JSONObject(id="id", kind="kind", mass_g="mass_g")))
    rows = lines.annotate(findings=findings).values_list(*_PARTS.values())
    for row in rows.iterator(chunk_size=CHUNK):
        yield _line(dict(zip(_PARTS, row, strict=True)))


def _line(parts: dict[str, Any]) -> SealedLine:
    return SealedLine(
        id=parts["id"],
        text=line_text(parts),
        mass_g=parts["mass_g"],
        from_kind=parts["from.kind"],
        to_kind=parts["to.kind"],
        is_late=parts["counts_at"] > parts["at"],
    )
