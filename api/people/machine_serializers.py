from typing import Any

from rest_framework import serializers

from network.people.models import MachineToken
from network.people.services import TOKEN_DAYS_MAX


class MachineTokenSerializer(serializers.ModelSerializer[MachineToken]):
    """A token as its owner sees it; `token` is the secret, in the first answer only."""

    token = serializers.CharField(allow_null=True, default=None)

    class Meta:
        model = MachineToken
        fields = [
            "id",
            "name",
            "may_write",
            "created_at",
            "expires_at",
            "last_used_at",
            "revoked_at",
            "token",
        ]


class NewMachineTokenSerializer(serializers.Serializer[Any]):
    """What the machine is called, and what its token is for."""

    name = serializers.CharField(max_length=80)
    may_write = serializers.BooleanField(required=False, default=False)
    valid_days = serializers.IntegerField(
        required=False, default=90, min_value=1, max_value=TOKEN_DAYS_MAX
    )
