"""What every view of a community has: the community, and who is asking."""

from functools import cached_property
from typing import Any
from uuid import UUID

from rest_framework.exceptions import NotAuthenticated
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.views import APIView

from network.people.core.actor import Actor
from network.people.models import Community
from network.people.queries import actor_in, community_by_slug


def person_id(request: Request) -> UUID:
    """Return who is asking; raises NotAuthenticated where nobody is signed in."""
    if request.user.pk is None:
        raise NotAuthenticated
    return request.user.pk


class CommunityMixin(APIView):
    """A view under `/communities/{community}/`; `actor` is whoever is asking, in that community."""

    @cached_property
    def community(self) -> Community:
        return community_by_slug(self.kwargs["community"])

    @cached_property
    def actor(self) -> Actor:
        user_id: UUID | None = self.request.user.pk
        return actor_in(community=self.community, user_id=user_id)


class CommunityView(CommunityMixin, GenericAPIView[Any]):
    """A view of a community with a serializer, filters and pages."""
