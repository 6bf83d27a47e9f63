"""What a piece is, how much to look at, and which colour it has."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.workshop.common import OfMakerFilter, asked
from api.workshop.looking_serializers import (
    CertaintySerializer,
    ColourChangeSerializer,
    ColourMatchSerializer,
    ColourQuestionSerializer,
    ColourSerializer,
    EvidenceSerializer,
    HarmlessTestsSerializer,
    IdentificationSerializer,
    NewColourSerializer,
    SamplingPlanSerializer,
    SamplingQuestionSerializer,
    StepCautionsSerializer,
)
from network.workshop import services
from network.workshop.cautions import cautions_at_each_step
from network.workshop.models import (
    NamedColour,
)
from network.workshop.queries import seen
from network.workshop.queries.colours import PhotoReading, match_colour
from network.workshop.queries.identifying import (
    Evidence,
    FloatSaid,
    LiquidSaid,
    harmless_tests,
    identify,
)
from network.workshop.queries.limits import certainty_min_of
from network.workshop.queries.sampling import SamplingQuestion, sampling_plan


class WorkshopCautionsView(APIView):
    """What to heed at each step of the work."""

    @extend_schema(
        operation_id="workshop_cautions_list", responses=StepCautionsSerializer(many=True)
    )
    def get(self, request: Request) -> Response:
        return Response(StepCautionsSerializer(cautions_at_each_step(), many=True).data)


class IdentifyView(CommunityView):
    """What a piece is likely made of, by harmless looks only."""

    @extend_schema(operation_id="identify_tests", responses=HarmlessTestsSerializer)
    def get(self, request: Request, community: str) -> Response:
        return Response(HarmlessTestsSerializer(harmless_tests()).data)

    @extend_schema(
        operation_id="identify", request=EvidenceSerializer, responses=IdentificationSerializer
    )
    def post(self, request: Request, community: str) -> Response:
        given = asked(EvidenceSerializer(data=request.data))
        evidence = Evidence(
            mark=given["mark"],
            item=given["item"],
            looks={look: given[look] for look in ("bend", "feel", "forming") if look in given},
            float_tests=[
                FloatSaid(liquid=LiquidSaid(**test["liquid"]), floated=test["floated"])
                for test in given["float_tests"]
            ],
        )
        found = identify(self.actor, evidence=evidence, stream_id=given["stream_id"])
        return Response(IdentificationSerializer(found).data)


class CertaintyView(CommunityView):
    """How sure an identification must be for a stream."""

    @extend_schema(operation_id="certainty_read", responses=CertaintySerializer)
    def get(self, request: Request, community: str, stream_id: UUID) -> Response:
        whole = {"certainty_min": certainty_min_of(self.actor, stream_id)}
        return Response(CertaintySerializer(whole).data)

    @extend_schema(
        operation_id="certainty_set", request=CertaintySerializer, responses=CertaintySerializer
    )
    @write_once
    def put(self, request: Request, community: str, stream_id: UUID) -> Response:
        sent = asked(CertaintySerializer(data=request.data))
        certainty = services.set_certainty(self.actor, stream_id=stream_id, **sent)
        return Response(CertaintySerializer(certainty).data)


class SamplingPlanView(CommunityView):
    """How much to look at, for a stated chance of catching a contamination."""

    @extend_schema(
        operation_id="sampling_plan",
        request=SamplingQuestionSerializer,
        responses=SamplingPlanSerializer,
    )
    def post(self, request: Request, community: str) -> Response:
        given = asked(SamplingQuestionSerializer(data=request.data))
        return Response(SamplingPlanSerializer(sampling_plan(SamplingQuestion(**given))).data)


class ColoursView(ListModelMixin, CommunityView):
    """The makers' own colours."""

    serializer_class = ColourSerializer
    queryset = NamedColour.objects.none()
    filterset_class = OfMakerFilter

    def get_queryset(self) -> QuerySet[NamedColour]:
        return seen.colours_seen_by(self.actor)

    @extend_schema(operation_id="colours_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="colour_add", request=NewColourSerializer, responses={201: ColourSerializer}
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = asked(NewColourSerializer(data=request.data))
        colour = services.add_colour(self.actor, colour_id=idempotency_key(request), **sent)
        return Response(ColourSerializer(colour).data, status=201)


class ColourView(CommunityView):
    """One of the makers' own colours."""

    @extend_schema(
        operation_id="colour_measure", request=ColourChangeSerializer, responses=ColourSerializer
    )
    @write_once
    def put(self, request: Request, community: str, colour_id: UUID) -> Response:
        sent = asked(ColourChangeSerializer(data=request.data))
        colour = services.measure_colour(self.actor, colour_id=colour_id, **sent)
        return Response(ColourSerializer(colour).data)


class ColourMatchView(CommunityView):
    """Which of a maker's colours a measured one is nearest to."""

    @extend_schema(
        operation_id="colour_match",
        request=ColourQuestionSerializer,
        responses=ColourMatchSerializer,
    )
    def post(self, request: Request, community: str) -> Response:
        given = asked(ColourQuestionSerializer(data=request.data))
        photo = given["photo"] and _photo(given["photo"])
        match = match_colour(self.actor, given["maker_id"], lab=given["lab"], photo=photo)
        return Response(ColourMatchSerializer(match).data)


def _photo(sent: dict[str, Any]) -> PhotoReading:
    sample, card = sent["sample"], sent["card"]
    return PhotoReading(
        sample=tuple(sample["rgb"]),
        card=tuple(card["rgb"]),
        sample_spread=tuple(sample["spread"]),
        card_spread=tuple(card["spread"]),
        card_lightness=sent["card_lightness"],
    )
