"""Signing in, joining, and the parts of a community."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from allauth.usersessions.models import UserSession
from django.contrib.auth import login, logout
from django.db.models import QuerySet
from django.middleware.csrf import get_token
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.base import CommunityView, person_id
from api.idempotency import idempotency_key, write_once, write_once_without
from api.people.serializers import (
    AcceptanceSerializer,
    CommunityDetailSerializer,
    CommunitySerializer,
    DistrictSerializer,
    InvitationSerializer,
    MemberSerializer,
    NameSerializer,
    NewInvitationSerializer,
    OpenInvitationSerializer,
    OrganisationSerializer,
    PersonSerializer,
    SessionSerializer,
    SignInLinkSerializer,
)
from api.throttles import SecretThrottle
from network.people import queries, services
from network.people.models import (
    Community,
    District,
    Invitation,
    Membership,
    Organisation,
    User,
)
from network.people.services.trail import Act, note_seen


def session_of(user_id: UUID | None) -> dict[str, Any]:
    """Return who is signed in, with their roles, as the app reads it."""
    if user_id is None:
        return {"user": None, "memberships": []}
    person = queries.person_by_id(user_id)
    held = queries.memberships_of(user_id)
    whole: dict[str, Any] = SessionSerializer({"user": person, "memberships": held}).data
    return whole


class SessionView(APIView):
    """Who is signed in. Reading it sets the cookie whose value goes into `X-CSRFToken`."""

    @extend_schema(operation_id="session_read", responses=SessionSerializer)
    def get(self, request: Request) -> Response:
        get_token(request)
        return Response(session_of(request.user.pk))

    @extend_schema(operation_id="sign_out", request=None, responses={204: None})
    def delete(self, request: Request) -> Response:
        logout(request)
        return Response(status=204)


class SessionLinkView(APIView):
    """Signs in by a link that works once."""

    throttle_classes = [SecretThrottle]

    @extend_schema(
        operation_id="sign_in_by_link", request=SignInLinkSerializer, responses=SessionSerializer
    )
    def post(self, request: Request) -> Response:
        sent = SignInLinkSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        person = services.use_sign_in_link(**sent.validated_data)
        _sign_in(request, person)
        return Response(session_of(person.id))


def _sign_in(request: Request, person: User) -> None:
    login(request, person, backend="sesame.backends.ModelBackend")
    # As allauth does for those who come by a code: it is in the list of one's devices.
    UserSession.objects.create_from_request(request)


Handler = Callable[..., Response]


def _signing_in(handler: Handler) -> Handler:
    """Sign in whom the answer names; also on a retry, since the first cookie may be lost."""

    @wraps(handler)
    def handle(view: APIView, request: Request, **kwargs: Any) -> Response:
        response = handler(view, request, **kwargs)
        _sign_in(request, queries.person_by_id(response.data["user"]["id"]))
        return response

    return handle


class AccountView(APIView):
    """The person who asks."""

    @extend_schema(operation_id="account_name", request=NameSerializer, responses=PersonSerializer)
    @write_once
    def patch(self, request: Request) -> Response:
        sent = NameSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        asking = person_id(request)
        person = queries.person_by_id(asking)
        if "name" in sent.validated_data:
            person = services.name_person(user_id=asking, name=sent.validated_data["name"])
        if "language" in sent.validated_data:
            chosen = sent.validated_data["language"]
            person = services.choose_language(user_id=asking, language=chosen)
        return Response(PersonSerializer(person).data)


class InvitationView(APIView):
    """What a link invites to."""

    throttle_classes = [SecretThrottle]

    @extend_schema(operation_id="invitation_read", responses=OpenInvitationSerializer)
    def get(self, request: Request, token: str) -> Response:
        invitation = queries.usable_invitation(token, at=timezone.now())
        return Response(OpenInvitationSerializer(invitation).data)


class InvitationAcceptView(APIView):
    """Joins by a link, and signs in."""

    throttle_classes = [SecretThrottle]

    @extend_schema(
        operation_id="invitation_accept", request=AcceptanceSerializer, responses=SessionSerializer
    )
    @_signing_in
    @write_once
    def post(self, request: Request, token: str) -> Response:
        sent = AcceptanceSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        membership = services.accept_invitation(
            token=token, user_id=request.user.pk, **{"email": "", **sent.validated_data}
        )
        return Response(session_of(membership.user_id))


class CommunitiesView(ListAPIView[Community]):
    """The communities on this server."""

    serializer_class = CommunitySerializer
    queryset = Community.objects.all()

    @extend_schema(operation_id="communities_list")
    def get(self, request: Request) -> Response:
        return self.list(request)


class CommunityDetailView(CommunityView):
    """One community, with its districts."""

    @extend_schema(operation_id="community_read", responses=CommunityDetailSerializer)
    def get(self, request: Request, community: str) -> Response:
        return Response(CommunityDetailSerializer(self.community).data)


class DistrictsView(ListModelMixin, CommunityView):
    """The community's districts."""

    serializer_class = DistrictSerializer
    queryset = District.objects.none()

    def get_queryset(self) -> QuerySet[District]:
        return queries.districts_of(self.community)

    @extend_schema(operation_id="districts_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(operation_id="district_add", responses={201: DistrictSerializer})
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = DistrictSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        district = services.add_district(
            self.actor, district_id=idempotency_key(request), **sent.validated_data
        )
        return Response(DistrictSerializer(district).data, status=201)


class OrganisationsView(ListModelMixin, CommunityView):
    """The organisations that the person who asks may know of."""

    serializer_class = OrganisationSerializer
    queryset = Organisation.objects.none()

    def get_queryset(self) -> QuerySet[Organisation]:
        return queries.organisations_seen_by(self.actor)

    @extend_schema(operation_id="organisations_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(operation_id="organisation_add", responses={201: OrganisationSerializer})
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = OrganisationSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        organisation = services.add_organisation(
            self.actor, organisation_id=idempotency_key(request), **sent.validated_data
        )
        return Response(OrganisationSerializer(organisation).data, status=201)


class MembersView(ListModelMixin, CommunityView):
    """Who holds which role: for organisers all, for makers their own people."""

    serializer_class = MemberSerializer
    queryset = Membership.objects.none()

    def get_queryset(self) -> QuerySet[Membership]:
        return queries.members_seen_by(self.actor)

    @extend_schema(operation_id="members_list")
    def get(self, request: Request, community: str) -> Response:
        note_seen(self.actor, Act.MEMBERS_SEEN, self.community)
        return self.list(request)


class InvitationsView(ListModelMixin, CommunityView):
    """The community's invitations."""

    serializer_class = InvitationSerializer
    queryset = Invitation.objects.none()

    def get_queryset(self) -> QuerySet[Invitation]:
        return queries.invitations_seen_by(self.actor)

    @extend_schema(operation_id="invitations_list")
    def get(self, request: Request, community: str) -> Response:
        return self.list(request)

    @extend_schema(
        operation_id="invitation_add",
        request=NewInvitationSerializer,
        responses={201: InvitationSerializer},
    )
    @write_once_without("link")
    def post(self, request: Request, community: str) -> Response:
        sent = NewInvitationSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        invitation, token = services.invite(
            self.actor, invitation_id=idempotency_key(request), **sent.validated_data
        )
        return Response({**InvitationSerializer(invitation).data, "link": token}, status=201)
