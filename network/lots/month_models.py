"""Sums by month, kept beside the ledger's lines by triggers, and the lines they are sums of.

A sum is never updated: each write adds rows of what it changes, so that writers at once never wait
for each other, and rows of one key are put together from time to time (`folded`). A line that was
written alone is summed later, too (`UnsummedLine`). Whoever reads adds up all rows of a total:
those of the sums, and what the lines count that are not summed yet. What a row counts can be worked
out anew: the views below state it line by line.
"""

from django.db import models

from network.materials.models import Stream
from network.people.models import Community, CommunityRow, District, Organisation
from network.places.models import Place

# What a report counts of a month or a line, as `_Masses` below has it.
MASSES = ("collected_g", "weighed_g", "home_g", "turned_away_g", "residue_g", "late_g")


def _to(table: type[models.Model], *, null: bool = False) -> "models.ForeignKey[object, object]":
    """Return a reference that costs a write nothing: what it leads to is asked of the lines."""
    return models.ForeignKey(
        table,
        on_delete=models.DO_NOTHING,
        null=null,
        related_name="+",
        db_constraint=False,
        db_index=False,
    )


class _CheapRow(CommunityRow):
    """A row whose community costs a write nothing, as in `_to`."""

    community = models.ForeignKey(
        Community,
        on_delete=models.DO_NOTHING,
        related_name="+",
        db_constraint=False,
        db_index=False,
    )

    class Meta:
        abstract = True


class _Key(_CheapRow):
    """What all sums are told apart by; the month is that of the community's clock."""

    month = models.DateField()
    maker = _to(Organisation)
    stream = _to(Stream)
    # Where the lot came from, while it comes from one place only.
    district = _to(District, null=True)
    place_kind = models.CharField(max_length=10, null=True)  # noqa: DJ001  # a mix has no place

    class Meta:
        abstract = True


class UnsummedLine(_CheapRow):
    """A line of the ledger, by its id, that is not in the sums yet.

    Its removal and its sums are one transaction.
    """


class _Flow(_Key):
    """Mass that went from one kind of account to another, by why and on what evidence."""

    # Of a reversing line: the reason of what it reverses.
    reason = models.CharField(max_length=14)
    from_kind = models.CharField(max_length=10)
    to_kind = models.CharField(max_length=10)
    undone = models.BooleanField()
    late = models.BooleanField()
    # Whether a scale has had the lot, at the doorstep or later, and still counts.
    on_scale = models.BooleanField()
    lines = models.IntegerField()
    mass_g = models.BigIntegerField()

    class Meta:
        abstract = True


class FlowSum(_Flow):
    """The lines of a month that are alike, added up."""

    folded = models.BooleanField(default=False)

    class Meta:
        indexes = [models.Index(fields=["community", "month"], name="flow_sum_month")]


class FlowTotal(_Flow):
    """The rows of `FlowSum`, and each line that is not summed yet (a view)."""

    class Meta:
        managed = False
        db_table = "lots_flowtotal"


class FlowLine(_Flow):
    """One line of the ledger as the sums see it (a view)."""

    lot_id = models.UUIDField()
    place = _to(Place, null=True)
    counts_at = models.DateTimeField()

    class Meta:
        managed = False
        db_table = "lots_flowline"


class _Masses(_Key):
    """What a report counts, by the lines' kinds of account; a reversal against what it undoes."""

    # A group without any line is not there.
    lines = models.BigIntegerField()
    collected_g = models.BigIntegerField()
    weighed_g = models.BigIntegerField()
    home_g = models.BigIntegerField()
    turned_away_g = models.BigIntegerField()
    residue_g = models.BigIntegerField()
    # Of what was unloaded and neither turned away nor taken out: written down late.
    late_g = models.BigIntegerField()

    class Meta:
        abstract = True


class MassSum(_Masses):
    """What follows from the folded flows of a month: one row where flows have many."""

    class Meta:
        indexes = [models.Index(fields=["community", "month"], name="mass_sum_month")]


class MassMonth(_Masses):
    """The masses of a month: those kept ready, and what was added since (a view)."""

    class Meta:
        managed = False
        db_table = "lots_massmonth"


class MassLine(_Masses):
    """What one line adds to the masses of its month (a view)."""

    lot_id = models.UUIDField()
    place = _to(Place, null=True)
    counts_at = models.DateTimeField()

    class Meta:
        managed = False
        db_table = "lots_massline"


class PlaceMonth(CommunityRow):
    """A month that is over, of which sums by place are kept."""

    community = models.ForeignKey(Community, on_delete=models.DO_NOTHING, related_name="+")
    month = models.DateField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["community", "month"], name="place_month_once")
        ]


class StandingPlaceMonth(CommunityRow):
    """The same, where nothing was written since that counts in it (a view)."""

    month = models.DateField()

    class Meta:
        managed = False
        db_table = "lots_standingplacemonth"


class PlaceMass(_Masses):
    """The masses of a month by place, where the month is a `PlaceMonth`."""

    place = _to(Place, null=True)

    class Meta:
        indexes = [models.Index(fields=["community", "month"], name="place_mass_month")]


class VisitSum(_Key):
    """How often a maker came to a place and took something; a day at one place is one visit.

    Without a stream: whichever was taken. One visit can bring several, so these do not add up.
    """

    stream = _to(Stream, null=True)
    visits = models.IntegerField()
    folded = models.BooleanField(default=False)

    class Meta:
        indexes = [models.Index(fields=["community", "month"], name="visit_sum_month")]


class PlaceVisits(_Key):
    """The visits of a month by place, as in `VisitSum`, where the month is a `PlaceMonth`."""

    stream = _to(Stream, null=True)
    place = _to(Place)
    visits = models.IntegerField()

    class Meta:
        indexes = [models.Index(fields=["community", "month"], name="place_visits_month")]


class VisitTotal(_Key):
    """The rows of `VisitSum`, and visits that lines add which are not summed yet (a view)."""

    stream = _to(Stream, null=True)
    visits = models.IntegerField()

    class Meta:
        managed = False
        db_table = "lots_visittotal"


class VisitLine(_Key):
    """What was taken from a container, and on which day of the community's clock (a view)."""

    place = _to(Place)
    made_at = models.DateTimeField()
    day = models.DateField()
    counts_at = models.DateTimeField()
    # Whether it was not reversed.
    standing = models.BooleanField()

    class Meta:
        managed = False
        db_table = "lots_visitline"


class _Error(_Key):
    """What the masses unloaded in a month are uncertain by, by common cause (GUM 5.1.2, 5.2.2)."""

    cause = models.TextField()
    shared_mg = models.BigIntegerField()
    own_mg2 = models.DecimalField(max_digits=38, decimal_places=0)

    class Meta:
        abstract = True


class ErrorSum(_Error):
    """The same of the lines that are alike, added up."""

    folded = models.BooleanField(default=False)

    class Meta:
        indexes = [models.Index(fields=["community", "month"], name="error_sum_month")]


class ErrorTotal(_Error):
    """The rows of `ErrorSum`, and each line that is not summed yet (a view)."""

    class Meta:
        managed = False
        db_table = "lots_errortotal"


class ErrorLine(_Error):
    """One line that unloads a lot, with the lot's last weighing that still counts (a view)."""

    lot_id = models.UUIDField()
    place = _to(Place, null=True)
    counts_at = models.DateTimeField()

    class Meta:
        managed = False
        db_table = "lots_errorline"
