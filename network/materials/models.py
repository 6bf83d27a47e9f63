from django.db import models
from django.db.models import Q

from network.people.models import CommunityRow, Organisation, Row, User


class Resin(models.Model):
    """A polymer, by ISO 1043-1 symbol and, where it has one, ASTM D7611 code."""

    symbol = models.CharField(max_length=12, primary_key=True)
    code = models.PositiveSmallIntegerField(null=True, blank=True)
    name = models.CharField(max_length=80)
    # Why it must not be melted, and who says so; empty for a resin that may be.
    danger = models.TextField(blank=True)
    danger_source = models.TextField(blank=True)
    # A hint for the hand, never an identification.
    hand_behaviour = models.TextField(blank=True)

    class Meta:
        ordering = ["symbol"]

    def __str__(self) -> str:
        return self.symbol


class Item(models.Model):
    """A kind of thing that is set aside, such as a bottle cap."""

    class Forming(models.TextChoices):
        INJECTION = "injection", "injection moulded"
        BLOW = "blow", "blow moulded"
        THERMOFORMED = "thermoformed", "thermoformed"
        FILM = "film", "film"
        UNKNOWN = "unknown", "not known"

    slug = models.SlugField(max_length=40, primary_key=True)
    name = models.CharField(max_length=80)
    forming = models.CharField(max_length=12, choices=Forming.choices)
    # What to expect, never what a given piece is.
    usual_resins = models.ManyToManyField(Resin, related_name="items")
    usual_resins_source = models.TextField(blank=True)

    class Meta:
        ordering = ["slug"]

    def __str__(self) -> str:
        return self.name


class Figure(Row):
    """One figure about a resin or an item, with its range and where it comes from."""

    resin = models.ForeignKey(Resin, on_delete=models.CASCADE, null=True, related_name="figures")
    item = models.ForeignKey(Item, on_delete=models.CASCADE, null=True, related_name="figures")
    quantity = models.CharField(max_length=40)
    value = models.DecimalField(max_digits=14, decimal_places=6, null=True)
    low = models.DecimalField(max_digits=14, decimal_places=6, null=True)
    high = models.DecimalField(max_digits=14, decimal_places=6, null=True)
    unit = models.CharField(max_length=20)
    source = models.TextField()
    verified = models.BooleanField()
    note = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(resin__isnull=False, item__isnull=True)
                | Q(resin__isnull=True, item__isnull=False),
                name="figure_of_one_thing",
            ),
            models.UniqueConstraint(
                fields=["resin", "item", "quantity"], nulls_distinct=False, name="figure_once"
            ),
        ]


class Stream(CommunityRow):
    """What one maker accepts, exactly."""

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="streams")
    name = models.CharField(max_length=80)
    # One sentence for a place: what to keep.
    summary = models.CharField(max_length=240)
    open_to_places = models.BooleanField(default=True)
    # How far from the workshop the maker will come, as the crow flies.
    reach_m = models.PositiveIntegerField()
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "maker", "name"], name="stream_name_unique"
            )
        ]

    def __str__(self) -> str:
        return self.name


class RuleVersion(CommunityRow):
    """One version of a stream's accepted-material rules; a trigger refuses any later change."""

    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="rule_versions")
    number = models.PositiveIntegerField()
    # As `materials.core.rules.AcceptanceRules` reads and writes it.
    rules = models.JSONField()
    note = models.CharField(max_length=240, blank=True)
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "stream", "number"], name="rule_version_number_unique"
            )
        ]
