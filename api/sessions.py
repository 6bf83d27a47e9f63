"""Sessions whose cookie is taken away by signing out only."""

from django.contrib.sessions.middleware import SessionMiddleware
from django.http import HttpRequest, HttpResponse
from django.utils.cache import patch_vary_headers


class KeepingCookies(SessionMiddleware):
    """Leaves the cookie of a session that is gone where it is.

    The framework deletes it on every answer to such a request. One that was asked before somebody
    signed in, and answered after, would then take the new session's cookie away.
    """

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        """Set or delete the cookie where this request changed its session."""
        session = request.session
        if session.modified or not session.is_empty():
            return super().process_response(request, response)
        if session.accessed:
            patch_vary_headers(response, ("Cookie",))
        return response
