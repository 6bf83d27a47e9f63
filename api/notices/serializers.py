"""Notices and the choices about them, as the app reads and sends them."""

from typing import Any

from rest_framework import serializers

from network.notices.models import Notice, NoticeChoice


class NoticeSerializer(serializers.ModelSerializer[Notice]):
    """Something that a person was told; `link` is a path within the app."""

    paragraphs = serializers.ListField(child=serializers.CharField())

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
