"""Machines sign each request with a token, and may do less than the person they act for."""

from django.utils import timezone
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from network.people.asking import usable_machine_token
from network.people.models import MachineToken, User
from network.people.services import note_token_use

SCHEME = b"bearer"
PARTS = 2
# Accounts, roles and secrets are a person's own business.
NOT_FOR_MACHINES = frozenset(
    {
        "account",
        "account-data",
        "account-erase",
        "calendar-feed-revoke",
        "calendar-feeds",
        "community-leave",
        "counter-revoke",
        "counters",
        "invitation-accept",
        "invitations",
        "machine-token-revoke",
        "machine-tokens",
        "membership-end",
        "notice-choices",
        "organiser-pass-on",
        "push-device-remove",
        "push-devices",
        "session",
        "session-link",
        "trail",
        "webhook-stop",
        "webhook-try",
        "webhooks",
    }
)


class Machine(BaseAuthentication):
    """`Authorization: Bearer …`; a token that opens nothing is refused, even where all may read."""

    def authenticate(self, request: Request) -> tuple[User, MachineToken] | None:
        """Return the owner and the token; None where no token is sent."""
        parts = get_authorization_header(request).split()
        if not parts or parts[0].lower() != SCHEME:
            return None
        now = timezone.now()
        secret = parts[1].decode(errors="replace") if len(parts) == PARTS else ""
        token = usable_machine_token(secret, at=now)
        if token is None:
            raise AuthenticationFailed("This token has expired, was taken back, or never was.")
        note_token_use(token, at=now)
        return token.owner, token

    def authenticate_header(self, request: Request) -> str:
        """Return what a refused request should have sent."""
        return "Bearer"


def machine_may(token: MachineToken, *, route: str, method: str, community: str | None) -> bool:
    """Whether a token is for such a request at all; the owner's rights are asked besides."""
    if route in NOT_FOR_MACHINES or (method != "GET" and not token.may_write):
        return False
    return community is None or community == token.community.slug
