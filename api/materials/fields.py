from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from network.materials.rules_schema import RULES


@extend_schema_field(RULES)
class RulesField(serializers.JSONField):
    """A maker's accepted-material rules, which the materials room checks itself."""
