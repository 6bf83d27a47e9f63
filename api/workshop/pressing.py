"""How hot, how long and how hard, and pieces under the press."""

from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.workshop.common import OfBatchFilter, OfMakerFilter, asked, done
from api.workshop.pressing_serializers import (
    HeatLimitSerializer,
    NewPressingSerializer,
    PieceWishSerializer,
    PressingFinishSerializer,
    PressingSerializer,
    PressPlanSerializer,
    PressSerializer,
)
from network.workshop import services
from network.workshop.models import (
    Press,
    Pressing,
)
from network.workshop.queries import seen
from network.workshop.queries.heating import PieceWish, plan_press
from network.workshop.queries.limits import set_c_max_of


class HeatLimitView(CommunityView):
    """The highest temperature that may be set in a community."""

    @extend_schema(operation_id="heat_limit_read", responses=HeatLimitSerializer)
    def get(self, request: Request, community: str) -> Response:
        whole = {"set_c_max": set_c_max_of(self.actor.community_id)}
        return Response(HeatLimitSerializer(whole).data)

    @extend_schema(
        operation_id="heat_limit_set", request=HeatLimitSerializer, responses=HeatLimitSerializer
    )
    @write_once
    def put(self, request: Request, community: str) -> Response:
        sent = asked(HeatLimitSerializer(data=request.data))
        limit = services.set_heat_limit(self.actor, **sent)
        return Response(HeatLimitSerializer(limit).data)


class PressesView(ListModelMixin, CommunityView):
    """Heat sources and presses."""

    serializer_class = PressSerializer
    queryset = Press.objects.none()
    filterset_class = OfMakerFilter

    def get_queryset(self) -> QuerySet[Press]:
        return seen.presses_seen_by(self.actor)

    @extend_schema(operation_id="presses_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(operation_id="press_add", responses={201: PressSerializer})
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = asked(PressSerializer(data=request.data))
        press = services.add_press(self.actor, press_id=idempotency_key(request), **sent)
        return Response(PressSerializer(press).data, status=201)


class HeatPlanView(CommunityView):
    """How hot, how long, when to press again, and how hard."""

    @extend_schema(
        operation_id="heat_plan", request=PieceWishSerializer, responses=PressPlanSerializer
    )
    def post(self, request: Request, community: str) -> Response:
        given = asked(PieceWishSerializer(data=request.data))
        return Response(PressPlanSerializer(plan_press(self.actor, PieceWish(**given))).data)


class PressingsView(ListModelMixin, CommunityView):
    """Pieces under the press, newest first."""

    serializer_class = PressingSerializer
    queryset = Pressing.objects.none()
    filterset_class = OfBatchFilter

    def get_queryset(self) -> QuerySet[Pressing]:
        return seen.pressings_seen_by(self.actor)

    @extend_schema(operation_id="pressings_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="pressing_begin",
        request=NewPressingSerializer,
        responses={201: PressingSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = done(NewPressingSerializer(data=request.data))
        about = {name: sent.pop(name) for name in ("batch_id", "is_trial", "at")}
        pressing = services.record_pressing(
            self.actor, pressing_id=idempotency_key(request), wish=PieceWish(**sent), **about
        )
        return Response(PressingSerializer(pressing).data, status=201)


class PressingFinishView(CommunityView):
    """Writes down how a piece came out."""

    @extend_schema(
        operation_id="pressing_finish",
        request=PressingFinishSerializer,
        responses=PressingSerializer,
    )
    @write_once
    def post(self, request: Request, community: str, pressing_id: UUID) -> Response:
        sent = asked(PressingFinishSerializer(data=request.data))
        pressing = services.finish_pressing(
            self.actor, pressing_id=pressing_id, measured=services.Measured(**sent)
        )
        return Response(PressingSerializer(pressing).data)
