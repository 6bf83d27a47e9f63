"""One person at the API."""

from typing import Any
from uuid import uuid4

from django.test import Client

from network.people.models import Role
from tests.factories import member
from tests.services.pickups_story import Round


class Caller:
    """One person at the API of one community."""

    def __init__(self, world: Round, role: Role, organisation: Any = None) -> None:
        self.client = Client()
        self.client.force_login(member(world.community, role, organisation))
        self.base = f"/api/v1/communities/{world.community.slug}/"

    def get(self, path: str, **query: str) -> Any:
        return self.client.get(self.base + path, query)

    def write(self, path: str, body: object, *, key: object = None, method: str = "post") -> Any:
        return getattr(self.client, method)(
            self.base + path,
            body,
            content_type="application/json",
            headers={"Idempotency-Key": str(key or uuid4())},
        )
