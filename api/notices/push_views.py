"""The browsers on which a person is shown notices while the app is shut."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from network.notices import queries, services
from network.notices.models import PushDevice


class PushKeySerializer(serializers.Serializer[Any]):
    """The server's public key, which a browser subscribes with (`applicationServerKey`)."""

    key = serializers.CharField()


class PushDeviceSerializer(serializers.ModelSerializer[PushDevice]):
    """A browser that shows notices; where and how it is reached is not told again."""

    class Meta:
        model = PushDevice
        fields = ["id", "name", "created_at", "last_sent_at"]


class NewPushDeviceSerializer(serializers.Serializer[Any]):
    """A subscription as the browser gave it, and what the person calls the device."""

    endpoint = serializers.CharField(max_length=1000)
    p256dh = serializers.CharField(max_length=100)
    auth = serializers.CharField(max_length=40)
    name = serializers.CharField(max_length=80)


class PushKeyView(APIView):
    """The key that messages of this server are signed by."""

    @extend_schema(operation_id="push_key_read", responses=PushKeySerializer)
    def get(self, request: Request) -> Response:
        return Response({"key": services.push_key()})


class PushDevicesView(ListModelMixin, CommunityView):
    """The browsers of the person who asks."""

    serializer_class = PushDeviceSerializer
    queryset = PushDevice.objects.none()

    def get_queryset(self) -> QuerySet[PushDevice]:
        return queries.push_devices_of(self.actor)

    @extend_schema(operation_id="push_devices_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="push_device_add",
        request=NewPushDeviceSerializer,
        responses={201: PushDeviceSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = NewPushDeviceSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        device = services.add_push_device(
            self.actor, device_id=idempotency_key(request), **sent.validated_data
        )
        return Response(PushDeviceSerializer(device).data, status=201)


class PushDeviceRemoveView(CommunityView):
    """Shows nothing on a device any more."""

    @extend_schema(operation_id="push_device_remove", request=None, responses={204: None})
    @write_once
    def post(self, request: Request, community: str, device_id: UUID) -> Response:
        services.remove_push_device(self.actor, device_id=device_id)
        return Response(status=204)
