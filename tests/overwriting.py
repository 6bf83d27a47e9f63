"""Writes into every text column there is, past every check, as if it had got in somehow."""

from collections.abc import Callable
from typing import Any

from django.apps import apps
from django.db import connection, transaction
from django.db.models import CharField, Field, JSONField, Model, TextField

from network.people.models import Community, CommunityRow, User

# Returns what stands in a row of a column, given as `table.column` and the number of the row.
Writing = Callable[[str, int], str]
# Words that programs look up, of which no person writes any: by column, or by name everywhere.
CODES = {"slug", "timezone", "country", "subdivision", "currency", "email", "password", "link"}
CODES |= {"language", "token_sha256", "by_code", "about_code", "suggested_kind", "place_kind"}
CODES |= {"from_kind", "to_kind", "cause", "lots_flowsum.reason", "lots_finding.kind"}
CODES |= {"hash", "former", "root", "type", "endpoint", "p256dh", "auth"}
WORDS_IN_JSON = {"words", "next_time", "notes", "note", "name", "label", "title", "text", "reason"}


def overwrite_texts(writing: Writing) -> None:
    """Overwrite each text of each row of a community, of communities and of people."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")  # the ledger refuses it
        for table in apps.get_models():
            if issubclass(table, CommunityRow | Community | User) and table._meta.managed:
                _overwrite(table, writing)
        cursor.execute("SET LOCAL session_replication_role = DEFAULT")


def _overwrite(table: type[Model], writing: Writing) -> None:
    for number, row in enumerate(table._default_manager.order_by("pk")):
        for field in table._meta.concrete_fields:
            _write(row, field, writing, number)
        row.save()


def _write(row: Model, field: "Field[Any, Any]", writing: Writing, number: int) -> None:
    column = f"{row._meta.db_table}.{field.name}"
    if field.choices or not CODES.isdisjoint((field.name, column)):
        return
    if isinstance(field, JSONField):
        setattr(row, field.name, _in_json(getattr(row, field.name), column, writing))
    elif isinstance(field, CharField | TextField):
        setattr(row, field.name, writing(column, number)[: field.max_length])


def _in_json(value: Any, column: str, writing: Writing, key: str = "") -> Any:
    if isinstance(value, dict):
        return {name: _in_json(part, column, writing, name) for name, part in value.items()}
    if isinstance(value, list):
        return [_in_json(part, column, writing, key or "words") for part in value]
    is_words = isinstance(value, str) and key in WORDS_IN_JSON
    return writing(column, 0) if is_words else value
