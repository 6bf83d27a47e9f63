"""Mass assignment: what a body may not say is listened to by no write there is."""

import json
import re
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.db import transaction

from tests.api.openapi import resolved
from tests.api.test_bad_input import Caller, as_json, bodies
from tests.api.walk import Walked
from tests.scenario import populate

pytestmark = pytest.mark.django_db
# What only the server says: whose something is, when and by whom it was made, how it stands.
NEVER_SAID = {
    "community",
    "community_id",
    "created_at",
    "created_by",
    "by",
    "owner",
    "owner_id",
    "user",
    "user_id",
    "is_staff",
    "is_superuser",
    "is_active",
    "last_login",
    "token_sha256",
    "admitted_at",
    "used_at",
    "revoked_at",
    "sealed_at",
    "hash",
    "balance_g",
}
# To whom a role goes on, and by which way a resin was told: said by a person, of something else.
MEANT = {("organiser-pass-on", "user_id"), ("identify", "by")}
SMUGGLED = dict.fromkeys(NEVER_SAID, "true") | {"status": "admitted", "roles": ["organiser"]}
# Ids, times, secrets and codes that the server makes differ from one sending to the next.
DIFFERS = re.compile(
    r"data:image/[^\"]*|[0-9a-f]{8}-[0-9a-f-]{27}|\d{4}-\d\d-\d\dT[\d:.]+Z?|[\w-]{30,}"
)


@pytest.fixture
def caller() -> Caller:
    cache.clear()
    return Caller(populate("isle"))


def names_in(schema: Any) -> Iterator[str]:
    """Yield the name of each field of a body, however deep."""
    whole = resolved(schema)
    for name, part in whole.get("properties", {}).items():
        yield name
        yield from names_in(part)
    if "items" in whole:
        yield from names_in(whole["items"])


def test_no_body_has_a_field_that_only_the_server_may_say() -> None:
    said = {
        (route.name, name)
        for route, _, schema in bodies()
        for name in names_in(schema)
        if name in NEVER_SAID
    }
    assert said == MEANT


def test_what_is_smuggled_along_changes_no_answer_of_any_write(caller: Caller) -> None:
    wrong, arrived = [], 0
    for route, method, schema in bodies():
        body = caller.example(schema)
        if not isinstance(body, dict):
            continue
        key = str(uuid4())
        plain = answered(caller, route, method, body, key)
        laden = answered(caller, route, method, {**SMUGGLED, **body}, key)
        arrived += plain[0] < 300
        if plain != laden:
            wrong.append(f"{method} {route.name}: {plain} became {laden}")
    assert not wrong, "\n".join(wrong)
    assert arrived > 20, "too few writes got as far as to listen"


def answered(
    caller: Caller, route: Walked, method: str, body: dict[str, Any], key: str
) -> tuple[int, str]:
    """Return what a write answers, without what differs each time; nothing of it is kept."""
    with transaction.atomic():
        answer = caller.send(route, method, as_json(body), **{"Idempotency-Key": key})
        transaction.set_rollback(True)
    said = json.dumps(json.loads(answer.content)) if answer.content else ""
    return answer.status_code, DIFFERS.sub("…", said)
