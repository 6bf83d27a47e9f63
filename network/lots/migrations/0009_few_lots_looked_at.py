"""Let whoever weighs a lot again look at the lines of that lot, and not at all lines there are.

Ten tables were joined, and PostgreSQL puts no more than eight in an order of its own
(`join_collapse_limit`): it read the whole ledger first, and then looked for the lot.
"""

from importlib import import_module

from django.db import migrations

_REVALUE = import_module("network.lots.migrations.0006_month_sums_kept").REVALUE
_BY_ACCOUNT = """
          FROM lots_account giver
          JOIN lots_movement movement ON movement.from_account_id = giver.id
          JOIN lots_flowline line ON line.id = movement.id
         WHERE giver.lot_id = ANY (lot_ids)"""
_BY_LOT = """
          FROM lots_flowline line
         WHERE line.lot_id = ANY (lot_ids)"""


def _replacing(function: str) -> str:
    return function.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION")


class Migration(migrations.Migration):
    dependencies = [("lots", "0008_report_sums")]

    operations = [
        migrations.RunSQL(_replacing(_REVALUE.replace(_BY_ACCOUNT, _BY_LOT)), _replacing(_REVALUE))
    ]
