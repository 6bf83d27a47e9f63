"""Vans, and what a maker plans with them."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.pickups.change_serializers import (
    ProposalChangeSerializer,
    ReplanSerializer,
    StopMoveSerializer,
)
from api.pickups.filters import ProposalFilter, VehicleFilter
from api.pickups.plan_serializers import (
    ProposalRequestSerializer,
    ProposalRowSerializer,
    ProposalSerializer,
    VehicleChangeSerializer,
    VehicleSerializer,
)
from api.pickups.search_serializers import ChoiceSerializer
from api.pickups.serializers import BookedSerializer
from api.pickups.travel import GEOJSON
from api.pickups.what_if_serializers import QuestionSerializer, WhatIfSerializer
from network.pickups import services
from network.pickups.drawn import drawn_proposal
from network.pickups.models import Proposal, Vehicle
from network.pickups.queries import (
    proposal_for,
    proposals_seen_by,
    question_for,
    routes_with_counts,
    vehicle_for,
    vehicles_seen_by,
)


class VehiclesView(ListModelMixin, CommunityView):
    """The makers' vans."""

    serializer_class = VehicleSerializer
    filterset_class = VehicleFilter
    queryset = Vehicle.objects.none()

    def get_queryset(self) -> QuerySet[Vehicle]:
        return vehicles_seen_by(self.actor)

    @extend_schema(operation_id="vehicles_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(operation_id="vehicle_add", responses={201: VehicleSerializer})
    @write_once
    def post(self, request: Request, community: str) -> Response:
        form = VehicleSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        sent: dict[str, Any] = form.validated_data
        maker_id, name = sent.pop("maker_id", None), sent.pop("name")
        vehicle = services.add_vehicle(
            self.actor,
            vehicle_id=idempotency_key(request),
            maker_id=maker_id,
            name=name,
            figures=services.VehicleFigures(**sent),
        )
        return Response(VehicleSerializer(vehicle).data, status=201)


class VehicleView(CommunityView):
    """One van."""

    serializer_class = VehicleChangeSerializer

    @extend_schema(operation_id="vehicle_change", responses=VehicleSerializer)
    @write_once
    def patch(self, request: Request, community: str, vehicle_id: UUID) -> Response:
        form = VehicleChangeSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        services.change_vehicle(self.actor, vehicle_id=vehicle_id, **form.validated_data)
        return Response(VehicleSerializer(vehicle_for(self.actor, vehicle_id)).data)


class ProposalsView(ListModelMixin, CommunityView):
    """Plans that were asked for, newest first."""

    serializer_class = ProposalRowSerializer
    filterset_class = ProposalFilter
    queryset = Proposal.objects.none()

    def get_queryset(self) -> QuerySet[Proposal]:
        # Plans are large; a list does without them.
        return proposals_seen_by(self.actor).defer("plan", "problem")

    @extend_schema(operation_id="proposals_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="proposal_ask",
        request=ProposalRequestSerializer,
        responses={202: ProposalRowSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        form = ProposalRequestSerializer(data=request.data)
        proposal = services.request_proposal(
            self.actor, proposal_id=idempotency_key(request), request=form.plan_request()
        )
        return Response(ProposalRowSerializer(proposal).data, status=202)


class RouteReplanView(CommunityView):
    """The rest of a route's day, planned anew from where the vans are."""

    serializer_class = ReplanSerializer

    @extend_schema(operation_id="route_replan", responses={202: ProposalRowSerializer})
    @write_once
    def post(self, request: Request, community: str, route_id: UUID) -> Response:
        form = ReplanSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        proposal = services.replan_day(
            self.actor,
            proposal_id=idempotency_key(request),
            route_id=route_id,
            **form.validated_data,
        )
        return Response(ProposalRowSerializer(proposal).data, status=202)


class ProposalView(CommunityView):
    """One proposal, with its plan once it is ready."""

    @extend_schema(operation_id="proposal_read", responses=ProposalSerializer)
    def get(self, request: Request, community: str, proposal_id: UUID) -> Response:
        return Response(ProposalSerializer(proposal_for(self.actor, proposal_id)).data)


class ProposalMapView(CommunityView):
    """A plan's ways and stops on the map."""

    @extend_schema(operation_id="proposal_map", responses={(200, "application/json"): GEOJSON})
    def get(self, request: Request, community: str, proposal_id: UUID) -> Response:
        return Response(drawn_proposal(self.actor, proposal_id))


class ProposalChangeView(CommunityView):
    """The order of a plan's stops, put right by hand."""

    serializer_class = ProposalChangeSerializer

    @extend_schema(operation_id="proposal_change", responses=ProposalSerializer)
    @write_once
    def post(self, request: Request, community: str, proposal_id: UUID) -> Response:
        orders = ProposalChangeSerializer(data=request.data).orders()
        proposal = services.change_proposal(self.actor, proposal_id=proposal_id, orders=orders)
        return Response(ProposalSerializer(proposal).data)


class ProposalMoveView(CommunityView):
    """One stop of a plan, moved by hand to another shift or out of all."""

    serializer_class = StopMoveSerializer

    @extend_schema(operation_id="proposal_move", responses=ProposalSerializer)
    @write_once
    def post(self, request: Request, community: str, proposal_id: UUID) -> Response:
        form = StopMoveSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        proposal = services.move_stop(self.actor, proposal_id=proposal_id, **form.validated_data)
        return Response(ProposalSerializer(proposal).data)


class ProposalChooseView(CommunityView):
    """Another of a proposal's alternatives is put in force."""

    serializer_class = ChoiceSerializer

    @extend_schema(operation_id="proposal_choose", responses=ProposalSerializer)
    @write_once
    def post(self, request: Request, community: str, proposal_id: UUID) -> Response:
        form = ChoiceSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        proposal = services.choose_alternative(
            self.actor, proposal_id=proposal_id, **form.validated_data
        )
        return Response(ProposalSerializer(proposal).data)


class ProposalStopView(CommunityView):
    """The search for a proposal's plans ends with what there is."""

    @extend_schema(operation_id="proposal_stop", request=None, responses=ProposalSerializer)
    @write_once
    def post(self, request: Request, community: str, proposal_id: UUID) -> Response:
        proposal = services.stop_search(self.actor, proposal_id=proposal_id)
        return Response(ProposalSerializer(proposal).data)


class ProposalWhatIfView(CommunityView):
    """What a plan would be like, were something otherwise; worked out in the background."""

    serializer_class = WhatIfSerializer

    @extend_schema(operation_id="proposal_what_if", responses={202: QuestionSerializer})
    @write_once
    def post(self, request: Request, community: str, proposal_id: UUID) -> Response:
        question = services.ask_what_if(
            self.actor,
            question_id=idempotency_key(request),
            proposal_id=proposal_id,
            supposing=WhatIfSerializer(data=request.data).supposing(),
        )
        return Response(QuestionSerializer(question).data, status=202)


class QuestionView(CommunityView):
    """What somebody asked of a proposal, and the answer once it is there."""

    @extend_schema(operation_id="proposal_what_if_read", responses=QuestionSerializer)
    def get(self, request: Request, community: str, question_id: UUID) -> Response:
        question = question_for(self.actor, question_id)
        return Response(QuestionSerializer(question).data)


class QuestionStopView(CommunityView):
    """The search for an answer ends with what there is."""

    @extend_schema(operation_id="proposal_what_if_stop", request=None, responses=QuestionSerializer)
    @write_once
    def post(self, request: Request, community: str, question_id: UUID) -> Response:
        question = services.stop_question(self.actor, question_id=question_id)
        return Response(QuestionSerializer(question).data)


class ProposalWhatIfPlanView(CommunityView):
    """What was supposed is planned, as a proposal of its own."""

    serializer_class = WhatIfSerializer

    @extend_schema(operation_id="proposal_what_if_plan", responses={202: ProposalRowSerializer})
    @write_once
    def post(self, request: Request, community: str, proposal_id: UUID) -> Response:
        proposal = services.plan_what_if(
            self.actor,
            proposal_id=proposal_id,
            new_id=idempotency_key(request),
            supposing=WhatIfSerializer(data=request.data).supposing(),
        )
        return Response(ProposalRowSerializer(proposal).data, status=202)


class ProposalBookView(CommunityView):
    """A plan becomes routes."""

    @extend_schema(operation_id="proposal_book", request=None, responses={201: BookedSerializer})
    @write_once
    def post(self, request: Request, community: str, proposal_id: UUID) -> Response:
        services.book_proposal(self.actor, proposal_id=proposal_id)
        routes = routes_with_counts(self.actor).filter(proposal_id=proposal_id)
        booked = {"routes": routes.order_by("starts_at", "id")}
        return Response(BookedSerializer(booked).data, status=201)
