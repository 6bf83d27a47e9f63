from decimal import Decimal

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeBoundary, RangeOperators
from django.db import models
from django.db.models import F, Func, Q, UUIDField, Value

from network.lots.models import Inspection, Lot, Weighing
from network.people.models import CommunityRow, Organisation, User
from network.pickups.core.alternatives import Aim
from network.places.models import Container, Place

AIMS = [(aim.value, aim.value.replace("_", " ")) for aim in Aim]
# What a maker begins with: common practice, no published source.
ROAD_FACTOR = Decimal("1.30")
SPEED_KM_PER_H = Decimal("40.0")


class Vehicle(CommunityRow):
    """A maker's van, with what it may carry and what it costs."""

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="vehicles")
    name = models.CharField(max_length=80)
    # Plated gross mass less kerb mass, driver and fuel.
    payload_g = models.PositiveIntegerField()
    volume_ml = models.PositiveIntegerField()
    cost_per_shift = models.DecimalField(max_digits=9, decimal_places=2)
    cost_per_km = models.DecimalField(max_digits=9, decimal_places=4)
    cost_per_hour = models.DecimalField(max_digits=9, decimal_places=2)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "maker", "name"], name="vehicle_unique"),
            models.CheckConstraint(
                condition=Q(payload_g__gt=0, volume_ml__gt=0), name="vehicle_room"
            ),
            models.CheckConstraint(
                condition=Q(cost_per_shift__gte=0, cost_per_km__gte=0, cost_per_hour__gte=0),
                name="vehicle_costs",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Roads(CommunityRow):
    """The roads that a community's ways go along, as an RFC 7946 FeatureCollection.

    They are drawn under its places too.
    """

    features = models.JSONField()
    # SHA-256 of the features: a new one is another network.
    version = models.CharField(max_length=64)
    # Who drew them, and under which licence, in the words that its owner asks for.
    source = models.CharField(max_length=200)
    as_of = models.DateField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["community"], name="roads_once")]


class TravelTerms(CommunityRow):
    """What a maker reckons its ways with; a correction multiplies the seconds."""

    maker = models.OneToOneField(Organisation, on_delete=models.PROTECT, related_name="travel")
    road_factor = models.DecimalField(max_digits=4, decimal_places=2, default=ROAD_FACTOR)
    speed_km_per_h = models.DecimalField(max_digits=4, decimal_places=1, default=SPEED_KM_PER_H)
    straight_correction = models.DecimalField(max_digits=4, decimal_places=2, default=Decimal(1))
    roads_correction = models.DecimalField(max_digits=4, decimal_places=2, default=Decimal(1))

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(road_factor__gte=1, speed_km_per_h__gt=0), name="travel_straight"
            ),
            models.CheckConstraint(
                condition=Q(straight_correction__gt=0, roads_correction__gt=0),
                name="travel_corrections",
            ),
        ]


class KeptTravel(CommunityRow):
    """The ways between a maker's points, kept while they rest on the same roads."""

    maker = models.OneToOneField(Organisation, on_delete=models.CASCADE, related_name="+")
    # Of the roads; the ways of another version are never read.
    version = models.CharField(max_length=64)
    # Longitude and latitude of each point, then metres and seconds from each to each.
    points = models.BinaryField()
    metres = models.BinaryField()
    seconds = models.BinaryField()


class Proposal(CommunityRow):
    """A plan worked out for a maker's chosen days, vans and shifts; nothing is booked by it."""

    class Status(models.TextChoices):
        QUEUED = "queued", "queued"
        WORKING = "working", "being worked out"
        READY = "ready", "ready"
        BOOKED = "booked", "booked"
        FAILED = "failed", "failed"

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="proposals")
    # The shifts chosen, and the places that must or must not be visited.
    request = models.JSONField()
    # The problem as it stood when it was worked out, and the plan, checked, with its reasons.
    problem = models.JSONField(null=True, blank=True)
    plan = models.JSONField(null=True, blank=True)
    status = models.CharField(max_length=8, choices=Status.choices)
    failure = models.CharField(max_length=500, blank=True)
    seed = models.PositiveIntegerField()
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")


class Alternative(CommunityRow):
    """Another plan for the same proposal, made for something else; one of them is in force."""

    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="alternatives")
    aim = models.CharField(max_length=16, choices=AIMS)
    position = models.PositiveSmallIntegerField()
    # Beside the plan, since a list of alternatives does without the whole of it.
    outcome = models.JSONField()
    plan = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "proposal", "aim"], name="alternative_unique"
            )
        ]


class Watched(models.Model):
    """How far a search is, and whether somebody wishes it to end."""

    aim = models.CharField(max_length=16, choices=AIMS, default=Aim.BALANCED.value)
    iterations = models.PositiveIntegerField(default=0)
    iterations_max = models.PositiveIntegerField(default=0)
    # What the best routes so far cost, and what visits they leave out would be worth.
    best_cost = models.DecimalField(max_digits=14, decimal_places=2, null=True, blank=True)
    stop_wished_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


class Search(CommunityRow, Watched):
    """The search for a proposal's plans."""

    proposal = models.OneToOneField(Proposal, on_delete=models.CASCADE, related_name="search")


class Question(CommunityRow, Watched):
    """What would be if, asked of a proposal; each asker's latest only."""

    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="questions")
    supposing = models.JSONField()
    # What comes of it, or what keeps it from being told, once the search is over.
    answer = models.JSONField(null=True, blank=True)
    failure = models.CharField(max_length=500, blank=True)
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "proposal", "asked_by"], name="question_of_asker"
            )
        ]


