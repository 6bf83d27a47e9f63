from __future__ import annotations

from typing import TYPE_CHECKING

from rest_framework.authentication import SessionAuthentication
from rest_framework.exceptions import PermissionDenied
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from api.machines import machine_may
from api.refusals import NotOurPage
from api.rights import COUNTER, PUBLIC, RIGHTS, SIGNED_IN
from network.people.core.actor import Actor
from network.people.models import MachineToken
from network.places.models import Counter

if TYPE_CHECKING:  # the framework's views load this module from the settings
    from rest_framework.views import APIView


class Session(SessionAuthentication):
    """A session cookie; naming the scheme makes the answer to a stranger 401 rather than 403."""

    def authenticate_header(self, request: Request) -> str:
        return "Session"

    def enforce_csrf(self, request: Request) -> None:
        """Raise NotOurPage without the token of our pages, also with one from before a sign-in.

        A device that kept work while its session ran out sends it again with the token of now.
        """
        try:
            super().enforce_csrf(request)
        except PermissionDenied as refused:
            raise NotOurPage(str(refused.detail)) from None


class RightsTable(BasePermission):
    """Allows what the rights table allows; rows that a role may see are the queries' business."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        match = request.resolver_match
        method = "GET" if request.method in {"HEAD", "OPTIONS"} else str(request.method)
        route = (match.url_name or "") if match else ""
        if isinstance(request.auth, MachineToken) and not machine_may(
            request.auth,
            route=route,
            method=method,
            community=view.kwargs.get("community"),
        ):
            return False
        allowed = RIGHTS.get(route, {}).get(method, set())
        if isinstance(request.auth, Counter):
            here = view.kwargs.get("community") == request.auth.community.slug
            return here and COUNTER in allowed
        if PUBLIC in allowed:
            return True
        if not request.user.is_authenticated:
            return False
        if SIGNED_IN in allowed:
            return True
        actor: Actor | None = getattr(view, "actor", None)
        return actor is not None and not actor.roles.isdisjoint(allowed)
