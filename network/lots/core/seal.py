"""What is sealed: the bytes of a line, and of a closed period that is chained to the one before."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from hashlib import sha256
from uuid import UUID

# What stands for the former seal where there is none.
NO_FORMER = "0" * 64
# Lines are kept in runs of a power of two: so the root over the runs' roots is that of all lines.
RUN_LINES = 1024
_FORM = "millrace-seal-1"


def line_text(parts: Mapping[str, object]) -> str:
    """Return a line's parts as JSON in one form only: names sorted, no blanks, times in UTC.

    Raises TypeError for a part that has no such form.
    """
    return json.dumps(
        parts, sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=_plain
    )


@dataclass(frozen=True, kw_only=True)
class Period:
    """What a seal states; masses in g by kind of account, hashes in hexadecimal.

    `starts_at` is None for the first period, which begins with the ledger; `ends_at` is no longer
    in it.
    """

    community_id: UUID
    number: int
    first_day: date | None
    last_day: date
    starts_at: datetime | None
    ends_at: datetime
    sealed_at: datetime
    lines: int
    late_lines: int
    sums_g: Mapping[str, int]
    root: str
    former: str

    def __post_init__(self) -> None:
        if self.number < 1 or not 0 <= self.late_lines <= self.lines:
            raise ValueError("a seal has a number from 1, and no more late lines than lines")
        if self.starts_at and self.starts_at >= self.ends_at:
            raise ValueError("a period begins before it ends")
        if sum(self.sums_g.values()):
            raise ValueError("what leaves one account comes to another: the sums add up to zero")


def seal_hash(period: Period) -> str:
    """Return the hash of a closed period in hexadecimal; it covers the hash of the former one."""
    stated = {"form": _FORM, **vars(period)}
    return sha256(line_text(stated).encode()).hexdigest()


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"a {type(value).__name__} has no fixed form")
