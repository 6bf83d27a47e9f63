from typing import Any

from rest_framework import serializers


class EraseSerializer(serializers.Serializer[Any]):
    """One's own address, typed, so that nobody is erased by a slip."""

    email = serializers.EmailField(max_length=254)


class PassOnSerializer(serializers.Serializer[Any]):
    user_id = serializers.UUIDField()
