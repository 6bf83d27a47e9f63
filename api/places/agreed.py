"""Agreements, the containers they are kept in, and how full these are."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from api.base import CommunityView
from api.idempotency import idempotency_key, write_once
from api.places import requests
from api.places.filters import AgreementFilter, ContainerFilter
from api.places.serializers import (
    AgreementSerializer,
    FillReportSerializer,
    ListedContainerSerializer,
)
from network.places import queries, services
from network.places.models import Agreement, Container, FillReport
from network.places.services import ContainersInput


class AgreementsView(ListModelMixin, CommunityView):
    """The agreements of one's own places or streams."""

    serializer_class = AgreementSerializer
    filterset_class = AgreementFilter
    queryset = Agreement.objects.none()

    def get_queryset(self) -> QuerySet[Agreement]:
        return queries.agreements_seen_by(self.actor)

    @extend_schema(operation_id="agreements_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="agreement_make",
        request=requests.NewAgreementSerializer,
        responses={201: AgreementSerializer},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = requests.NewAgreementSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        agreement = services.agree(
            self.actor,
            place_id=sent.validated_data["place_id"],
            agreement=requests.agreement_input(sent.validated_data),
            agreement_id=idempotency_key(request),
        )
        return Response(AgreementSerializer(agreement).data, status=201)


class AgreementEndView(CommunityView):
    """Ends an agreement with a day."""

    @extend_schema(
        operation_id="agreement_end",
        request=requests.EndSerializer,
        responses=AgreementSerializer,
    )
    @write_once
    def post(self, request: Request, community: str, agreement_id: UUID) -> Response:
        sent = requests.EndSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        agreement = services.end_agreement(
            self.actor, agreement_id=agreement_id, **sent.validated_data
        )
        return Response(AgreementSerializer(agreement).data)


class AgreementMoveView(CommunityView):
    """Moves an agreement to newer rules."""

    @extend_schema(
        operation_id="agreement_move",
        request=requests.MoveSerializer,
        responses=AgreementSerializer,
    )
    @write_once
    def post(self, request: Request, community: str, agreement_id: UUID) -> Response:
        sent = requests.MoveSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        agreement = services.move_to_rule_version(
            self.actor, agreement_id=agreement_id, **sent.validated_data
        )
        return Response(AgreementSerializer(agreement).data)


class ContainersView(CommunityView):
    """The containers one may see, with what is expected in each."""

    serializer_class = ListedContainerSerializer
    filterset_class = ContainerFilter
    queryset = Container.objects.none()

    def get_queryset(self) -> QuerySet[Container]:
        return queries.containers_seen_by(self.actor)

    @extend_schema(operation_id="containers_list", responses=ListedContainerSerializer(many=True))
    def get(self, request: Request, community: str) -> Response:
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset()))
        return self.get_paginated_response(self._shown(page or []))

    @extend_schema(
        operation_id="containers_add",
        request=requests.AddedContainersSerializer,
        responses={201: ListedContainerSerializer(many=True)},
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = requests.AddedContainersSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        asked = dict(sent.validated_data)
        added = services.add_containers(
            self.actor,
            agreement_id=asked.pop("agreement_id"),
            containers=ContainersInput(**asked),
        )
        return Response(self._shown(added), status=201)

    def _shown(self, containers: Any) -> Any:
        today = queries.local_day(self.community, timezone.now())
        details = queries.container_details(containers, day=today)
        rows = [details[container.id] for container in containers]
        return ListedContainerSerializer(rows, many=True).data


class ContainerRetireView(CommunityView):
    """Takes a container out of use."""

    @extend_schema(
        operation_id="container_retire", request=None, responses=ListedContainerSerializer
    )
    @write_once
    def post(self, request: Request, community: str, container_id: UUID) -> Response:
        container = services.retire_container(self.actor, container_id=container_id)
        today = queries.local_day(self.community, timezone.now())
        detail = queries.container_details([container], day=today)[container.id]
        return Response(ListedContainerSerializer(detail).data)


class FillReportsView(ListModelMixin, CommunityView):
    """What was said of a container, the latest first."""

    serializer_class = FillReportSerializer
    queryset = FillReport.objects.none()

    def get_queryset(self) -> QuerySet[FillReport]:
        return queries.fill_reports_seen_by(self.actor, container_id=self.kwargs["container_id"])

    @extend_schema(operation_id="fill_reports_list")
    def get(self, request: Request, community: str, container_id: UUID) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="fill_report_make",
        request=requests.NewFillReportSerializer,
        responses={201: FillReportSerializer},
    )
    @write_once
    def post(self, request: Request, community: str, container_id: UUID) -> Response:
        sent = requests.NewFillReportSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        report = services.report_fill(
            self.actor,
            container_id=container_id,
            report_id=idempotency_key(request),
            **sent.validated_data,
        )
        return Response(FillReportSerializer(report).data, status=201)
