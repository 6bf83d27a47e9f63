"""Every refusal is an RFC 9457 problem detail that names the field and the mend."""

from collections.abc import Iterator, Mapping, Sequence
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404, HttpRequest, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from network.errors import FieldError, MillraceError

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
    body = _body(exc)
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
        return problem(
            status=exc.status, code=exc.code, detail=exc.detail, errors=exc.fields, extra=exc.extra
        )
    if isinstance(exc, exceptions.ValidationError):
        errors = list(_field_errors(exc.detail))
        detail = "Some of what was sent cannot be used."
        return problem(status=422, code="invalid_input", detail=detail, errors=errors)
    if isinstance(exc, exceptions.APIException):
        return problem(status=exc.status_code, code=str(exc.default_code), detail=str(exc.detail))
    return _django_body(exc)


def _django_body(exc: Exception) -> dict[str, object] | None:
    if isinstance(exc, Http404):
        return problem(status=404, code="not_found", detail="There is no such thing here.")
    if isinstance(exc, PermissionDenied):
        return problem(status=403, code="not_allowed", detail="You may not do that.")
    return _too_big() if isinstance(exc, RequestDataTooBig) else None


def _too_big() -> dict[str, object]:
    return problem(
        status=413,
        code="too_big",
        detail="What was sent is larger than 5 MB.",
        errors=[FieldError(field="body", detail="More than 5 MB.", mend="Send less at once.")],
    )


def _field_errors(detail: Any, path: str = "") -> Iterator[FieldError]:
    """Walk a serializer's nested errors and name each field by its dotted path."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            here = path if name == "non_field_errors" else f"{path}.{name}" if path else str(name)
            yield from _field_errors(inner, here)
    elif isinstance(detail, list) and any(isinstance(x, Mapping | list) for x in detail):
        for index, inner in enumerate(detail):
            yield from _field_errors(inner, f"{path}[{index}]")
    else:
        for text in detail if isinstance(detail, list) else [detail]:
            yield FieldError(field=path or "body", detail=str(text), mend=_mend(text))


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


def not_found(request: HttpRequest, exception: Exception) -> JsonResponse:
    body = problem(status=404, code="not_found", detail="There is no such address here.")
    return JsonResponse({**body, "instance": request.path}, status=404, content_type=MEDIA_TYPE)


def server_error(request: HttpRequest) -> JsonResponse:
    body = problem(
        status=500,
        code="server_error",
        detail="Something is broken on our side; what you sent was not saved. Try again later.",
    )
    return JsonResponse({**body, "instance": request.path}, status=500, content_type=MEDIA_TYPE)
