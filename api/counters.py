"""A shared device shows what it was given; it is nobody, and may do one thing at one place."""

from django.contrib.auth.models import AnonymousUser
from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from network.places.models import Counter
from network.places.queries.counters import usable_counter
from network.places.services.counters import note_counter_use

SCHEME = b"counter"
PARTS = 2


class SharedDevice(BaseAuthentication):
    """`Authorization: Counter …`; what opens nothing is refused, even where all may read."""

    def authenticate(self, request: Request) -> tuple[AnonymousUser, Counter] | None:
        """Return nobody, and the device; None where it shows nothing."""
        parts = get_authorization_header(request).split()
        if not parts or parts[0].lower() != SCHEME:
            return None
        now = timezone.now()
        secret = parts[1].decode(errors="replace") if len(parts) == PARTS else ""
        counter = usable_counter(secret, at=now)
        if counter is None:
            raise AuthenticationFailed("This device was taken back, or its time is over.")
        note_counter_use(counter, at=now)
        return AnonymousUser(), counter

    def authenticate_header(self, request: Request) -> str:
        """Return what a refused request should have sent."""
        return "Counter"
