"""What an organiser chooses for the whole community."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import write_once
from network.people import services
from network.people.models import Community
from network.people.queries import community_of


class CommunitySettingsSerializer(serializers.Serializer[Community]):
    """For how many days a photo taken at a visit is kept; those taken before keep their time."""

    photos_kept_days = serializers.IntegerField(min_value=1, max_value=services.PHOTOS_DAYS_MAX)


class CommunitySettingsView(CommunityView):
    """The community's settings."""

    serializer_class = CommunitySettingsSerializer

    @extend_schema(operation_id="community_settings_read")
    def get(self, request: Request, community: str) -> Response:
        return self._answer()

    @extend_schema(operation_id="community_settings_change")
    @write_once
    def put(self, request: Request, community: str) -> Response:
        sent = CommunitySettingsSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        settings: dict[str, Any] = sent.validated_data
        services.change_community(self.actor, **settings)
        return self._answer()

    def _answer(self) -> Response:
        return Response(CommunitySettingsSerializer(community_of(self.actor)).data)
