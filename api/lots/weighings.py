"""Weighings that a device has kept, sent together."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import write_once
from network.lots.services import GROSS_G_MAX, WEIGHINGS_MAX, Outcome, WeighIn, weigh_many

ARRIVED, REFUSED = "arrived", "refused"


class WeighInSerializer(serializers.Serializer[Any]):
    """A lot weighed at the workshop; the device makes the id when it keeps it."""

    id = serializers.UUIDField()
    lot_id = serializers.UUIDField()
    gross_g = serializers.IntegerField(min_value=1, max_value=GROSS_G_MAX)
    tare_g = serializers.IntegerField(min_value=0, max_value=GROSS_G_MAX)
    scale_id = serializers.UUIDField()
    at = serializers.DateTimeField()


class WeighInsSerializer(serializers.Serializer[Any]):
    """Weighings in the order in which they were made."""

    weighings = serializers.ListField(
        child=WeighInSerializer(), min_length=1, max_length=WEIGHINGS_MAX
    )


class WeighingOutcomeSerializer(serializers.Serializer[Outcome]):
    """What became of one weighing; a refusal says why, and may be mended and sent again."""

    id = serializers.UUIDField()
    outcome = serializers.ChoiceField([ARRIVED, REFUSED])
    code = serializers.CharField(allow_null=True)
    detail = serializers.CharField(allow_null=True)


class WeighingOutcomesSerializer(serializers.Serializer[Any]):
    """What became of each, in the order sent."""

    outcomes = WeighingOutcomeSerializer(many=True)


class WeighingsBatchView(CommunityView):
    """Takes many weighings at once; each arrives or is refused by itself, and once."""

    @extend_schema(
        operation_id="weighings_batch",
        request=WeighInsSerializer,
        responses=WeighingOutcomesSerializer,
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = WeighInsSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        weigh_ins = [WeighIn(**one) for one in sent.validated_data["weighings"]]
        outcomes = [_outcome(one) for one in weigh_many(self.actor, weigh_ins=weigh_ins)]
        return Response({"outcomes": outcomes})


def _outcome(one: Outcome) -> dict[str, str | None]:
    refusal = one.refusal
    return {
        "id": str(one.id),
        "outcome": REFUSED if refusal else ARRIVED,
        "code": refusal.code if refusal else None,
        "detail": refusal.detail if refusal else None,
    }
