"""What is held about a person, found by what refers to them."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core import serializers
from django.db.models import CASCADE, ManyToOneRel, Model, QuerySet

from network.people.models import CommunityRow, User

# What proves that one holds a link is nobody's to read, not even as a hash.
_SECRETS = {"token_sha256", "password", "session_key", "data"}
_MOMENTS = ("at", "created_at", "asked_at", "made_at", "taken_at")


def data_about(user_id: UUID, *, at: datetime) -> dict[str, Any]:
    """Return all that is held about a person: who they are, what is theirs, what they did.

    Of what they did it says what and when; the thing itself belongs to the community.
    """
    person = User.objects.get(id=user_id)
    return {
        "made_at": at,
        "person": _fields(person),
        "yours": {
            rel.related_model._meta.label_lower: [_fields(row) for row in rows]
            for rel, rows in rows_about(person)
            if rel.on_delete is CASCADE
        },
        "what_you_did": [
            act
            for rel, rows in rows_about(person)
            if rel.on_delete is not CASCADE
            for act in _acts(rel, rows)
        ],
    }


def rows_about(person: User) -> Iterator[tuple[ManyToOneRel, "QuerySet[Model]"]]:
    """Yield each way in which rows refer to a person, with those rows where there are any."""
    for rel in User._meta.get_fields(include_hidden=True):
        if not isinstance(rel, ManyToOneRel):
            continue
        table = rel.related_model
        rows = table._default_manager.filter(**{rel.field.name: person}).order_by("pk")
        if rows.exists():
            yield rel, rows


def _fields(row: Model) -> dict[str, Any]:
    (plain,) = serializers.serialize("python", [row])
    fields: dict[str, Any] = plain["fields"]
    return {"id": plain["pk"], **{k: v for k, v in fields.items() if k not in _SECRETS}}


def _acts(rel: ManyToOneRel, rows: "QuerySet[Model]") -> Iterator[dict[str, Any]]:
    for row in rows:
        moment = next((getattr(row, name) for name in _MOMENTS if hasattr(row, name)), None)
        yield {
            "what": row._meta.label_lower,
            "as": rel.field.name,
            "id": row.pk,
            "community": row.community_id if isinstance(row, CommunityRow) else None,
            "at": moment,
        }
