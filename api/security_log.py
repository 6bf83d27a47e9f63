"""Who signed in and out, and what was refused: one line each, without addresses or secrets.

People stand in it by their id, and addresses by the name of their route: a path may hold a secret.
"""

import logging
from collections.abc import Callable
from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.http import HttpRequest, HttpResponse

from network.people.models import User

_log = logging.getLogger("millrace.security")
_REFUSED = {401, 403, 429}
# While somebody signs in, 401 says what comes next, and 400 that it was wrong.
_REFUSED_AT_THE_DOOR = {400, 403, 429}


def note_sign_ins() -> None:
    """Log from now on whenever somebody signs in or out, by whatever way."""
    user_logged_in.connect(_signed_in, dispatch_uid="security-log")
    user_logged_out.connect(_signed_out, dispatch_uid="security-log")


def refusals_logged(get_response: Callable[[HttpRequest], HttpResponse]) -> Any:
    """Log each request that was refused for who asked, or for how often."""

    def handle(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        refused = _REFUSED_AT_THE_DOOR if request.path.startswith("/_allauth/") else _REFUSED
        if response.status_code in refused:
            _log.warning(
                "refused %s: %s %s, person %s, from %s",
                response.status_code,
                request.method,
                request.resolver_match.view_name if request.resolver_match else "no route",
                _id_of(getattr(request, "user", None)),
                request.META.get("REMOTE_ADDR"),
            )
        return response

    return handle


def _signed_in(request: HttpRequest, user: User, **_: Any) -> None:
    _log.info("signed in: person %s, from %s", user.pk, request.META.get("REMOTE_ADDR"))


def _signed_out(request: HttpRequest, user: User | None, **_: Any) -> None:
    _log.info("signed out: person %s, from %s", _id_of(user), request.META.get("REMOTE_ADDR"))


def _id_of(user: Any) -> str:
    return str(user.pk) if user is not None and user.pk else "nobody"
