from django.db import models
from django.db.models import F, Q

from network.materials.models import Item, RuleVersion, Stream
from network.people.models import CommunityRow, District, Organisation, User
from network.places.core.precision import Precision


class Place(CommunityRow):
    """An organisation's address where material is set aside, or a maker's workshop."""

    class Kind(models.TextChoices):
        SCHOOL = "school", "school"
        CAFE = "cafe", "café"
        SALON = "salon", "salon"
        CLEANER = "cleaner", "cleaning firm"
        WORKSHOP = "workshop", "workshop"
        OTHER = "other", "other"

    class Status(models.TextChoices):
        ASKED = "asked", "asked to join"
        ADMITTED = "admitted", "admitted"
        REFUSED = "refused", "refused"
        LEFT = "left", "left"

    class PublicPrecision(models.TextChoices):
        EXACT = Precision.EXACT.value, "where it is, with its name"
        STREET = Precision.STREET.value, "to 100 m, without its name"
        DISTRICT = Precision.DISTRICT.value, "its district only"
        HIDDEN = Precision.HIDDEN.value, "not at all"

    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="places")
    name = models.CharField(max_length=160)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    district = models.ForeignKey(
        District, on_delete=models.PROTECT, null=True, blank=True, related_name="places"
    )
    address = models.CharField(max_length=240)
    longitude = models.FloatField()
    latitude = models.FloatField()
    access_notes = models.TextField(blank=True)
    contact_phone = models.CharField(max_length=40, blank=True)
    # How precisely outsiders see where it is.
    public_precision = models.CharField(
        max_length=8, choices=PublicPrecision.choices, default=PublicPrecision.HIDDEN
    )
    observes_public_holidays = models.BooleanField(default=True)
    service_s = models.PositiveIntegerField(default=480)
    # By the community's clock; a visit is best then, and may come at other open hours too.
    prefers_from = models.TimeField(null=True, blank=True)
    prefers_until = models.TimeField(null=True, blank=True)
    status = models.CharField(max_length=10, choices=Status.choices)
    status_reason = models.CharField(max_length=240, blank=True)
    created_at = models.DateTimeField()
    admitted_at = models.DateTimeField(null=True, blank=True)
    admitted_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "name", "address"], name="place_unique"),
            models.CheckConstraint(
                condition=Q(longitude__gte=-180, longitude__lte=180), name="place_longitude"
            ),
            models.CheckConstraint(
                condition=Q(latitude__gte=-90, latitude__lte=90), name="place_latitude"
            ),
            models.CheckConstraint(
                condition=Q(prefers_from__isnull=True, prefers_until__isnull=True)
                | Q(
                    prefers_from__isnull=False,
                    prefers_until__isnull=False,
                    prefers_from__lt=F("prefers_until"),
                ),
                name="place_prefers",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class AccessWindow(CommunityRow):
    """A weekly time, by the community's clock, in which one can come."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="windows")
    weekday = models.PositiveSmallIntegerField()  # 0 is Monday, as ISO 8601 less one
    opens = models.TimeField()
    closes = models.TimeField()

    class Meta:
        ordering = ["weekday", "opens"]
        constraints = [
            models.CheckConstraint(condition=Q(weekday__lte=6), name="window_weekday"),
            models.CheckConstraint(condition=Q(opens__lt=F("closes")), name="window_order"),
        ]


class CalendarSpan(CommunityRow):
    """Days of a term (outside of all terms the place is shut) or of a closure."""

    class Kind(models.TextChoices):
        TERM = "term", "term"
        CLOSURE = "closure", "closure"

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="spans")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    first_day = models.DateField()
    last_day = models.DateField()
    label = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(first_day__lte=F("last_day")), name="span_order")
        ]


class Agreement(CommunityRow):
    """A place sets aside a stream for a maker, from a date, under a rule version."""

    class Status(models.TextChoices):
        ASKED = "asked", "asked for"
        RUNNING = "running", "running"
        ENDED = "ended", "ended"

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="agreements")
    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="agreements")
    rule_version = models.ForeignKey(
        RuleVersion, on_delete=models.PROTECT, related_name="agreements"
    )
    # The item mostly set aside: its bulk density turns volume to mass before the first weighing.
    main_item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    status = models.CharField(max_length=8, choices=Status.choices)
    starts_on = models.DateField()
    # The last day on which it holds; an hourly task marks those as ended whose last day is past.
    ends_on = models.DateField(null=True, blank=True)
    end_reason = models.CharField(max_length=240, blank=True)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "place", "stream"],
                condition=~Q(status="ended"),
                name="agreement_once_at_a_time",
            )
        ]


class Container(CommunityRow):
    """A tagged bag, crate, bin or drum of known volume and tare, at a place, for one agreement."""

    class Kind(models.TextChoices):
        BAG = "bag", "bag"
        CRATE = "crate", "crate"
        BIN = "bin", "bin"
        DRUM = "drum", "drum"

    agreement = models.ForeignKey(Agreement, on_delete=models.PROTECT, related_name="containers")
    tag = models.CharField(max_length=20)
    kind = models.CharField(max_length=6, choices=Kind.choices)
    volume_ml = models.PositiveIntegerField()
    tare_g = models.PositiveIntegerField()
    placed_at = models.DateTimeField()
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["tag"]
        constraints = [
            models.UniqueConstraint(fields=["community", "tag"], name="container_tag_unique"),
            models.CheckConstraint(condition=Q(volume_ml__gt=0), name="container_volume"),
        ]


class FillReport(CommunityRow):
    """Someone says how full a container is."""

    class Origin(models.TextChoices):
        CONTACT = "contact", "contact"
        DRIVER = "driver", "driver"
        EMPTIED = "emptied", "emptied at a pickup"
        COUNTER = "counter", "at a shared device"

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="fill_reports")
    # How full it was; one that was emptied was that full just before and is empty just after.
    percent = models.PositiveSmallIntegerField()
    origin = models.CharField(max_length=8, choices=Origin.choices)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["community", "container", "-at"], name="fill_latest")]
        constraints = [
            # A heaped bag is more than full; past half again it is a second bag.
            models.CheckConstraint(condition=Q(percent__lte=150), name="fill_percent")
        ]


class FillHabits(CommunityRow):
    """How places of a kind fill, learned each night from all that were emptied.

    As fractions of their containers' volumes; see `network.places.core.habits`.
    """

    place_kind = models.CharField(max_length=10, choices=Place.Kind.choices)
    log_rate = models.FloatField()
    spread = models.FloatField()
    burst = models.FloatField()
    # How likely a place's rate jumps on a working day.
    jump_chance = models.FloatField()
    # From Monday to Sunday, how much more or less is put in than on the mean.
    weekdays = models.JSONField()
    # How many containers all this rests on.
    containers = models.PositiveIntegerField()
    learned_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "place_kind"], name="fill_habits_once"),
            models.CheckConstraint(
                condition=Q(spread__gt=0, burst__gt=0), name="fill_habits_positive"
            ),
        ]


class PlaceImport(CommunityRow):
    """A spreadsheet of places that was read and, once all its rows are right, saved whole."""

    class Status(models.TextChoices):
        PREVIEW = "preview", "previewed"
        SAVED = "saved", "saved"

    file_name = models.CharField(max_length=160)
    # What the reader made of it: rows, errors, warnings, unknown columns.
    preview = models.JSONField()
    status = models.CharField(max_length=8, choices=Status.choices)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")


class Counter(CommunityRow):
    """A shared device of a place, at its counter or in its hall, that can say how full it is.

    Nobody is signed in there; only the hash of what it shows is kept.
    """

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="counters")
    name = models.CharField(max_length=80)
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
