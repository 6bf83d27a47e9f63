"""A person's browser, as the tests of places need it."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django.test import Client

from network.people.core.actor import Actor
from network.people.models import Community, User


@dataclass(frozen=True, kw_only=True)
class Browser:
    """Calls the addresses of one community as one person, or as nobody."""

    client: Client
    root: str

    def get(self, path: str, **query: str | float) -> Any:
        """Return the answer to a read."""
        return self.client.get(self.root + path, {k: str(v) for k, v in query.items()})

    def send(
        self, path: str, body: object, *, key: UUID | None = None, method: str = "post"
    ) -> Any:
        """Return the answer to a write; each has a key of its own unless one is given."""
        return getattr(self.client, method)(
            self.root + path,
            body,
            content_type="application/json",
            headers={"Idempotency-Key": str(key or uuid4())},
        )

    def upload(self, path: str, file: object, *, key: UUID | None = None) -> Any:
        """Return the answer to a file."""
        headers = {"Idempotency-Key": str(key or uuid4())}
        return self.client.post(self.root + path, {"file": file}, headers=headers)


def browse(community: Community, actor: Actor | None = None) -> Browser:
    """Return a browser in which that person is signed in."""
    client = Client()
    if actor is not None and actor.user_id is not None:
        client.force_login(
            User.objects.get(id=actor.user_id), backend="sesame.backends.ModelBackend"
        )
    return Browser(client=client, root=f"/api/v1/communities/{community.slug}/")
