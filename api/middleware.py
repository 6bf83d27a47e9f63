"""Refuses, before anything reads it, what no view could use; says what browsers may do."""

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


# Everything comes from this server, and nothing is written into pages: no script, no style.
CONTENT_SECURITY_POLICY = "; ".join(
    [
        "default-src 'none'",
        # WebAssembly reads codes where the browser cannot; it lets no script be made of text.
        "script-src 'self' 'wasm-unsafe-eval'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ]
)
PERMISSIONS_POLICY = (
    "bluetooth=(self), camera=(self), geolocation=(self), microphone=(), payment=(), usb=()"
)


def secure_headers_added(get_response: Handler) -> Handler:
    """Tell browsers, with every answer, what a page of ours may load and do."""

    def handle(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        if request.path.startswith("/api/"):
            # No cache on the way keeps what a secret or a role opened, and a browser asks anew, so
            # that nobody sees what they may not any more.
            response.headers.setdefault("Cache-Control", "private, no-cache")
        return response

    return handle
