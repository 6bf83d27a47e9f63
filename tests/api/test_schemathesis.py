"""What the description promises is held: schemathesis makes up requests, and reads the answers."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

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

from api.wsgi import application
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


def headers_of(user: User) -> dict[str, str]:
    browser = Client()
    browser.force_login(user)
    browser.get("/api/v1/session/")
    cookies = "; ".join(f"{name}={crumb.value}" for name, crumb in browser.cookies.items())
    return {"Cookie": cookies, "X-CSRFToken": browser.cookies["csrftoken"].value}


def real_path(route: Walked, isle: Populated) -> dict[str, str]:
    """Return path parameters that name something that is there."""
    values = {"slug": isle.community.slug}
    if route.subject is not None:
        row = route.subject._default_manager.filter(community=isle.community).first()
        assert row is not None
        values["uuid"] = str(row.id)
    return {name: values[kind] for name, kind in route.converters.items() if kind in values}


def broken_promises(operation: Any, path: dict[str, str], headers: dict[str, str]) -> Iterator[str]:
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
        case.call_and_validate(headers=headers, checks=CHECKS)

    try:
        attempt()
    except Exception as broken:  # whatever it is, the others are tried too
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
    headers = headers_of(somebody_of_everything(isle))
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
            broken += broken_promises(operation, path, headers)
            count += 1
    assert count
    assert not broken, "\n\n".join(broken)