class UuidRange(Func):
    """`uuidrange(a, a, '[]')`: lets a range index compare ids for equality without btree_gist."""

    function = "uuidrange"
    output_field = UUIDField()


class Route(CommunityRow):
    """One vehicle's ordered stops in one shift; while it stands, it books the vehicle."""

    class Status(models.TextChoices):
        PLANNED = "planned", "planned"
        UNDER_WAY = "under_way", "under way"
        DONE = "done", "done"
        CALLED_OFF = "called_off", "called off"

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="routes")
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="routes")
    driver = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    proposal = models.ForeignKey(
        Proposal, on_delete=models.PROTECT, null=True, blank=True, related_name="routes"
    )
    day = models.DateField()
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    status = models.CharField(max_length=10, choices=Status.choices)
    planned_distance_m = models.PositiveIntegerField()
    planned_duration_s = models.PositiveIntegerField()
    planned_mass_g = models.PositiveIntegerField()
    planned_volume_ml = models.PositiveIntegerField()
    planned_cost = models.DecimalField(max_digits=10, decimal_places=2)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["community", "maker", "day"], name="route_day")]
        constraints = [
            models.CheckConstraint(condition=Q(starts_at__lt=F("ends_at")), name="route_order"),
            ExclusionConstraint(
                name="vehicle_booked_once",
                expressions=[
                    (
                        UuidRange(F("vehicle"), F("vehicle"), Value("[]")),
                        RangeOperators.OVERLAPS,
                    ),
                    (
                        Func(
                            F("starts_at"),
                            F("ends_at"),
                            RangeBoundary(),
                            function="tstzrange",
                            output_field=DateTimeRangeField(),
                        ),
                        RangeOperators.OVERLAPS,
                    ),
                ],
                condition=Q(status__in=["planned", "under_way"]),
            ),
        ]


class Pickup(CommunityRow):
    """One visit to one place on one day to empty containers."""

    class Status(models.TextChoices):
        ASKED = "asked", "asked for"
        PLANNED = "planned", "planned"
        UNDER_WAY = "under_way", "under way"
        DONE = "done", "done"
        MISSED = "missed", "missed"
        CALLED_OFF = "called_off", "called off"

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="pickups")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="pickups")
    status = models.CharField(max_length=10, choices=Status.choices)
    asked_at = models.DateTimeField(null=True, blank=True)
    asked_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    asked_note = models.CharField(max_length=240, blank=True)
    route = models.ForeignKey(
        Route, on_delete=models.PROTECT, null=True, blank=True, related_name="pickups"
    )
    position = models.PositiveIntegerField(null=True, blank=True)
    day = models.DateField(null=True, blank=True)
    planned_arrival = models.DateTimeField(null=True, blank=True)
    planned_departure = models.DateTimeField(null=True, blank=True)
    # The leg that leads here, as planned before any correction, and by what it was known.
    leg_s = models.PositiveIntegerField(null=True, blank=True)
    leg_by = models.CharField(max_length=8, blank=True)
    # Why the plan comes here, as the planner gave it.
    why = models.JSONField(default=list, blank=True)
    arrived_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=240, blank=True)
    created_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["community", "place", "status"], name="pickup_of_place")]
        constraints = [
            models.UniqueConstraint(
                fields=["community", "maker", "place"],
                condition=Q(status="asked"),
                name="pickup_asked_once",
            ),
            models.UniqueConstraint(
                fields=["community", "route", "position"],
                condition=Q(route__isnull=False) & ~Q(status="called_off"),
                name="pickup_position_unique",
            ),
            models.CheckConstraint(
                condition=Q(status__in=["asked", "called_off"])
                | Q(route__isnull=False, position__isnull=False, day__isnull=False),
                name="pickup_planned_on_a_route",
            ),
        ]


class PickupLine(CommunityRow):
    """One container to be emptied at a pickup, and what came of it; while open it books it."""

    class Outcome(models.TextChoices):
        OPEN = "open", "still to do"
        COLLECTED = "collected", "collected"
        TURNED_AWAY = "turned_away", "turned away"
        SKIPPED = "skipped", "skipped"

    pickup = models.ForeignKey(Pickup, on_delete=models.PROTECT, related_name="lines")
    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="lines")
    expected_mass_g = models.PositiveIntegerField()
    expected_volume_ml = models.PositiveIntegerField()
    outcome = models.CharField(max_length=12, choices=Outcome.choices, default=Outcome.OPEN)
    reason = models.CharField(max_length=240, blank=True)
    lot = models.OneToOneField(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="pickup_line"
    )
    weighing = models.OneToOneField(
        Weighing, on_delete=models.PROTECT, null=True, blank=True, related_name="pickup_line"
    )
    look = models.OneToOneField(
        Inspection, on_delete=models.PROTECT, null=True, blank=True, related_name="pickup_line"
    )
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "container"],
                condition=Q(outcome="open"),
                name="container_booked_once",
            ),
            models.CheckConstraint(
                condition=Q(outcome="collected", lot__isnull=False, weighing__isnull=False)
                | (~Q(outcome="collected") & Q(lot__isnull=True, weighing__isnull=True)),
                name="line_collected_has_its_lot",
            ),
        ]


class Photo(CommunityRow):
    """A picture of one container at a visit, to show what was found; kept for a set time."""

    line = models.ForeignKey(PickupLine, on_delete=models.CASCADE, related_name="photos")
    file = models.FileField(upload_to="photos/", max_length=120, unique=True)
    taken_at = models.DateTimeField()
    kept_until = models.DateTimeField(db_index=True)
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["community", "line", "taken_at"], name="photo_of_line")]
