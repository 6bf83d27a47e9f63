"""The lines of the ledger as a table to take along, however many there are."""

from collections.abc import Iterator
from itertools import islice
from zoneinfo import ZoneInfo

from django.db import transaction

from network.lots.queries.seen import movements_seen_by
from network.people.core.actor import Actor
from network.people.models import Community
from network.reports.periods import within
from network.reports.queries import Selection
from network.reports.tables import csv_of

# As many lines as are held in memory at once.
_AT_ONCE = 2_000
_COLUMNS = {
    "Line": "id",
    "Done at": "at",
    "Counted at": "counts_at",
    "Why": "reason",
    "Mass (g)": "mass_g",
    "From": "from_account__kind",
    "To": "to_account__kind",
    "Lot": "from_account__lot__code",
    "Maker": "from_account__lot__maker__name",
    "Stream": "from_account__lot__stream__name",
    "Place": "from_account__lot__place__name",
    "Reverses line": "reverses_id",
}


def lines_csv(actor: Actor, *, community: Community, period: Selection) -> Iterator[str]:
    """Yield the lines that count in a period as CSV (RFC 4180), a piece at a time, oldest first.

    Only the days of `period` count. The memory it takes does not grow with the lines.
    """
    seen = movements_seen_by(actor)
    lines = within(seen, "counts_at", period=period, zone=ZoneInfo(community.timezone))
    yield csv_of([list(_COLUMNS)])
    # In a transaction the database hands lines out as they are read, and keeps none for later.
    with transaction.atomic():
        rows = lines.order_by("counts_at", "id").values_list(*_COLUMNS.values())
        waiting = rows.iterator(chunk_size=_AT_ONCE)
        while piece := list(islice(waiting, _AT_ONCE)):
            yield csv_of(piece)
