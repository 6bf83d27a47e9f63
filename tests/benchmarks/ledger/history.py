"""The nation's history: lots with their accounts, weighings and lines, month by month."""

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
import psycopg
from numpy.typing import NDArray

from tests.benchmarks.ledger.nation import Nation, as_bytes
from tests.benchmarks.ledger.packing import Column, codes, copy_in, times, uuids_at
from tests.benchmarks.ledger.stories import (
    STORIES,
    Story,
    amounts,
    balances,
    lines_per_lot,
    weighed_g,
)

MONTHS = 72
FIRST_YEAR = 2020
_HOUR_MS = 3_600_000
_TABLES = ("lots_lot", "lots_account", "lots_weighing", "lots_movement")
_TARE_G = 150


@dataclass(frozen=True, kw_only=True)
class _Lots:
    """Lots of one story in one month, a row of each array for each."""

    story: Story
    ids: NDArray[np.uint8]
    numbers: NDArray[np.int64]
    made_ms: NDArray[np.int64]
    places: NDArray[np.int64]
    masses: Mapping[str, NDArray[np.int32]]


class History:
    """Writes a nation's history through COPY, with triggers off; the sums are built afterwards."""

    def __init__(
        self, connection: psycopg.Connection[Any], nation: Nation, random: np.random.Generator
    ) -> None:
        self.connection = connection
        self.nation = nation
        self.random = random
        self.lots = 0
        self.lines = 0
        self._community = nation.community.id.bytes
        self._holders = {
            "container": nation.ids["container"],
            "vehicle": as_bytes([works.vehicle.id for works in nation.works])[nation.maker_of],
        }
        self._makers = as_bytes([works.maker.id for works in nation.works])[nation.maker_of]
        self._scales = as_bytes([works.scale.id for works in nation.works])[nation.maker_of]

    def write_month(self, month: int, lines: int) -> None:
        """Write the lots that are made in a month, counted from the first, and all their lines."""
        count = round(lines / lines_per_lot())
        begin_ms = _month_ms(month)
        span_ms = _month_ms(month + 1) - begin_ms
        made_ms = begin_ms + np.sort(self.random.integers(0, span_ms, count))
        told = self.random.choice(len(STORIES), count, p=[story.share for story in STORIES])
        for index, story in enumerate(STORIES):
            if (told == index).any():
                self._write(story, made_ms[told == index])

    def _write(self, story: Story, made_ms: NDArray[np.int64]) -> None:
        count = len(made_ms)
        lots = _Lots(
            story=story,
            ids=uuids_at(made_ms, self.random),
            numbers=np.arange(self.lots, self.lots + count),
            made_ms=made_ms,
            places=self.random.integers(0, len(self.nation.maker_of), count),
            masses=amounts(count, self.random),
        )
        self.lots += count
        self._copy("lots_lot", _lot_columns(lots, self.nation, self._makers))
        accounts = self._write_accounts(lots)
        self._write_lines(lots, accounts, self._write_weighings(lots))

    def _write_accounts(self, lots: _Lots) -> dict[str, NDArray[np.uint8]]:
        made = {}
        for kind, left_g in balances(lots.story, lots.masses).items():
            made[kind] = uuids_at(lots.made_ms, self.random)
            self._copy(
                "lots_account",
                {
                    "id": made[kind],
                    "kind": kind.encode(),
                    "holder_id": self._holders.get(kind, self._makers)[lots.places],
                    "lot_id": lots.ids,
                    "balance_g": left_g,
                },
            )
        return made

    def _write_weighings(self, lots: _Lots) -> list[NDArray[np.uint8]]:
        made = []
        for which, method in enumerate(lots.story.weighings):
            at_ms = lots.made_ms + 24 * _HOUR_MS * which
            net_g = weighed_g(lots.story, which, lots.masses)
            made.append(uuids_at(at_ms, self.random))
            self._copy(
                "lots_weighing",
                {
                    "id": made[-1],
                    "lot_id": lots.ids,
                    "stage": b"workshop" if which else b"doorstep",
                    "method": method.encode(),
                    "gross_g": net_g + np.int32(_TARE_G),
                    "tare_g": np.full(len(net_g), _TARE_G, dtype=np.int32),
                    "net_g": net_g,
                    "uncertainty_mg": np.full(len(net_g), 28_867, dtype=np.int32),
                    "budget": _budget(method),
                    "scale_id": self._scales[lots.places] if method == "weighed" else None,
                    "at": times(at_ms),
                    "by_id": self.nation.organiser.id.bytes,
                },
            )
        return made

    def _write_lines(
        self,
        lots: _Lots,
        accounts: Mapping[str, NDArray[np.uint8]],
        weighings: list[NDArray[np.uint8]],
    ) -> None:
        made: list[NDArray[np.uint8]] = []
        for line in lots.story.lines:
            at_ms = lots.made_ms + line.after_h * _HOUR_MS
            made.append(uuids_at(at_ms, self.random))
            at = times(at_ms)
            self._copy(
                "lots_movement",
                {
                    "id": made[-1],
                    "from_account_id": accounts[line.frm],
                    "to_account_id": accounts[line.to],
                    "mass_g": lots.masses[line.amount],
                    "reason": line.reason.encode(),
                    "at": at,
                    "counts_at": at,
                    "recorded_at": at,
                    "by_id": self.nation.organiser.id.bytes,
                    "weighing_id": None if line.weighing is None else weighings[line.weighing],
                    "inspection_id": None,
                    "reverses_id": None if line.undoes is None else made[line.undoes],
                    "note": b"",
                },
            )
            self.lines += len(at)

    def _copy(self, table: str, columns: Mapping[str, Column]) -> None:
        copy_in(self.connection, table, {"community_id": self._community, **columns})


