from django.db import models
from django.db.models import F, Q

from network.lots.models import Account, Lot
from network.materials.models import Item, Resin, Stream
from network.people.models import CommunityRow, Organisation, User

# Settable heat sources are never set higher, whatever a community writes (common practice).
SET_C_MAX = 180
SET_C_MIN = 100


class State(models.TextChoices):
    """Where in the workshop grams of a lot can be worked on."""

    COLLECTED = Account.Kind.COLLECTED.value, "as collected"
    WASHED = Account.Kind.WASHED.value, "washed"
    SORTED = Account.Kind.SORTED.value, "sorted"
    SHREDDED = Account.Kind.SHREDDED.value, "shredded"
    OFFCUT = Account.Kind.OFFCUT.value, "offcut"


class HeatLimit(CommunityRow):
    """The highest temperature that a community allows to be set; without a row it is 180 °C."""

    set_c_max = models.PositiveSmallIntegerField()
    changed_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community"], name="heat_limit_once"),
            models.CheckConstraint(
                condition=Q(set_c_max__gte=SET_C_MIN, set_c_max__lte=SET_C_MAX),
                name="heat_limit_range",
            ),
        ]


class StreamCertainty(CommunityRow):
    """How sure an identification must be before a piece of this stream is not set aside."""

    stream = models.OneToOneField(Stream, on_delete=models.CASCADE, related_name="certainty")
    certainty_min = models.DecimalField(max_digits=4, decimal_places=3)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(certainty_min__gte="0.5", certainty_min__lt=1),
                name="stream_certainty_range",
            )
        ]


class NamedColour(CommunityRow):
    """A colour by the maker's own name, with a measured L*a*b* (D65) where there is one."""

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="colours")
    name = models.CharField(max_length=40)
    lab_l = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    lab_a = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    lab_b = models.DecimalField(max_digits=6, decimal_places=2, null=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["community", "maker", "name"], name="colour_name_unique"
            )
        ]

    def __str__(self) -> str:
        return self.name


class LotMaterial(CommunityRow):
    """What a lot is made of, as far as the maker knows."""

    class FlowCondition(models.TextChoices):
        PE = "190/2.16", "190 °C, 2.16 kg"
        PP = "230/2.16", "230 °C, 2.16 kg"

    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, related_name="material")
    resin = models.ForeignKey(Resin, on_delete=models.PROTECT, null=True, related_name="+")
    forming = models.CharField(max_length=12, choices=Item.Forming.choices, default="unknown")
    colour = models.ForeignKey(
        NamedColour, on_delete=models.PROTECT, null=True, related_name="lots"
    )
    # g/10 min, and the condition it was measured under: figures of two conditions never mix.
    melt_flow = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    melt_flow_condition = models.CharField(max_length=8, choices=FlowCondition.choices, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(melt_flow__isnull=True, melt_flow_condition="")
                | (Q(melt_flow__gt=0) & ~Q(melt_flow_condition="")),
                name="melt_flow_has_its_condition",
            )
        ]


class ProcessRun(CommunityRow):
    """One wash, delabelling, sorting or shredding: lots in, lots out, residue and loss."""

    class Kind(models.TextChoices):
        WASH = "wash", "washing"
        DELABEL = "delabel", "taking labels off"
        SORT = "sort", "sorting"
        SHRED = "shred", "shredding"

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="process_runs")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    at = models.DateTimeField()
    residue_g = models.PositiveIntegerField()
    loss_g = models.PositiveIntegerField()
    duration_s = models.PositiveIntegerField(null=True)
    water_ml = models.PositiveIntegerField(null=True)
    energy_wh = models.PositiveIntegerField(null=True)
    note = models.CharField(max_length=240, blank=True)
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")


class ProcessInput(CommunityRow):
    """Grams of a lot that went into a run."""

    run = models.ForeignKey(ProcessRun, on_delete=models.PROTECT, related_name="inputs")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=10, choices=State.choices)
    mass_g = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "run", "lot"], name="process_input_once"),
            models.CheckConstraint(condition=Q(mass_g__gt=0), name="process_input_mass"),
        ]


class ProcessOutput(CommunityRow):
    """A lot that came out of a run."""

    run = models.ForeignKey(ProcessRun, on_delete=models.PROTECT, related_name="outputs")
    lot = models.OneToOneField(Lot, on_delete=models.PROTECT, related_name="came_of")
    mass_g = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(mass_g__gt=0), name="process_output_mass")
        ]


class Recipe(CommunityRow):
    """What a maker mixes: a resin, a mass, and steps whose colours stay apart until the end."""

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="recipes")
    name = models.CharField(max_length=80)
    resin = models.ForeignKey(Resin, on_delete=models.PROTECT, related_name="+")
    mass_g = models.PositiveIntegerField()
    # [{"name", "share", "colours": [{"colour_id", "share", "give"}]}], shares as decimal texts.
    steps = models.JSONField()
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "maker", "name"], name="recipe_name_unique"
            ),
            models.CheckConstraint(condition=Q(mass_g__gt=0), name="recipe_mass"),
        ]

    def __str__(self) -> str:
        return self.name


