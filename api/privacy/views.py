"""One's own data, erasure, and going."""

from uuid import UUID

from django.contrib.auth import logout
from django.db import transaction
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.base import CommunityView, person_id
from api.idempotency import write_once
from api.people.serializers import MemberSerializer
from api.privacy.replies import forget_replies_to
from api.privacy.serializers import EraseSerializer, PassOnSerializer
from network.errors import InvalidInput
from network.people import services as people
from network.people.queries import person_by_id
from network.people.services.trail import Act, note_everywhere
from network.privacy.queries import data_about
from network.privacy.services import erase_person

ANYTHING = {
    "type": "object",
    "properties": {
        "made_at": {"type": "string", "format": "date-time"},
        "person": {"type": "object"},
        "yours": {"type": "object"},
        "what_you_did": {"type": "array", "items": {"type": "object"}},
    },
    "required": ["made_at", "person", "yours", "what_you_did"],
}


class AccountDataView(APIView):
    """All that is held about the person who asks, as a file."""

    @extend_schema(
        operation_id="account_data_read", responses={(200, "application/json"): ANYTHING}
    )
    def get(self, request: Request) -> Response:
        held = data_about(person_id(request), at=timezone.now())
        note_everywhere(Act.DATA_EXPORTED, user_id=person_id(request))
        return Response(
            held,
            headers={
                "Content-Disposition": 'attachment; filename="my-data.json"',
                "Cache-Control": "no-store",
            },
        )


class AccountEraseView(APIView):
    """Erases the person who asks, for good, and signs them out."""

    @extend_schema(operation_id="account_erase", request=EraseSerializer, responses={204: None})
    def post(self, request: Request) -> Response:
        sent = EraseSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        person = person_by_id(person_id(request))
        if sent.validated_data["email"].lower() != person.email:
            raise InvalidInput.of(
                "email", "That is not your address.", "Type the address you sign in with."
            )
        with transaction.atomic():
            forget_replies_to(person.id)
            erase_person(user_id=person.id)
        logout(request)
        return Response(status=204)


class CommunityLeaveView(CommunityView):
    """Gives up all one's roles in a community."""

    @extend_schema(operation_id="community_leave", request=None, responses={204: None})
    @write_once
    def post(self, request: Request, community: str) -> Response:
        people.leave_community(self.actor)
        return Response(status=204)


class OrganiserPassOnView(CommunityView):
    """Makes another member the organiser in one's own place."""

    @extend_schema(
        operation_id="organiser_pass_on", request=PassOnSerializer, responses=MemberSerializer
    )
    @write_once
    def post(self, request: Request, community: str) -> Response:
        sent = PassOnSerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        membership = people.pass_on_organiser(self.actor, **sent.validated_data)
        return Response(MemberSerializer(membership).data)


class MembershipEndView(CommunityView):
    """Ends a person's role."""

    @extend_schema(operation_id="membership_end", request=None, responses={204: None})
    @write_once
    def post(self, request: Request, community: str, membership_id: UUID) -> Response:
        people.end_membership(self.actor, membership_id=membership_id)
        return Response(status=204)
