"""What every operation has in common: the key of a write, and refusals as problem details."""

from typing import Any

from django.conf import settings
from drf_spectacular.extensions import (
    OpenApiAuthenticationExtension,
    OpenApiSerializerFieldExtension,
)
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import Direction, OpenApiParameter
from rest_framework import serializers

from api.idempotency import HEADER
from api.problems import MEDIA_TYPE


class FieldProblemSerializer(serializers.Serializer[Any]):
    """What is wrong with one field, and the mend."""

    field = serializers.CharField()
    detail = serializers.CharField()
    mend = serializers.CharField(allow_blank=True)


class ProblemSerializer(serializers.Serializer[Any]):
    """A problem detail (RFC 9457); some kinds have further members."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    code = serializers.CharField()
    instance = serializers.CharField(required=False)
    # The framework's own `errors` are those of reading; nothing is read by this serializer.
    errors = FieldProblemSerializer(many=True)  # type: ignore[assignment]


CLOCK = "^([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?$"
KEY = OpenApiParameter(
    HEADER,
    type={"type": "string", "format": "uuid"},
    location=OpenApiParameter.HEADER,
    required=True,
    description="A UUIDv7 made before sending; sent again, it gets the first answer again.",
)


class _SessionScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]  # registers
    """The session cookie; an unsafe request also sends the csrftoken cookie as `X-CSRFToken`."""

    target_class = "api.permissions.Session"
    name = "session"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        """Return where the cookie is."""
        return {"type": "apiKey", "in": "cookie", "name": settings.SESSION_COOKIE_NAME}


class _MachineScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]  # registers
    """A machine's token."""

    target_class = "api.machines.Machine"
    name = "machine"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        """Return where the token is."""
        return {"type": "http", "scheme": "bearer"}


class _SharedDevice(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]  # registers
    """What a shared device at a place shows."""

    target_class = "api.counters.SharedDevice"
    name = "shared_device"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        """Return where it is."""
        return {"type": "apiKey", "in": "header", "name": "Authorization"}


class _ClockScheme(OpenApiSerializerFieldExtension):  # type: ignore[no-untyped-call]  # registers
    """A time by a place's own clock, which is not the `time` of JSON Schema: that has an offset."""

    target_class = "rest_framework.serializers.TimeField"
    match_subclasses = True

    def map_serializer_field(self, auto_schema: AutoSchema, direction: Direction) -> dict[str, str]:
        """Return the shape of `08:30`; seconds are read too."""
        return {"type": "string", "pattern": CLOCK}


class Schema(AutoSchema):
    """Describes an operation; problem details and the key need no word in the views."""

    def get_override_parameters(self) -> list[Any]:
        """Return the header that a write needs."""
        handler = getattr(self.view, self.method.lower(), None)
        return [KEY] if getattr(handler, "is_write_once", False) else []

    def _get_response_bodies(self, direction: Direction = "response") -> dict[str, Any]:
        bodies: dict[str, Any] = super()._get_response_bodies(direction)
        refusal: dict[str, Any] = self._get_response_for_code(  # type: ignore[no-untyped-call]
            ProblemSerializer, "4XX", [MEDIA_TYPE]
        )
        return {**bodies, "4XX": {**refusal, "description": "What was refused, and the mend."}}
