"""Rows for PostgreSQL's binary COPY, packed from whole columns at once.

The format: https://www.postgresql.org/docs/18/sql-copy.html#SQL-COPY-FILE-FORMATS
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any, TypeAlias

import numpy as np
import psycopg
from numpy.typing import NDArray
from psycopg import sql

# A column of one value: text or None; or of one for each row: 16 bytes, whole numbers, text.
Column: TypeAlias = "bytes | NDArray[Any] | None"

_HEAD = b"PGCOPY\n\xff\r\n\x00" + (0).to_bytes(8, "big")
_TAIL = (-1).to_bytes(2, "big", signed=True)
_EPOCH = datetime(2000, 1, 1, tzinfo=UTC)


def copy_in(connection: psycopg.Connection[Any], table: str, columns: Mapping[str, Column]) -> None:
    """Write rows into a table; columns of one value stand in every row."""
    names = sql.SQL(", ").join(sql.Identifier(name) for name in columns)
    statement = sql.SQL("COPY {} ({}) FROM STDIN WITH (FORMAT binary)").format(
        sql.Identifier(table), names
    )
    with connection.cursor() as cursor, cursor.copy(statement) as stream:
        stream.write(_HEAD)
        stream.write(_packed(list(columns.values())))
        stream.write(_TAIL)


def times(moments_ms: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return times in ms since 1970 as PostgreSQL keeps them: microseconds since 2000."""
    return (moments_ms - int(_EPOCH.timestamp()) * 1000) * 1000


def uuids_at(moments_ms: NDArray[np.int64], random: np.random.Generator) -> NDArray[np.uint8]:
    """Return a UUIDv7 (RFC 9562, 5.7) for each moment, ascending where the moments do."""
    made = random.integers(0, 256, (len(moments_ms), 16), dtype=np.uint8)
    made[:, :6] = moments_ms.astype(">i8").view(np.uint8).reshape(-1, 8)[:, 2:]
    made[:, 6] = 0x70 | (made[:, 6] & 0x0F)
    made[:, 8] = 0x80 | (made[:, 8] & 0x3F)
    return made


def codes(numbers: NDArray[np.int64]) -> NDArray[np.bytes_]:
    """Return the code of each lot, `L-` and two groups of five of its number's letters."""
    letters = np.frombuffer(b"0123456789ABCDEFGHJKMNPQRSTVWXYZ", dtype=np.uint8)
    text = np.full((len(numbers), 13), ord("-"), dtype=np.uint8)
    text[:, 0] = ord("L")
    left = numbers.copy()
    for place in (*range(12, 7, -1), *range(6, 1, -1)):
        text[:, place] = letters[left % 32]
        left //= 32
    return text.view("S13").reshape(-1)


def _packed(columns: list[Column]) -> bytes:
    count = next(len(column) for column in columns if isinstance(column, np.ndarray))
    fields: list[tuple[Any, ...]] = [("columns", ">i2")]
    for index, column in enumerate(columns):
        fields.append((f"length_{index}", ">i4"))
        if column is not None and len(column):
            fields.append((f"value_{index}", *_kind(column)))
    rows = np.zeros(count, dtype=fields)
    rows["columns"] = len(columns)
    for index, column in enumerate(columns):
        if column is None:
            rows[f"length_{index}"] = -1
        elif len(column):
            rows[f"length_{index}"] = rows[f"value_{index}"].nbytes // count
            rows[f"value_{index}"] = column
    return rows.tobytes()


def _kind(column: "bytes | NDArray[Any]") -> tuple[Any, ...]:
    if isinstance(column, bytes):
        return (f"S{len(column)}",)
    if column.ndim > 1:
        return ("u1", column.shape[1])
    return (column.dtype.newbyteorder(">"),)
