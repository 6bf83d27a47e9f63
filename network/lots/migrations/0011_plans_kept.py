"""Plan what triggers ask of the lines once, count visits no further than they matter, add quickly.

What is looked up by an array was planned anew for each write, since a plan for the array at hand
looks cheaper than one for any array; the planning took five times as long as the looking up. And
where a place is emptied many times a day, each bag looked at all those before it: it needs to know
only whether there is any other.

PostgreSQL adds whole numbers of eight bytes up as decimals, in case they outgrow eight bytes. Grams
do not (nine million million tonnes), and an overflow is an error here.
"""

from importlib import import_module

from django.db import migrations

_KEPT = import_module("network.lots.migrations.0006_month_sums_kept")
_ALL_LINES = "SELECT count(*) AS lines FROM lots_visitline other"
# More than were just added: whether any others are there shows as well as how many.
_SOME_LINES = "SELECT count(*) AS lines FROM (SELECT FROM lots_visitline other"
_OF_STREAM = "other.stream_id = written.stream_id)) there"
_OF_STREAM_SOME = "other.stream_id = written.stream_id) LIMIT abs(more) + 1) few) there"
_WHOLE_SUM = """
CREATE AGGREGATE lots_whole_sum(bigint) (
    SFUNC = int8pl, STYPE = bigint, COMBINEFUNC = int8pl, PARALLEL = SAFE)"""
_HOT = ("lots_add_visits(uuid[], uuid[])", "lots_revalue(uuid[], uuid[])")


def replacing(function: str) -> str:
    return function.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION").split(
        "CREATE TRIGGER", maxsplit=1
    )[0]


def in_order_of_time(function: str) -> str:
    """Give rows ids that come one after the other, so that they go where the last one went."""
    return function.replace("gen_random_uuid()", "uuidv7()")


def _counting_some(function: str) -> str:
    return function.replace(_ALL_LINES, _SOME_LINES).replace(_OF_STREAM, _OF_STREAM_SOME)


class Migration(migrations.Migration):
    dependencies = [("lots", "0010_place_sums")]

    operations = [
        migrations.RunSQL(
            [
                _WHOLE_SUM,
                replacing(in_order_of_time(_counting_some(_KEPT.ADD_VISITS))),
                replacing(in_order_of_time(_KEPT.SUM_MOVEMENTS)),
                *(
                    f"ALTER FUNCTION {name} SET plan_cache_mode = force_generic_plan"
                    for name in _HOT
                ),
            ],
            [
                *(f"ALTER FUNCTION {name} RESET plan_cache_mode" for name in _HOT),
                replacing(_KEPT.SUM_MOVEMENTS),
                replacing(_KEPT.ADD_VISITS),
                "DROP AGGREGATE lots_whole_sum(bigint)",
            ],
        )
    ]
