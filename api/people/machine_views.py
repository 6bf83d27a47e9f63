"""A person's tokens for machines."""

from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once, write_once_without
from api.people.machine_serializers import MachineTokenSerializer, NewMachineTokenSerializer
from network.people import queries, services
from network.people.models import MachineToken


class MachineTokensView(ListModelMixin, CommunityView):
    """The tokens of the person who asks, in this community."""

    serializer_class = MachineTokenSerializer
    queryset = MachineToken.objects.none()

    def get_queryset(self) -> QuerySet[MachineToken]:
        return queries.machine_tokens_of(self.actor)

    @extend_schema(operation_id="machine_tokens_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="machine_token_make",
        request=NewMachineTokenSerializer,
        responses={201: MachineTokenSerializer},
    )
    @write_once_without("token")
    def post(self, request: Request, community: str) -> Response:
        sent = NewMachineTokenSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        made, secret = services.make_machine_token(
            self.actor, token_id=idempotency_key(request), **sent.validated_data
        )
        return Response({**MachineTokenSerializer(made).data, "token": secret}, status=201)


class MachineTokenRevokeView(CommunityView):
    """Takes a token back."""

    @extend_schema(
        operation_id="machine_token_revoke", request=None, responses=MachineTokenSerializer
    )
    @write_once
    def post(self, request: Request, community: str, token_id: UUID) -> Response:
        token = services.revoke_machine_token(self.actor, token_id=token_id)
        return Response(MachineTokenSerializer(token).data)