@contextmanager
def written_in_bulk(connection: psycopg.Connection[Any]) -> Iterator[None]:
    """Leave out triggers and checks of references, and make the indexes when all is written."""
    connection.execute("SET session_replication_role = replica")
    connection.execute("SET maintenance_work_mem = '1GB'")
    made = _indexes_taken_off(connection)
    connection.commit()
    yield
    for statement in made:
        connection.execute(statement.encode())
        connection.commit()
    connection.execute("SET session_replication_role = origin")
    connection.commit()


def _indexes_taken_off(connection: psycopg.Connection[Any]) -> list[str]:
    """Drop all indexes but the keys that rows come in the order of; return how to make them."""
    constraints = connection.execute(
        "SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid) FROM pg_constraint"
        " WHERE conrelid::regclass::text = ANY (%s) AND contype = 'u'",
        [list(_TABLES)],
    ).fetchall()
    for table, name, _ in constraints:
        connection.execute(f'ALTER TABLE {table} DROP CONSTRAINT "{name}"'.encode())
    indexes = connection.execute(
        "SELECT indexrelid::regclass::text, pg_get_indexdef(indexrelid) FROM pg_index"
        " WHERE indrelid::regclass::text = ANY (%s) AND NOT indisprimary",
        [list(_TABLES)],
    ).fetchall()
    for name, _ in indexes:
        connection.execute(f"DROP INDEX {name}".encode())
    return [
        *(statement for _, statement in indexes),
        *(
            f'ALTER TABLE {table} ADD CONSTRAINT "{name}" {text}'
            for table, name, text in constraints
        ),
    ]


def _lot_columns(lots: _Lots, nation: Nation, makers: NDArray[np.uint8]) -> dict[str, Column]:
    return {
        "id": lots.ids,
        "code": codes(lots.numbers),
        "maker_id": makers[lots.places],
        "stream_id": nation.ids["stream"][lots.places],
        "agreement_id": nation.ids["agreement"][lots.places],
        "place_id": nation.ids["place"][lots.places],
        "made_at": times(lots.made_ms),
    }


def _budget(method: str) -> bytes:
    """Return the workings of an uncertainty, as the binary form of jsonb has them."""
    budget = {
        "components": [
            {"name": "gross", "standard_mg": 23_094, "shared": True},
            {"name": "readings", "standard_mg": 12_910, "shared": False},
        ],
        "shared_by": f"{method}:nation",
        "shared_mg": 25_820,
        "own_mg": 12_910,
        "expanded_mg": 57_734,
        "coverage_factor": 2,
        "warnings": [],
    }
    return b"\x01" + json.dumps(budget).encode()


def _month_ms(month: int) -> int:
    years, months = divmod(month, 12)
    return int(datetime(FIRST_YEAR + years, months + 1, 1, tzinfo=UTC).timestamp() * 1000)
