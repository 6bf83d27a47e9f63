"""What every view of a community has: the community, and who is asking."""

from functools import cached_property
from typing import Any
from uuid import UUID

from rest_framework.exceptions import NotAuthenticated
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.views import APIView

from network.people.asking import asking_in
from network.people.core.actor import Actor
from network.people.models import Community


def person_id(request: Request) -> UUID:
    """Return who is asking; raises NotAuthenticated where nobody is signed in."""
    if request.user.pk is None:
        raise NotAuthenticated
    return request.user.pk


class CommunityMixin(APIView):
    """A view under `/communities/{community}/`; `actor` is whoever is asking, in that community."""

    @property
    def community(self) -> Community:
        return self._asking[0]

    @property
    def actor(self) -> Actor:
        return self._asking[1]

    @cached_property
    def _asking(self) -> tuple[Community, Actor]:
        return asking_in(self.kwargs["community"], self.request.user.pk)


class CommunityView(CommunityMixin, GenericAPIView[Any]):
    """A view of a community with a serializer, filters and pages."""
