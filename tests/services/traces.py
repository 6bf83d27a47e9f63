"""Where a person is still named: in any column of any table, in sessions, and in files."""

import json
import quopri
from collections.abc import Iterable, Iterator
from pathlib import Path

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import connection

_TEXTS = (
    "SELECT table_name, column_name FROM information_schema.columns"
    " WHERE table_schema = 'public' AND data_type IN ('text', 'character varying', 'json',"
    " 'jsonb', 'bytea', 'inet', 'ARRAY', 'USER-DEFINED')"
)


def traces_of(*names: str) -> list[str]:
    """Return the columns and files that hold a name, as a text, in JSON or in a mail."""
    needles = {n.lower() for name in names for n in (name, json.dumps(name)[1:-1])}
    return [where for where, content in _everything() if _holds(content, needles)]


def _holds(content: str, needles: Iterable[str]) -> bool:
    low = content.lower()
    return any(needle in low for needle in needles)


def _everything() -> Iterator[tuple[str, str]]:
    yield from _columns()
    # Django's sessions are written in a code of their own.
    for session in Session.objects.all():
        yield "session", json.dumps(session.get_decoded(), default=str)
    for folder in (settings.MEDIA_ROOT, settings.EMAIL_FILE_PATH):
        for path in Path(folder).rglob("*"):
            if path.is_file():
                content = path.read_bytes()
                yield f"file {path.name}", content.decode(errors="replace")
                yield f"file {path.name}", quopri.decodestring(content).decode(errors="replace")


def _columns() -> Iterator[tuple[str, str]]:
    with connection.cursor() as cursor:
        cursor.execute(_TEXTS)
        for table, column in cursor.fetchall():
            cursor.execute(f'SELECT string_agg("{column}"::text, chr(10)) FROM "{table}"')  # noqa: S608  # names of our tables
            (content,) = cursor.fetchone()
            yield f"{table}.{column}", content or ""
