from django.db import models
from django.db.models import Q

from network.people.models import Community, CommunityRow, User
from network.places.models import Place


class StatedFactor(CommunityRow):
    """A factor of the scenario as an organiser stated it; a later statement is a new version."""

    code = models.CharField(max_length=20)
    version = models.PositiveIntegerField()
    value = models.DecimalField(max_digits=14, decimal_places=6)
    source = models.CharField(max_length=300)
    year = models.PositiveSmallIntegerField()
    region = models.CharField(max_length=80)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "code", "version"], name="factor_version_once"
            ),
            models.CheckConstraint(condition=Q(version__gt=0), name="factor_version"),
        ]

    def __str__(self) -> str:
        return f"{self.code} v{self.version}"


class OthersPlace(CommunityRow):
    """A place that brings what another community on this server has counted before."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    other = models.ForeignKey(Community, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "place"], name="others_place_once"),
            models.CheckConstraint(
                condition=~Q(other=models.F("community")), name="others_place_other"
            ),
        ]
