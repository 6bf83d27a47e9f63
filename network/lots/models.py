from django.db import models
from django.db.models import F, Q

from network.lots import month_models  # noqa: F401  # Django finds tables by this module
from network.materials.models import RuleVersion, Stream
from network.people.models import CommunityRow, Organisation, User
from network.places.models import Agreement, Container, Place


class Scale(CommunityRow):
    """A maker's scale, as its plate states it."""

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="scales")
    name = models.CharField(max_length=80)
    max_g = models.PositiveIntegerField()
    interval_g = models.PositiveIntegerField()  # the verification scale interval e, OIML R 76-1
    repeatability_g = models.PositiveIntegerField(default=0)
    for_trade = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "maker", "name"], name="scale_unique"),
            models.CheckConstraint(
                condition=Q(interval_g__gt=0, max_g__gt=F("interval_g")), name="scale_range"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Lot(CommunityRow):
    """An amount of one stream in one state and place that stays together."""

    code = models.CharField(max_length=20)
    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="lots")
    stream = models.ForeignKey(Stream, on_delete=models.PROTECT, related_name="lots")
    # Where it came from, while it comes from one place only (ISO 22095 'identity preserved').
    agreement = models.ForeignKey(
        Agreement, on_delete=models.PROTECT, null=True, blank=True, related_name="lots"
    )
    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, blank=True, related_name="lots"
    )
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "code"], name="lot_code_unique")
        ]

    def __str__(self) -> str:
        return self.code


class LotParent(CommunityRow):
    """How many grams of one lot went into another: a split has one parent, a mix has several."""

    child = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="parents")
    parent = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="children")
    mass_g = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "child", "parent"], name="lot_parent_once"
            ),
            models.CheckConstraint(condition=Q(mass_g__gt=0), name="lot_parent_mass"),
            models.CheckConstraint(condition=~Q(child=F("parent")), name="lot_parent_other"),
        ]


class Account(CommunityRow):
    """Where grams of one lot are: a row of the ledger's balance, kept by a trigger on movements.

    `holder_id` is the container, the vehicle, the batch, the run of pieces, or for all others the
    maker. Of imported history it is the place instead of the container, and the import instead of
    the vehicle.
    """

    class Kind(models.TextChoices):
        CONTAINER = "container", "container at a place"
        VEHICLE = "vehicle", "vehicle"
        COLLECTED = "collected", "store, as collected"
        WASHED = "washed", "store, washed"
        SORTED = "sorted", "store, sorted"
        SHREDDED = "shredded", "store, shredded"
        BATCH = "batch", "batch"
        PRODUCT = "product", "product"
        OFFCUT = "offcut", "offcut"
        RETURNED = "returned", "given back to the place"
        RESIDUE = "residue", "residue to disposal"
        PASSED_ON = "passed_on", "passed on to another recycler"
        LOSS = "loss", "loss"
        EARLIER = "earlier", "worked before the ledger began"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    holder_id = models.UUIDField()
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="accounts")
    balance_g = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "lot", "kind", "holder_id"], name="account_unique"
            ),
            # Material enters the ledger at a container, whose balance is minus what has left it;
            # no other account can give what it does not have.
            models.CheckConstraint(
                condition=Q(kind="container", balance_g__lte=0)
                | (~Q(kind="container") & Q(balance_g__gte=0)),
                name="account_balance_sign",
            ),
        ]


class Weighing(CommunityRow):
    """A mass, with how it was found, when, by whom and its standard uncertainty."""

    class Method(models.TextChoices):
        WEIGHED = "weighed", "weighed"
        COUNTED = "counted", "counted, times a unit mass"
        VOLUME = "volume", "volume, times a bulk density"
        ESTIMATED = "estimated", "estimated by eye"

    class Stage(models.TextChoices):
        DOORSTEP = "doorstep", "at the doorstep"
        WORKSHOP = "workshop", "at the workshop"

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="weighings")
    stage = models.CharField(max_length=10, choices=Stage.choices)
    method = models.CharField(max_length=10, choices=Method.choices)
    gross_g = models.PositiveIntegerField()
    tare_g = models.PositiveIntegerField()
    net_g = models.PositiveIntegerField()
    uncertainty_mg = models.PositiveIntegerField()  # standard (k = 1), JCGM 100:2008
    # The workings behind the uncertainty, so that whoever asks can follow it.
    budget = models.JSONField(default=dict)
    scale = models.ForeignKey(
        Scale, on_delete=models.PROTECT, null=True, blank=True, related_name="weighings"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(net_g=F("gross_g") - F("tare_g"), net_g__gt=0), name="weighing_net"
            ),
            models.CheckConstraint(
                condition=~Q(method="weighed") | Q(scale__isnull=False),
                name="weighing_names_its_scale",
            ),
        ]