class Batch(CommunityRow):
    """Lots charged together to make pieces, with what was bought in addition."""

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="batches")
    name = models.CharField(max_length=80)
    recipe = models.ForeignKey(
        Recipe, on_delete=models.PROTECT, null=True, blank=True, related_name="batches"
    )
    # Pigment or new resin: bought, so not of the ledger, but part of what comes out.
    additive_name = models.CharField(max_length=80, blank=True)
    additive_g = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(additive_g=0) | ~Q(additive_name=""), name="batch_additive_named"
            )
        ]

    def __str__(self) -> str:
        return self.name


class BatchCharge(CommunityRow):
    """Grams of a lot that went into a batch, and out of which state."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="charges")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="charges")
    state = models.CharField(max_length=10, choices=State.choices)
    step = models.CharField(max_length=40, blank=True)  # of the recipe, where it has several
    mass_g = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "batch", "lot", "state", "step"], name="batch_charge_once"
            ),
            models.CheckConstraint(condition=Q(mass_g__gt=0), name="batch_charge_mass"),
        ]


class Press(CommunityRow):
    """A maker's heat source and press, as their plates state them."""

    class Cooling(models.TextChoices):
        TWO_FACES = "two_faces", "between two cold faces"
        ONE_FACE = "one_face", "on one cold face"
        AIR = "air", "in still air"

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="presses")
    name = models.CharField(max_length=80)
    is_settable = models.BooleanField()
    heats_c_max = models.PositiveSmallIntegerField()
    rating_n = models.PositiveIntegerField()  # of the weakest of jack, frame and mould
    cooling = models.CharField(max_length=10, choices=Cooling.choices)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["community", "maker", "name"], name="press_name_unique"
            ),
            models.CheckConstraint(condition=Q(rating_n__gt=0), name="press_rating"),
        ]

    def __str__(self) -> str:
        return self.name


class Pressing(CommunityRow):
    """One piece or sheet under the press: what was set, the plan it followed, and how it went."""

    class Outcome(models.TextChoices):
        GOOD = "good", "good"
        NOT_MELTED = "not_melted", "not melted through"
        NOT_FILLED = "not_filled", "mould not filled"
        BUBBLES = "bubbles", "bubbles"
        WARPED = "warped", "warped"
        SMOKED = "smoked", "smoked"

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="pressings")
    press = models.ForeignKey(Press, on_delete=models.PROTECT, related_name="pressings")
    is_trial = models.BooleanField(default=False)
    resin = models.ForeignKey(Resin, on_delete=models.PROTECT, related_name="+")
    set_c = models.PositiveSmallIntegerField()
    thickness_um = models.PositiveIntegerField()
    width_mm = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()
    pressure_kpa = models.PositiveIntegerField()
    # What was reckoned when it was pressed, with its schedule.
    plan = models.JSONField()
    melted_s = models.PositiveIntegerField(null=True)
    cooled_s = models.PositiveIntegerField(null=True)
    outcome = models.CharField(max_length=12, choices=Outcome.choices, blank=True)
    note = models.CharField(max_length=240, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(thickness_um__gt=0, width_mm__gt=0, length_mm__gt=0),
                name="pressing_size",
            )
        ]


class ProductRun(CommunityRow):
    """Pieces made of a batch, with what was cut off, thrown away and lost on the way."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="products")
    name = models.CharField(max_length=80)
    pieces = models.PositiveIntegerField()
    # As weighed, with their part of what was bought in addition.
    mass_g = models.PositiveIntegerField()
    offcut_g = models.PositiveIntegerField()
    residue_g = models.PositiveIntegerField()
    loss_g = models.PositiveIntegerField()
    # Of these masses, what is not of the ledger.
    additive_g = models.PositiveIntegerField()
    additive_gone_g = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(pieces__gt=0, mass_g__gte=F("pieces")), name="product_run_pieces"
            ),
            models.CheckConstraint(
                condition=Q(additive_g__lte=F("mass_g")), name="product_run_additive"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class PriceSheet(CommunityRow):
    """What a piece must cost, with all that went into the sum."""

    maker = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="price_sheets")
    product = models.ForeignKey(
        ProductRun, on_delete=models.PROTECT, null=True, blank=True, related_name="price_sheets"
    )
    name = models.CharField(max_length=80)
    currency = models.CharField(max_length=3)
    inputs = models.JSONField()
    result = models.JSONField()
    created_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")


class Passport(CommunityRow):
    """The public page of a run of pieces; what it says is worked out from the ledger each time."""

    product = models.OneToOneField(ProductRun, on_delete=models.PROTECT, related_name="passport")
    slug = models.SlugField(max_length=20, unique=True)
    published_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
