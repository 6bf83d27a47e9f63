"""How one thing is named inside another."""

from typing import Any

from rest_framework import serializers


class ReferenceSerializer(serializers.Serializer[Any]):
    """A thing by its id and name."""

    id = serializers.UUIDField()
    name = serializers.CharField()


class CommunityReferenceSerializer(serializers.Serializer[Any]):
    """A community by its slug, which is its part of the address, and name."""

    slug = serializers.SlugField()
    name = serializers.CharField()
