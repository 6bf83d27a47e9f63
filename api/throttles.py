"""How often one address may try what needs no sign-in; nobody else's tries count against it."""

from rest_framework.request import Request
from rest_framework.throttling import SimpleRateThrottle
from rest_framework.views import APIView


class SecretThrottle(SimpleRateThrottle):
    """For addresses that hold a secret: links that sign in, invitations, calendars.

    The limit is on who asks, never on what is asked for, so that nobody can lock another out.
    """

    scope = "secret"

    def get_cache_key(self, request: Request, view: APIView) -> str:
        """Count by where the connection came from; what a header says can be made up."""
        # A server that is called within its own process states none: those count as one.
        here = request.META.get("REMOTE_ADDR", "")
        return self.cache_format % {"scope": self.scope, "ident": here}
