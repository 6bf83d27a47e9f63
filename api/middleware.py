"""Refuses, before anything reads it, what no view could use."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from api.problems import problem, problem_json, too_big
from network.errors import FieldError

Handler = Callable[[HttpRequest], HttpResponse]


def unusable_requests_refused(get_response: Handler) -> Handler:
    """Answer a body that is too large, or a NUL in the query, with a problem detail."""

    def handle(request: HttpRequest) -> HttpResponse:
        if _length_of(request) > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            return problem_json(request, too_big())
        if "%00" in request.META.get("QUERY_STRING", ""):
            return problem_json(request, _nul_in_query())
        return get_response(request)

    return handle


def _length_of(request: HttpRequest) -> int:
    stated = request.META.get("CONTENT_LENGTH") or "0"
    # The server has refused a length that is no number; what is left of it here reads nothing.
    return int(stated) if stated.isdecimal() else 0


def _nul_in_query() -> dict[str, object]:
    return problem(
        status=422,
        code="invalid_input",
        detail="The query has a character that cannot be looked for.",
        errors=[
            FieldError(field="query", detail="It has a NUL character.", mend="Take %00 out of it.")
        ],
    )
