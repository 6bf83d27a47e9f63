from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.references import CommunityReferenceSerializer, ReferenceSerializer
from network.people.models import Community, District, Invitation, Membership, Organisation, Role
from network.people.queries import districts_of
from network.people.services import VALID_DAYS_MAX
from network.tongues import LANGUAGES


class PersonSerializer(serializers.Serializer[Any]):
    """A person, to those who work with them."""

    id = serializers.UUIDField()
    email = serializers.EmailField()
    name = serializers.CharField(allow_blank=True)


class NameSerializer(serializers.Serializer[Any]):
    """What a person wants to be called, and in which language to be written to."""

    name = serializers.CharField(allow_blank=True, max_length=120, required=False)
    language = serializers.ChoiceField(LANGUAGES, required=False)


class HeldRoleSerializer(serializers.Serializer[Membership]):
    """A role that the person who asks holds somewhere."""

    community = CommunityReferenceSerializer()
    role = serializers.ChoiceField(Role.choices)
    organisation = ReferenceSerializer(allow_null=True)


class SessionSerializer(serializers.Serializer[Any]):
    """Who is signed in, and which roles they hold."""

    user = PersonSerializer(allow_null=True)
    memberships = HeldRoleSerializer(many=True)


class SignInLinkSerializer(serializers.Serializer[Any]):
    """The token of a link that signs in once."""

    token = serializers.CharField(max_length=200)


class DistrictSerializer(serializers.ModelSerializer[District]):
    class Meta:
        model = District
        fields = ["id", "name"]
        read_only_fields = ["id"]


class CommunitySerializer(serializers.ModelSerializer[Community]):
    """A community as anyone may see it, in a list."""

    class Meta:
        model = Community
        fields = ["slug", "name", "longitude", "latitude", "open_to_registration"]


class CommunityDetailSerializer(serializers.ModelSerializer[Community]):
    """A community as anyone may see it."""

    districts = serializers.SerializerMethodField()

    class Meta:
        model = Community
        fields = [
            "slug",
            "name",
            "timezone",
            "country",
            "subdivision",
            "currency",
            "longitude",
            "latitude",
            "open_to_registration",
            "districts",
        ]

    @extend_schema_field(DistrictSerializer(many=True))
    def get_districts(self, community: Community) -> Any:
        return DistrictSerializer(districts_of(community), many=True).data


class OrganisationSerializer(serializers.ModelSerializer[Organisation]):
    class Meta:
        model = Organisation
        fields = ["id", "name", "kind", "carrier_registration"]
        read_only_fields = ["id"]


class MemberSerializer(serializers.Serializer[Membership]):
    """Who holds which role."""

    id = serializers.UUIDField()
    user = PersonSerializer()
    role = serializers.ChoiceField(Role.choices)
    organisation = ReferenceSerializer(allow_null=True)


class InvitationSerializer(serializers.ModelSerializer[Invitation]):
    """An invitation as its organiser sees it; `link` is the token, in the first answer only."""

    organisation = ReferenceSerializer(allow_null=True)
    link = serializers.CharField(allow_null=True, default=None)

    class Meta:
        model = Invitation
        fields = [
            "id",
            "role",
            "organisation",
            "suggested_name",
            "suggested_kind",
            "created_at",
            "expires_at",
            "used_at",
            "link",
        ]


class NewInvitationSerializer(serializers.Serializer[Any]):
    role = serializers.ChoiceField(Role.choices)
    organisation_id = serializers.UUIDField(required=False, allow_null=True, default=None)
    suggested_name = serializers.CharField(
        required=False, allow_blank=True, default="", max_length=160
    )
    suggested_kind = serializers.ChoiceField(
        Organisation.Kind.choices, required=False, allow_blank=True, default=""
    )
    valid_days = serializers.IntegerField(
        required=False, default=14, min_value=1, max_value=VALID_DAYS_MAX
    )


class OpenInvitationSerializer(serializers.Serializer[Invitation]):
    """An invitation as the invited see it."""

    community = CommunityReferenceSerializer()
    role = serializers.ChoiceField(Role.choices)
    organisation = ReferenceSerializer(allow_null=True)
    suggested_name = serializers.CharField(allow_blank=True)
    suggested_kind = serializers.ChoiceField(Organisation.Kind.choices, allow_blank=True)
    expires_at = serializers.DateTimeField()


class AcceptanceSerializer(serializers.Serializer[Any]):
    """Who joins; for an organisation that is not known yet, what it is called."""

    # Whoever is signed in need not send it.
    email = serializers.EmailField(required=False, max_length=254)
    name = serializers.CharField(required=False, allow_blank=True, default="", max_length=120)
    organisation_name = serializers.CharField(
        required=False, allow_blank=True, default="", max_length=160
    )
    organisation_kind = serializers.ChoiceField(
        Organisation.Kind.choices, required=False, allow_blank=True, default=""
    )
