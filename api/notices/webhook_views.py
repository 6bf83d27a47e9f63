"""Machines that are told what happens, and the log of what they were told."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once, write_once_without
from network.notices import queries, services
from network.notices.models import Webhook, WebhookDelivery


class WebhookSerializer(serializers.ModelSerializer[Webhook]):
    """A webhook as its owner sees it; `secret` is in the first answer only."""

    owner = serializers.CharField()
    secret = serializers.CharField(allow_null=True, default=None)

    class Meta:
        model = Webhook
        fields = [
            "id",
            "name",
            "url",
            "owner",
            "created_at",
            "failing_since",
            "disabled_at",
            "stopped_at",
            "secret",
        ]


class NewWebhookSerializer(serializers.Serializer[Any]):
    """Where the machine is, over https, and what to call it."""

    name = serializers.CharField(max_length=80)
    url = serializers.CharField(max_length=1000)


class WebhookDeliverySerializer(serializers.ModelSerializer[WebhookDelivery]):
    """One thing that a machine was told; `id` is the `webhook-id` of every try."""

    class Meta:
        model = WebhookDelivery
        fields = [
            "id",
            "type",
            "subject_id",
            "created_at",
            "tries",
            "last_tried_at",
            "last_status",
            "last_fault",
            "delivered_at",
            "given_up_at",
        ]


class WebhooksView(ListModelMixin, CommunityView):
    """The webhooks of the person who asks; for an organiser, of everyone here."""

    serializer_class = WebhookSerializer
    queryset = Webhook.objects.none()

    def get_queryset(self) -> QuerySet[Webhook]:
        return queries.webhooks_seen_by(self.actor)

    @extend_schema(operation_id="webhooks_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="webhook_make",
        request=NewWebhookSerializer,
        responses={201: WebhookSerializer},
    )
    @write_once_without("secret")
    def post(self, request: Request, community: str) -> Response:
        sent = NewWebhookSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        webhook, secret = services.make_webhook(
            self.actor, webhook_id=idempotency_key(request), **sent.validated_data
        )
        return Response({**WebhookSerializer(webhook).data, "secret": secret}, status=201)


class WebhookStopView(CommunityView):
    """Tells a machine nothing any more."""

    @extend_schema(operation_id="webhook_stop", request=None, responses=WebhookSerializer)
    @write_once
    def post(self, request: Request, community: str, webhook_id: UUID) -> Response:
        webhook = services.stop_webhook(self.actor, webhook_id=webhook_id)
        return Response(WebhookSerializer(webhook).data)


class WebhookTryView(CommunityView):
    """Sends a machine something of the type `test`."""

    @extend_schema(
        operation_id="webhook_try", request=None, responses={202: WebhookDeliverySerializer}
    )
    @write_once
    def post(self, request: Request, community: str, webhook_id: UUID) -> Response:
        delivery = services.try_webhook(
            self.actor, webhook_id=webhook_id, delivery_id=idempotency_key(request)
        )
        return Response(WebhookDeliverySerializer(delivery).data, status=202)


class WebhookDeliveriesView(ListModelMixin, CommunityView):
    """What a machine was told in the last month, newest first, and what came of it."""

    serializer_class = WebhookDeliverySerializer
    queryset = WebhookDelivery.objects.none()

    def get_queryset(self) -> QuerySet[WebhookDelivery]:
        return queries.deliveries_of(self.actor, self.kwargs["webhook_id"])

    @extend_schema(operation_id="webhook_deliveries_list")
    def get(self, request: Request, community: str, webhook_id: UUID) -> Response:
        return self.list(request)
