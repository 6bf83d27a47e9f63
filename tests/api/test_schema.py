"""The description of the API is valid, complete and without doubt."""

import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from openapi_spec_validator import OpenAPIV31SpecValidator

from api.rights import RIGHTS
from tests.api.openapi import document
from tests.api.walk import Walked, routes

DESCRIBED = [route for route in routes() if route.name != "schema"]  # it does not describe itself


def operation(route: Walked, method: str) -> dict[str, Any]:
    described: dict[str, Any] = document()["paths"]["/" + route.template][method.lower()]
    return described


def test_the_document_is_valid_openapi_3_1() -> None:
    whole = json.loads(json.dumps(document()))
    assert whole["openapi"].startswith("3.1")
    assert list(OpenAPIV31SpecValidator(whole).iter_errors()) == []


def test_it_is_made_without_warnings() -> None:
    made = StringIO()
    call_command("spectacular", "--validate", "--fail-on-warn", stdout=made, stderr=made)


def test_it_describes_every_route_and_method_and_no_other() -> None:
    paths = document()["paths"]
    assert set(paths) == {"/" + route.template for route in DESCRIBED}
    for route in DESCRIBED:
        assert set(paths["/" + route.template]) == {m.lower() for m in RIGHTS[route.name]}


def test_each_operation_has_a_name_of_its_own() -> None:
    names = [
        operation["operationId"]
        for methods in document()["paths"].values()
        for operation in methods.values()
    ]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("route", DESCRIBED, ids=lambda route: route.name)
def test_each_operation_tells_its_refusals_and_the_key_it_wants(route: Walked) -> None:
    for method in route.methods:
        described = operation(route, method)
        refusal = described["responses"]["4XX"]["content"]["application/problem+json"]
        assert refusal["schema"] == {"$ref": "#/components/schemas/Problem"}
        headers = {p["name"] for p in described.get("parameters", []) if p["in"] == "header"}
        wants_key = getattr(route.handler(method), "is_write_once", False)
        assert ("Idempotency-Key" in headers) == wants_key


@pytest.mark.django_db
def test_anyone_may_read_it() -> None:
    answer = Client().get("/api/v1/schema/")
    assert answer.status_code == 200
    assert answer.json()["info"]["title"] == "Millrace"