class Inspection(CommunityRow):
    """A look at what came, with its findings and the verdict of the agreement's rules."""

    class Stage(models.TextChoices):
        DOORSTEP = "doorstep", "at the doorstep"
        WORKSHOP = "workshop", "at the workshop"

    class Verdict(models.TextChoices):
        TAKEN = "taken", "taken"
        EXTRA_WORK = "taken_with_extra_work", "taken with extra work"
        TURNED_AWAY = "turned_away", "turned away"

    agreement = models.ForeignKey(Agreement, on_delete=models.PROTECT, related_name="inspections")
    container = models.ForeignKey(
        Container, on_delete=models.PROTECT, null=True, blank=True, related_name="inspections"
    )
    # None when it was turned away at the doorstep and never came.
    lot = models.ForeignKey(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="inspections"
    )
    rule_version = models.ForeignKey(RuleVersion, on_delete=models.PROTECT, related_name="+")
    stage = models.CharField(max_length=10, choices=Stage.choices)
    # What was observed, as `materials.core.acceptance` reads it.
    observation = models.JSONField()
    sample_g = models.PositiveIntegerField(null=True, blank=True)
    verdict = models.CharField(max_length=24, choices=Verdict.choices)
    reasons = models.JSONField()
    note = models.CharField(max_length=500, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")


class Finding(CommunityRow):
    """What was found in a sample that should not be there, by mass."""

    inspection = models.ForeignKey(Inspection, on_delete=models.CASCADE, related_name="findings")
    kind = models.CharField(max_length=40)
    mass_g = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "inspection", "kind"], name="finding_once")
        ]


class Movement(CommunityRow):
    """One line of the mass ledger; append-only by trigger, corrected by a reversing line only."""

    class Reason(models.TextChoices):
        COLLECTED = "collected", "collected from a container"
        BROUGHT_HOME = "brought_home", "unloaded at the workshop"
        REWEIGHED = "reweighed", "weighed again at the workshop"
        TURNED_AWAY = "turned_away", "turned away at inspection"
        INSPECTED_OUT = "inspected_out", "taken out at inspection"
        SPLIT = "split", "split"
        MERGED = "merged", "merged"
        LOST = "lost", "lost (moisture, adhesive, handling)"
        PASSED_ON = "passed_on", "passed on"
        WASHED = "washed", "washed"
        DELABELLED = "delabelled", "labels taken off"
        SORTED = "sorted", "sorted"
        SHREDDED = "shredded", "shredded"
        CHARGED = "charged", "charged to a batch"
        MADE = "made", "made into pieces"
        TRIMMED = "trimmed", "cut off"
        WORKED_EARLIER = "worked_earlier", "worked before the ledger began"
        REVERSED = "reversed", "reverses an earlier line"

    from_account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="given")
    to_account = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="received")
    mass_g = models.PositiveIntegerField()
    reason = models.CharField(max_length=14, choices=Reason.choices)
    at = models.DateTimeField()
    # When it counts: when it was done, but never in a period that was sealed before (a trigger).
    counts_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    weighing = models.ForeignKey(
        Weighing, on_delete=models.PROTECT, null=True, blank=True, related_name="movements"
    )
    inspection = models.ForeignKey(
        Inspection, on_delete=models.PROTECT, null=True, blank=True, related_name="movements"
    )
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )
    note = models.CharField(max_length=240, blank=True)

    class Meta:
        indexes = [models.Index(fields=["community", "counts_at"], name="movement_counted")]
        constraints = [
            models.CheckConstraint(condition=Q(mass_g__gt=0), name="movement_mass"),
            models.CheckConstraint(
                condition=~Q(from_account=F("to_account")), name="movement_two_accounts"
            ),
            models.CheckConstraint(
                condition=(Q(reason="reversed") & Q(reverses__isnull=False))
                | (~Q(reason="reversed") & Q(reverses__isnull=True)),
                name="movement_reversal",
            ),
        ]


class Seal(CommunityRow):
    """A closed period: its lines hashed in a tree, and chained to the period before."""

    number = models.PositiveIntegerField()
    # By the community's days; the first period begins with the ledger.
    first_day = models.DateField(null=True)
    last_day = models.DateField()
    starts_at = models.DateTimeField(null=True)
    ends_at = models.DateTimeField()
    lines = models.PositiveIntegerField()
    late_lines = models.PositiveIntegerField()
    # What each kind of account gained in the period, in g; all together zero.
    sums_g = models.JSONField()
    root = models.CharField(max_length=64)
    former = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)
    sealed_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "number"], name="seal_number_once"),
            models.CheckConstraint(condition=Q(number__gt=0), name="seal_number"),
            models.CheckConstraint(
                condition=Q(number=1, starts_at__isnull=True, first_day__isnull=True)
                | Q(number__gt=1, starts_at__lt=F("ends_at"), first_day__lte=F("last_day")),
                name="seal_period",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.last_day}"


class SealedRun(CommunityRow):
    """A run of a seal's lines, by which a changed line is named and one line's place is proven.

    Runs have 1024 lines each, the last what is left. `line_ids` are 16 bytes for each line,
    `leaves` its hash of 32, in the order of the tree; `root` is the root over them.
    """

    seal = models.ForeignKey(Seal, on_delete=models.PROTECT, related_name="runs")
    number = models.PositiveIntegerField()
    first_id = models.UUIDField()
    line_ids = models.BinaryField()
    leaves = models.BinaryField()
    root = models.BinaryField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "seal", "number"], name="run_number_once")
        ]


class HistoryImport(CommunityRow):
    """A spreadsheet of earlier weights: read, mapped, and saved whole as movements, or undone."""

    class Status(models.TextChoices):
        PREVIEW = "preview", "previewed"
        SAVED = "saved", "saved"
        UNDONE = "undone", "undone"

    file_name = models.CharField(max_length=160)
    # The rows of the file as strings; emptied when they have had their time.
    cells = models.JSONField()
    maker = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    # What the columns mean, as somebody chose it or, until then, as it is guessed.
    columns = models.JSONField()
    # What the reader made of it by these: rows, errors, warnings, unknown names.
    preview = models.JSONField(default=dict)
    status = models.CharField(max_length=8, choices=Status.choices)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
