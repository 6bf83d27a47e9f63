"""How often one may ask: by address without a sign-in, by person with one; no others' count."""

from typing import TYPE_CHECKING

from django.core.cache import caches
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.throttling import SimpleRateThrottle

if TYPE_CHECKING:  # it looks these limits up itself while it is imported
    from rest_framework.views import APIView


class SecretThrottle(SimpleRateThrottle):
    """For addresses that hold a secret: links that sign in, invitations, calendars.

    The limit is on who asks, never on what is asked for, so that nobody can lock another out.
    """

    scope = "secret"

    def get_cache_key(self, request: Request, view: "APIView") -> str:
        """Count by where the connection came from; what a header says can be made up."""
        # A server that is called within its own process states none: those count as one.
        here = request.META.get("REMOTE_ADDR", "")
        return self.cache_format % {"scope": self.scope, "ident": here}


class WriteThrottle(SimpleRateThrottle):
    """For what a person or their machine writes, on whatever devices.

    Far above what hands can do, and above a phone that sends a day's work at once; what is beyond
    it waits in the outbox, which tries again.
    """

    scope = "write"
    cache = caches["writes"]

    def get_cache_key(self, request: Request, view: "APIView") -> str | None:
        """Count by person; None for reads, and for who is not signed in."""
        if request.method in SAFE_METHODS or request.user.pk is None:
            return None
        return self.cache_format % {"scope": self.scope, "ident": request.user.pk}
