"""Every refusal is a problem detail (RFC 9457), from wherever it comes."""

import json
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.db import DataError, IntegrityError, OperationalError
from django.http import Http404
from django.test import Client, RequestFactory
from psycopg import errors as postgres
from rest_framework import exceptions, serializers

from api import problems
from network.errors import (
    AlreadyBooked,
    Conflict,
    DifferentBody,
    Expired,
    InvalidInput,
    MillraceError,
    NotAllowed,
    NotEnough,
    NotFound,
    WrongState,
)

MEMBERS = {"type", "title", "status", "detail", "code", "errors"}


def answer_to(exc: Exception) -> dict[str, Any]:
    answer = problems.problem_response(exc, {"request": RequestFactory().get("/here")})
    assert answer is not None
    assert answer.content_type == problems.MEDIA_TYPE
    body: dict[str, Any] = json.loads(json.dumps(answer.data))
    assert body["status"] == answer.status_code
    assert body.keys() >= MEMBERS | {"instance"}
    return body


@pytest.mark.parametrize(
    ("kind", "status"),
    [
        (InvalidInput, 422),
        (NotAllowed, 403),
        (NotFound, 404),
        (Conflict, 409),
        (AlreadyBooked, 409),
        (WrongState, 409),
        (DifferentBody, 409),
        (NotEnough, 409),
        (Expired, 410),
    ],
)
def test_each_refusal_of_the_trade_has_its_status_and_says_why(
    kind: type[MillraceError], status: int
) -> None:
    body = answer_to(kind())
    assert (body["status"], body["code"]) == (status, kind.code)
    assert body["type"] == f"/problems/{kind.code}"
    assert body["detail"] == kind.__doc__


def test_a_refusal_names_field_and_mend_and_carries_its_numbers() -> None:
    refusal = InvalidInput.of("mass_g", "It is below zero.", "Send grams above zero.")
    refusal.extra = {"left_g": 3, "status": 200}
    body = answer_to(refusal)
    assert body["errors"] == [
        {"field": "mass_g", "detail": "It is below zero.", "mend": "Send grams above zero."}
    ]
    assert body["left_g"] == 3
    assert body["status"] == 422  # what a refusal adds never hides a standard member


class WindowSerializer(serializers.Serializer[Any]):
    opens = serializers.TimeField()


class PlaceSerializer(serializers.Serializer[Any]):
    name = serializers.CharField(max_length=3)
    kind = serializers.ChoiceField(["school"])
    windows = WindowSerializer(many=True)


def test_nested_faults_are_named_by_their_path_each_with_a_mend() -> None:
    sent = PlaceSerializer(data={"name": "long", "kind": "x", "windows": [{}, {"opens": "noon"}]})
    with pytest.raises(exceptions.ValidationError) as refused:
        sent.is_valid(raise_exception=True)
    errors = answer_to(refused.value)["errors"]
    assert {error["field"] for error in errors} == {
        "name",
        "kind",
        "windows[0].opens",
        "windows[1].opens",
    }
    assert all(error["mend"] for error in errors)


def test_a_body_that_is_no_object_is_named_as_the_body() -> None:
    with pytest.raises(exceptions.ValidationError) as refused:
        PlaceSerializer(data=[]).is_valid(raise_exception=True)
    (error,) = answer_to(refused.value)["errors"]
    assert error["field"] == "body"


@pytest.mark.parametrize(
    ("exc", "status"),
    [
        (Http404(), 404),
        (PermissionDenied(), 403),
        (RequestDataTooBig(), 413),
        (exceptions.MethodNotAllowed("PUT"), 405),
        (exceptions.ParseError("no JSON"), 400),
        (exceptions.UnsupportedMediaType("text/plain"), 415),
        (exceptions.NotAcceptable(), 406),
        (exceptions.Throttled(wait=3), 429),
    ],
)
def test_refusals_of_the_framework_are_problem_details_too(exc: Exception, status: int) -> None:
    assert answer_to(exc)["status"] == status


def _of_database(kind: type[Exception], cause: Exception) -> Exception:
    exc = kind()
    exc.__cause__ = cause
    return exc


@pytest.mark.parametrize(
    ("kind", "cause", "code"),
    [
        (IntegrityError, postgres.UniqueViolation(), "conflict"),
        (IntegrityError, postgres.ExclusionViolation(), "conflict"),
        (OperationalError, postgres.DeadlockDetected(), "conflict"),
        (DataError, postgres.NumericValueOutOfRange(), "invalid_input"),
    ],
)
def test_what_only_the_database_can_see_is_a_refusal(
    kind: type[Exception], cause: Exception, code: str
) -> None:
    assert answer_to(_of_database(kind, cause))["code"] == code


@pytest.mark.parametrize(
    "exc",
    [
        ZeroDivisionError(),
        _of_database(IntegrityError, postgres.CheckViolation()),
        _of_database(OperationalError, postgres.AdminShutdown()),
        IntegrityError(),
    ],
)
def test_a_broken_invariant_is_no_refusal_and_crashes(exc: Exception) -> None:
    assert problems.problem_response(exc, {}) is None


@pytest.mark.django_db
def test_an_address_that_there_is_not_is_told_as_a_problem() -> None:
    answer = Client().get("/api/v1/no-such-thing/")
    assert answer.status_code == 404
    assert answer.headers["Content-Type"] == problems.MEDIA_TYPE
    assert answer.json()["instance"] == "/api/v1/no-such-thing/"


@pytest.mark.django_db
def test_a_request_for_another_host_is_told_as_a_problem() -> None:
    answer = Client().get("/api/v1/communities/", headers={"host": "elsewhere.example"})
    assert (answer.status_code, answer.json()["code"]) == (400, "bad_request")


@pytest.mark.django_db
def test_a_crash_tells_nothing_of_what_broke(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("secret of the house")

    monkeypatch.setattr("api.base.asking_in", broken)
    answer = Client(raise_request_exception=False).get("/api/v1/communities/isle/")
    assert answer.status_code == 500
    assert answer.headers["Content-Type"] == problems.MEDIA_TYPE
    assert "secret" not in answer.content.decode()


@pytest.mark.django_db
def test_a_stranger_is_asked_to_sign_in_rather_than_forbidden() -> None:
    answer = Client().delete("/api/v1/session/")
    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"] == "Session"
