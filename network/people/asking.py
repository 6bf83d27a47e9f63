"""Who asks, and where: read before every answer, each by one statement that is written out once.

To put such a statement together anew takes longer than the database takes to answer it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import islice
from typing import Any, TypeVar
from uuid import UUID

from django.db import connection
from django.db.models import Model

from network.errors import NotFound
from network.people.core.actor import Actor
from network.people.models import Community, MachineToken, User
from network.tokens import hash_of

_R = TypeVar("_R", bound=Model)
_Values = tuple[Any, ...]


def _columns(model: type[Model]) -> str:
    """Name all columns of a table in the order in which a row of it is made."""
    meta = model._meta  # noqa: SLF001  # documented: the Model _meta API
    return ", ".join(f"{meta.db_table}.{field.column}" for field in meta.concrete_fields)


_HERE = f"""
SELECT people_membership.role, people_membership.organisation_id, {_columns(Community)}
  FROM people_community
  LEFT JOIN people_membership ON people_membership.community_id = people_community.id
                             AND people_membership.user_id = %s
 WHERE people_community.slug = %s"""  # noqa: S608  # names of our own
_TOKEN = f"""
SELECT {_columns(MachineToken)}, {_columns(User)}, {_columns(Community)}
  FROM people_machinetoken
  JOIN people_user ON people_user.id = people_machinetoken.owner_id
  JOIN people_community ON people_community.id = people_machinetoken.community_id
 WHERE token_sha256 = %s AND revoked_at IS NULL AND expires_at > %s
   AND people_user.is_active"""  # noqa: S608  # names of our own


def asking_in(slug: str, user_id: UUID | None) -> tuple[Community, Actor]:
    """Return a community and who this person is in it; raises NotFound.

    A stranger, or nobody (None), is an actor without roles.
    """
    rows = _read(_HERE, [user_id, slug])
    if not rows:
        raise NotFound("There is no such community.")
    community = _taken(Community, iter(rows[0][2:]))
    held = (row[:2] for row in rows if row[0] is not None)
    return community, actor_of(held, community_id=community.id, user_id=user_id)


def actor_of(
    held: Iterable[tuple[str, UUID | None]], *, community_id: UUID, user_id: UUID | None
) -> Actor:
    """Return who holds these roles, each for an organisation or for the whole community."""
    organisations: dict[str, set[UUID]] = defaultdict(set)
    for role, organisation_id in held:
        named = {organisation_id} if organisation_id else set()
        organisations[role].update(named)
    return Actor(
        user_id=user_id,
        community_id=community_id,
        organisations={role: frozenset(ids) for role, ids in organisations.items()},
    )


def usable_machine_token(secret: str, *, at: datetime) -> MachineToken | None:
    """Return the token of a secret, with owner and community; None for one that opens nothing."""
    rows = _read(_TOKEN, [hash_of(secret), at])
    if not rows:
        return None
    values = iter(rows[0])
    token = _taken(MachineToken, values)
    token.owner = _taken(User, values)
    token.community = _taken(Community, values)
    return token


def _read(statement: str, parameters: Sequence[UUID | str | datetime | None]) -> list[_Values]:
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        rows: list[_Values] = cursor.fetchall()
    return rows


def _taken(model: type[_R], values: Iterator[Any]) -> _R:
    """Make a row of the next of the values, one for each of its columns."""
    fields = model._meta.concrete_fields  # noqa: SLF001  # documented: the Model _meta API
    names = [field.attname for field in fields]
    return model.from_db(connection.alias, names, list(islice(values, len(names))))
