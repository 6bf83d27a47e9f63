"""Lines of the ledger as a page shows them, each written out by the database in one piece.

Fifty lines with their accounts, lots and people are hundreds of objects, made only to be taken
apart again. What is written here is what the API says of a line; a test compares the two.
"""

from typing import Any

from django.db.models import Field, QuerySet
from django.db.models.expressions import RawSQL

from network.lots.models import Movement

# As `datetime.isoformat` writes it.
_TIME = "to_char({} AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.US\"Z\"')"
_ACCOUNT = (
    "json_build_object('kind', {0}.kind, 'holder_id', {0}.holder_id,"
    " 'lot', json_build_object('id', {0}_lot.id, 'code', {0}_lot.code))"
)
_LINE = f"""(
SELECT json_build_object(
           'id', lots_movement.id,
           'reason', lots_movement.reason,
           'mass_g', lots_movement.mass_g,
           'from_account', {_ACCOUNT.format("giver")},
           'to_account', {_ACCOUNT.format("taker")},
           'at', {_TIME.format("lots_movement.at")},
           'counts_at', {_TIME.format("lots_movement.counts_at")},
           'recorded_at', {_TIME.format("lots_movement.recorded_at")},
           'by', (SELECT name FROM people_user WHERE people_user.id = lots_movement.by_id),
           'weighing_id', lots_movement.weighing_id,
           'inspection_id', lots_movement.inspection_id,
           'reverses_id', lots_movement.reverses_id,
           'reversed_by_id', (SELECT undoing.id FROM lots_movement undoing
                               WHERE undoing.reverses_id = lots_movement.id),
           'note', lots_movement.note,
           'sealed', EXISTS (SELECT FROM lots_seal seal
                              WHERE seal.community_id = lots_movement.community_id
                                AND seal.ends_at > lots_movement.counts_at))::text
  FROM lots_account giver
  JOIN lots_lot giver_lot ON giver_lot.id = giver.lot_id
 CROSS JOIN lots_account taker
  JOIN lots_lot taker_lot ON taker_lot.id = taker.lot_id
 WHERE giver.id = lots_movement.from_account_id AND taker.id = lots_movement.to_account_id)"""  # noqa: S608  # constants of our own


def as_json(lines: QuerySet[Movement]) -> QuerySet[Movement, Any]:
    """Return the id of each line, and as `line` the JSON by which the API shows it."""
    line = RawSQL(_LINE, (), output_field=Field())  # noqa: S611  # nothing that was sent is in it
    return lines.values("id", line=line)
