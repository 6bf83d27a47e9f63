"""Every refusal is an RFC 9457 problem detail that names the field and the mend."""

from collections.abc import Iterator, Mapping, Sequence
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.db import DatabaseError
from django.http import Http404, HttpRequest, JsonResponse
from psycopg import errors as postgres
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from api.languages import answer_in_language
from api.refusals import NotOurPage
from network.errors import Conflict, DifferentBody, FieldError, InvalidInput, MillraceError

MEDIA_TYPE = "application/problem+json"


def problem(
    *,
    status: int,
    code: str,
    detail: str,
    errors: Sequence[FieldError] = (),
    extra: Mapping[str, object] | None = None,
) -> dict[str, object]:
    """Return the members of a problem detail (RFC 9457 §3) with our `code` and `errors`."""
    return {
        **(extra or {}),
        "type": f"/problems/{code}",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "code": code,
        "errors": [{"field": e.field, "detail": e.detail, "mend": e.mend} for e in errors],
    }


def problem_response(exc: Exception, context: Mapping[str, Any]) -> Response | None:
    """Turn an exception of a view into a problem detail; an unexpected one is left to crash."""
    body = _body(_of_database(exc) or exc)
    if body is None:
        return None
    set_rollback()
    headers = {}
    if auth_header := getattr(exc, "auth_header", None):
        headers["WWW-Authenticate"] = str(auth_header)
    if wait := getattr(exc, "wait", None):
        headers["Retry-After"] = str(int(wait) + 1)
    request = context.get("request")
    if request is not None:
        body["instance"] = request.path
    return Response(body, status=int(str(body["status"])), headers=headers, content_type=MEDIA_TYPE)


def _body(exc: Exception) -> dict[str, object] | None:
    if isinstance(exc, MillraceError):
        return _refusal(exc)
    if isinstance(exc, exceptions.ValidationError):
        errors = list(_field_errors(exc.detail))
        detail = "Some of what was sent cannot be used."
        return problem(status=422, code="invalid_input", detail=detail, errors=errors)
    if isinstance(exc, exceptions.APIException):
        return problem(
            status=exc.status_code,
            code=str(exc.default_code),
            detail=str(exc.detail),
            errors=_request_errors(exc),
        )
    return _django_body(exc)


def _refusal(exc: MillraceError) -> dict[str, object]:
    return problem(
        status=exc.status, code=exc.code, detail=exc.detail, errors=exc.fields, extra=exc.extra
    )


def _request_errors(exc: exceptions.APIException) -> list[FieldError]:
    """Name the part of the request that could not be read."""
    if isinstance(exc, exceptions.ParseError):
        mend = "Send what the API describes, in UTF-8."
        return [FieldError(field="body", detail=str(exc.detail), mend=mend)]
    if isinstance(exc, exceptions.UnsupportedMediaType):
        mend = "Send the content type that the API describes."
        return [FieldError(field="Content-Type", detail=str(exc.detail), mend=mend)]
    return []


_DATABASE_REFUSALS: Mapping[type[BaseException], MillraceError] = {
    postgres.UniqueViolation: Conflict("There is one like that already."),
    postgres.ExclusionViolation: Conflict("It overlaps with one that is there already."),
    postgres.DeadlockDetected: Conflict("Somebody changed the same thing just now. Try again."),
    postgres.NumericValueOutOfRange: InvalidInput.of(
        "body", "A number in it is too large to be kept.", "Check the units of the numbers."
    ),
}


def _of_database(exc: Exception) -> MillraceError | None:
    """Turn what only the database can see, such as two at once, into a refusal.

    Any other complaint of the database is a broken invariant, and crashes.
    """
    cause = exc.__cause__
    if not isinstance(exc, DatabaseError) or cause is None:
        return None
    if isinstance(cause, postgres.UniqueViolation):
        constraint = cause.diag.constraint_name or ""
        if constraint.endswith("_pkey"):
            return DifferentBody()
    return _DATABASE_REFUSALS.get(type(cause))


def _django_body(exc: Exception) -> dict[str, object] | None:
    if isinstance(exc, Http404):
        return problem(status=404, code="not_found", detail="There is no such thing here.")
    if isinstance(exc, PermissionDenied):
        return problem(status=403, code="not_allowed", detail="You may not do that.")
    return too_big() if isinstance(exc, RequestDataTooBig) else None


def too_big() -> dict[str, object]:
    """Return the problem of a body that is over the limit."""
    return problem(
        status=413,
        code="too_big",
        detail="What was sent is larger than 5 MB.",
        errors=[FieldError(field="body", detail="More than 5 MB.", mend="Send less at once.")],
    )


def _field_errors(detail: Any, path: str = "") -> Iterator[FieldError]:
    """Walk a serializer's nested errors and name each field by its path: `windows[0].opens`."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            yield from _field_errors(inner, _path_to(path, name))
    elif isinstance(detail, list) and any(isinstance(x, Mapping | list) for x in detail):
        for index, inner in enumerate(detail):
            yield from _field_errors(inner, f"{path}[{index}]")
    else:
        for text in detail if isinstance(detail, list) else [detail]:
            yield FieldError(field=path or "body", detail=str(text), mend=_mend(text))


def _path_to(path: str, name: str | int) -> str:
    if name == "non_field_errors":
        return path
    # The framework numbers the members of a list that are wrong.
    if isinstance(name, int):
        return f"{path}[{name}]"
    return f"{path}.{name}" if path else name


_MENDS = {
    "required": "Send this field.",
    "blank": "Write something here.",
    "null": "Send a value here.",
    "does_not_exist": "Choose one that is listed for this community.",
    "invalid_choice": "Choose one of the listed values.",
    "max_length": "Shorten it.",
    "max_value": "Send a smaller number.",
    "min_value": "Send a larger number.",
}


def _mend(text: object) -> str:
    code = getattr(text, "code", "")
    return _MENDS.get(code, "Correct this and send it again.")


def problem_json(request: HttpRequest, body: Mapping[str, object]) -> JsonResponse:
    """Return a problem detail from outside of the views."""
    whole = answer_in_language({**body, "instance": request.path})
    return JsonResponse(whole, status=int(str(body["status"])), content_type=MEDIA_TYPE)


def bad_request(request: HttpRequest, exception: Exception) -> JsonResponse:
    """Answer a request that could not be read, such as one for another host."""
    detail = "The request cannot be understood."
    return problem_json(request, problem(status=400, code="bad_request", detail=detail))


def not_allowed(request: HttpRequest, exception: Exception) -> JsonResponse:
    """Answer what was forbidden outside of the views."""
    return problem_json(
        request, problem(status=403, code="not_allowed", detail="You may not do that.")
    )


def csrf_failure(request: HttpRequest, reason: str = "") -> JsonResponse:
    """Answer an unsafe request without the token that our own pages send."""
    return problem_json(request, _refusal(NotOurPage(reason)))


def not_found(request: HttpRequest, exception: Exception) -> JsonResponse:
    """Answer an address that is none of ours."""
    detail = "There is no such address here."
    return problem_json(request, problem(status=404, code="not_found", detail=detail))


def server_error(request: HttpRequest) -> JsonResponse:
    """Answer when something broke; what broke is in the log, not in the answer."""
    detail = "Something is broken on our side; what you sent was not saved. Try again later."
    return problem_json(request, problem(status=500, code="server_error", detail=detail))
