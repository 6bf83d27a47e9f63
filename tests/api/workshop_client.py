"""A signed-in person's way to the workshop of one community."""

from http import HTTPStatus
from typing import Any
from uuid import uuid4

from django.test import Client

from network.people.core.actor import Actor
from network.people.models import User
from tests.services.workshop_story import Workshop


class Api:
    """A signed-in person's way to one community."""

    def __init__(self, shop: Workshop, actor: Actor | None = None) -> None:
        self.client = Client()
        if actor is not None and actor.user_id is not None:
            self.client.force_login(User.objects.get(id=actor.user_id))
        self.root = f"/api/v1/communities/{shop.story.community.slug}/"

    def get(self, path: str, **query: str) -> Any:
        answer = self.client.get(self.root + path, query)
        assert answer.status_code == HTTPStatus.OK, answer.content
        return answer.json()

    def send(self, path: str, body: object, method: str = "post", key: str = "") -> Any:
        return getattr(self.client, method)(
            self.root + path,
            body,
            content_type="application/json",
            headers={"Idempotency-Key": key or str(uuid4())},
        )

    def made(self, path: str, body: object, method: str = "post") -> Any:
        answer = self.send(path, body, method)
        assert answer.status_code in {HTTPStatus.OK, HTTPStatus.CREATED}, answer.content
        return answer.json()

    def refused(self, path: str, body: object, method: str = "post") -> Any:
        answer = self.send(path, body, method)
        assert answer.status_code in {HTTPStatus.CONFLICT, HTTPStatus.UNPROCESSABLE_ENTITY}
        return answer.json()


def heat(shop: Workshop, **changes: object) -> dict[str, object]:
    return {
        "press_id": str(shop.press.id),
        "resin": "PE-HD",
        "thickness_um": 12_000,
        "width_mm": 250,
        "length_mm": 200,
        "pressure_kpa": 900,
        **changes,
    }
