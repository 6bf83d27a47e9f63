"""What the description promises is held: schemathesis makes up requests, and reads the answers."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from uuid import UUID

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import Client
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.idempotency import HEADER
from api.wsgi import application
from network.ids import new_id
from network.people.models import Role, User
from tests.api.walk import Walked, routes
from tests.factories import UserFactory, member
from tests.scenario import Populated, populate

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
EXAMPLES_MAX = 12
# Signing out would leave all that follows to a stranger; its own test is in test_people_session.
LEFT_OUT = {"sign_out"}
BY_TEMPLATE = {"/" + route.template: route for route in routes()}


def somebody_of_everything(isle: Populated) -> User:
    """Return a person whom no role keeps out, so that requests reach what is behind."""
    user: User = UserFactory.create()
    world = isle.round
    member(isle.community, Role.CONTACT, world.places[0].organisation, user)
    for role in (Role.DRIVER, Role.MAKER):
        member(isle.community, role, world.maker, user)
    return member(isle.community, Role.ORGANISER, None, user)


def cookies_of(user: User) -> dict[str, str]:
    browser = Client()
    browser.force_login(user)
    browser.get("/api/v1/session/")
    return {name: crumb.value for name, crumb in browser.cookies.items()}


def real_path(route: Walked, isle: Populated) -> dict[str, str]:
    """Return path parameters that name something that is there."""
    values = {"slug": isle.community.slug}
    if route.subject is not None:
        values["uuid"] = str(isle.row(route.subject).id)
    return {name: values[kind] for name, kind in route.converters.items() if kind in values}


def _is_key(text: object) -> bool:
    try:
        return bool(UUID(str(text)))
    except ValueError:
        return False


def broken_promises(operation: Any, path: dict[str, str], cookies: dict[str, str]) -> Iterator[str]:
    """Try one operation with made-up requests; say what it did against its description."""

    @given(case=operation.as_strategy())
    @settings(
        max_examples=EXAMPLES_MAX,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def attempt(case: Any) -> None:
        case.path_parameters = {**(case.path_parameters or {}), **path}
        case.cookies = cookies
        # It reads no answer that is compressed.
        plain = {"Accept-Encoding": "identity", "X-CSRFToken": cookies["csrftoken"]}
        case.headers = {**(case.headers or {}), **plain}
        if _is_key(case.headers.get(HEADER)):
            # Made-up keys repeat; a repeated one would only be told apart by its content.
            case.headers[HEADER] = str(new_id())
        answer = case.call()
        assert answer.status_code != 401, "Nobody was signed in, so that nothing was tried."
        case.validate_response(answer, checks=CHECKS)

    try:
        attempt()
    except (Exception, BaseExceptionGroup) as broken:  # all are told together at the end
        yield f"{operation.label}: {broken}"


@contextmanager
def one_connection() -> Iterator[None]:
    """Let requests to the server's application stay in the test's transaction."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.mark.django_db
def test_no_answer_breaks_what_the_description_promises() -> None:
    isle = populate("isle")
    cookies = cookies_of(somebody_of_everything(isle))
    broken: list[str] = []
    count = 0
    with one_connection():
        schema = schemathesis.openapi.from_wsgi("/api/v1/schema/", application)
        for found in schema.get_all_operations():
            assert isinstance(found, Ok), found
            operation = found.ok()
            if operation.definition.raw["operationId"] in LEFT_OUT:
                continue
            path = real_path(BY_TEMPLATE[operation.path], isle)
            broken += broken_promises(operation, path, cookies)
            count += 1
    assert count
    assert not broken, "\n\n".join(broken)
