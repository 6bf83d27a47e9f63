"""A person is erased: what is theirs goes, what they did stays under nobody's name."""

import json
import re
from collections.abc import Iterator
from uuid import UUID

from django.apps import apps
from django.contrib.sessions.models import Session
from django.db import connection, transaction
from django.db.models import CharField, Field, JSONField, Model, TextField

from network.lots.models import Finding, Inspection, LotParent, Movement, Seal, SealedRun, Weighing
from network.materials.models import RuleVersion
from network.people.models import TrailEntry, User
from network.people.services import refuse_last_organiser
from network.people.services.trail import Act, note_everywhere
from network.privacy.services.mail_files import delete_mails_to

ERASED = "(erased)"
# Nothing may change these, so that the ledger can be trusted: no name should be written there.
NEVER_CHANGED = (
    *(Finding, Inspection, LotParent, Movement, Seal, SealedRun, Weighing),
    RuleVersion,
    TrailEntry,
)


@transaction.atomic
def erase_person(*, user_id: UUID) -> None:
    """Erase a person, for good; the ledger's sums stay to the gram.

    Raises Conflict naming the communities whose last organiser they are.
    """
    person = User.objects.select_for_update().get(id=user_id)
    refuse_last_organiser(person.id)
    note_everywhere(Act.PERSON_ERASED, user_id=person.id)
    _end_sessions(person)
    address = person.email
    transaction.on_commit(lambda: delete_mails_to(address))
    for trace in _traces(person):
        for table in apps.get_models():
            if table not in NEVER_CHANGED and table._meta.managed:
                _take_out(table, trace)
    person.delete()


def _traces(person: User) -> Iterator[str]:
    """Yield what names a person in texts: the address, and a name of more than one word.

    A single word such as 'Wren' names too much else to be taken out of others' texts.
    """
    yield person.email
    if len(person.name.split()) > 1:
        yield person.name


def _take_out(table: type[Model], trace: str) -> None:
    for field in table._meta.concrete_fields:
        if isinstance(field, CharField | TextField | JSONField) and not field.choices:
            _take_out_of(table, field, trace)


def _take_out_of(table: type[Model], field: "Field[object, object]", trace: str) -> None:
    """Replace a text wherever it stands in a column, but not as a part of a longer word."""
    is_json = isinstance(field, JSONField)
    written = json.dumps(trace, ensure_ascii=False)[1:-1] if is_json else trace
    pattern = f"(?<![\\w.+-]){re.escape(written)}(?![\\w-])"
    quoted = connection.ops.quote_name
    column, name = quoted(str(field.column)), quoted(table._meta.db_table)
    back = "::jsonb" if is_json else ""
    with connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE {name} "  # noqa: S608  # the names are those of our own tables
            f"SET {column} = regexp_replace({column}::text, %s, %s, 'gi'){back} "
            f"WHERE {column}::text ~* %s",
            [pattern, ERASED, pattern],
        )


def _end_sessions(person: User) -> None:
    """Delete the sessions of a person, also those in which they had only begun to sign in."""
    for session in Session.objects.iterator():
        held = json.dumps(session.get_decoded(), default=str)
        if str(person.id) in held or person.email in held:
            session.delete()
