"""Notices and the choices about them, as the app reads and sends them."""

from typing import Any

from rest_framework import serializers

from api.languages import SaidField
from api.references import ReferenceSerializer
from network.notices.models import CalendarFeed, Notice, NoticeChoice


class NoticeSerializer(serializers.ModelSerializer[Notice]):
    """Something that a person was told; `link` is a path within the app."""

    title = SaidField()
    paragraphs = serializers.ListField(child=SaidField())

    class Meta:
        model = Notice
        fields = [
            "id",
            "kind",
            "subject_id",
            "title",
            "paragraphs",
            "link",
            "created_at",
            "read_at",
            "mail_due_at",
            "mailed_at",
        ]


class ReadUntilSerializer(serializers.Serializer[Any]):
    until = serializers.UUIDField(help_text="The newest notice that the person saw.")


class ReadCountSerializer(serializers.Serializer[Any]):
    count = serializers.IntegerField()


class WaySerializer(serializers.Serializer[Any]):
    """How a person is told one kind of thing."""

    kind = serializers.ChoiceField(Notice.Kind.choices)
    words = serializers.CharField(read_only=True)
    way = serializers.ChoiceField(NoticeChoice.Way.choices)


class NoticeChoicesSerializer(serializers.Serializer[Any]):
    """What a person wants to be told, and when not, by the community's clock."""

    ways = WaySerializer(many=True)
    quiet_from = serializers.TimeField(format="%H:%M")
    quiet_until = serializers.TimeField(format="%H:%M")
    timezone = serializers.CharField(read_only=True)


class CalendarFeedSerializer(serializers.ModelSerializer[CalendarFeed]):
    """A calendar feed as its owner sees it; `link` is its address, in the first answer only."""

    place = ReferenceSerializer(allow_null=True)
    vehicle = ReferenceSerializer(allow_null=True)
    link = serializers.CharField(allow_null=True, default=None)

    class Meta:
        model = CalendarFeed
        fields = ["id", "place", "vehicle", "created_at", "last_read_at", "revoked_at", "link"]


class NewCalendarFeedSerializer(serializers.Serializer[Any]):
    """What the calendar is of: one place, or one van."""

    place_id = serializers.UUIDField(required=False, allow_null=True, default=None)
    vehicle_id = serializers.UUIDField(required=False, allow_null=True, default=None)
