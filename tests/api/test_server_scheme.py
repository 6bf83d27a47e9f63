"""Behind a proxy that speaks TLS the server's own addresses are https, as on printed labels."""

import socket
from typing import Any

import pytest
from django.conf import settings

from api.server.web import answer


class Stopped(Exception):
    """The server is not started: what it would be started with is enough."""


@pytest.mark.parametrize(("behind_tls", "scheme"), [(True, "https"), (False, "http")])
def test_addresses_have_the_scheme_that_people_see(
    behind_tls: bool, scheme: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    started: dict[str, Any] = {}

    def create_server(*_: object, **options: Any) -> None:
        started.update(options)
        raise Stopped

    monkeypatch.setattr("waitress.create_server", create_server)
    monkeypatch.setattr(settings, "BEHIND_TLS", behind_tls)
    with socket.socket() as held, pytest.raises(Stopped):
        answer(held, when_ready=lambda: None)
    assert started["url_scheme"] == scheme
