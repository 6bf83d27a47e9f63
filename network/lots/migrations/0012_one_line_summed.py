"""Add a single line to the sums by what is read of it once, as nearly all lines are written.

The statements for any number of lines join, sort and group what is one line, and look each line up
in a view for each sum; starting them took longer than their work. Of a line that was just written
its columns are at hand: its accounts, its lot and its place are read together, for all three sums.
"""

from importlib import import_module

from django.db import migrations

_KEPT = import_module("network.lots.migrations.0006_month_sums_kept")
_PLANS = import_module("network.lots.migrations.0011_plans_kept")

_KEY = _KEPT.KEY
_ITS_KEY = ", ".join(f"its.{name}" for name in _KEY.split(", "))
_ANY_STREAM = _ITS_KEY.replace("its.stream_id", "NULL")

# What the line counts as, by the same words as in the views of all lines.
_READ = f"""
SELECT line.community_id, {_KEPT.MONTH} AS month, lot.maker_id, lot.stream_id,
       place.district_id, place.kind AS place_kind, giver.kind AS from_kind,
       taker.kind AS to_kind, {_KEPT.on_scale_of("giver.lot_id", without=False)} AS on_scale,
       giver.lot_id, lot.place_id, (lot.made_at AT TIME ZONE community.timezone)::date AS day,
       community.timezone
  INTO its
  FROM lots_account giver
  JOIN lots_account taker ON taker.id = line.to_account_id
  JOIN lots_lot lot ON lot.id = giver.lot_id
  JOIN people_community community ON community.id = line.community_id
  LEFT JOIN places_place place ON place.id = lot.place_id
 WHERE giver.id = line.from_account_id;"""

_ADD_FLOW = f"""
INSERT INTO lots_flowsum (id, {_KEY}, reason, from_kind, to_kind, undone, late, on_scale, lines,
                          mass_g, folded)
VALUES (uuidv7(), {_ITS_KEY}, line.reason, its.from_kind, its.to_kind, false,
        line.counts_at > line.at, its.on_scale, 1, line.mass_g, false);"""

_ADD_ERROR = f"""
INSERT INTO lots_errorsum (id, {_KEY}, cause, shared_mg, own_mg2, folded)
SELECT uuidv7(), {_ITS_KEY}, COALESCE(budget ->> 'shared_by', ''),
       COALESCE((budget ->> 'shared_mg')::bigint, 0),
       COALESCE((budget ->> 'own_mg')::numeric ^ 2, 0), false
  FROM lots_weighing weighing
 WHERE weighing.lot_id = its.lot_id AND {_KEPT.weighing_counts("weighing", without=False)}
 ORDER BY weighing.at DESC, weighing.id DESC LIMIT 1;"""

_THAT_DAY = """
lot.place_id = its.place_id AND lot.id <> its.lot_id
AND lot.made_at >= its.day::timestamp AT TIME ZONE its.timezone
AND lot.made_at < (its.day + 1)::timestamp AT TIME ZONE its.timezone"""


def _taken(of_stream: str = "") -> str:
    """Whether another standing line makes the visit one already, as in the views."""
    return f"""
EXISTS (SELECT FROM lots_lot lot
          JOIN lots_account giver ON giver.lot_id = lot.id
          JOIN lots_movement taken ON taken.from_account_id = giver.id
         WHERE {_THAT_DAY} AND lot.maker_id = its.maker_id {of_stream}
           AND taken.reason = 'collected'
           AND {_KEPT.month_of("taken", "its.timezone")} = its.month
           AND {_KEPT.STANDING.format(line="taken", but="")})"""


def _add_visits(*keys: str) -> str:
    rows = ", ".join(f"(uuidv7(), {key}, 1, false)" for key in keys)
    return f"INSERT INTO lots_visitsum (id, {_KEY}, visits, folded) VALUES {rows};"


# Two who take from one place on one day come one after the other, so that one visit counts once.
_ADD_VISIT = f"""
PERFORM pg_advisory_xact_lock(hashtextextended(
    concat('visit', its.maker_id, its.place_id, its.day), 0));
IF NOT EXISTS (SELECT FROM lots_lot lot WHERE {_THAT_DAY}) THEN
    {_add_visits(_ITS_KEY, _ANY_STREAM)}
ELSIF NOT {_taken("AND lot.stream_id = its.stream_id")} THEN
    {_add_visits(_ITS_KEY)}
    IF NOT {_taken()} THEN
        {_add_visits(_ANY_STREAM)}
    END IF;
END IF;"""

_BEFORE = """
DECLARE
    undoing uuid[];"""
_NOW = """
DECLARE
    line lots_movement;
    its record;
    undoing uuid[];"""
_BEGIN = """
BEGIN
    INSERT INTO lots_flowsum"""
_FIRST = f"""
BEGIN
    SELECT * INTO line FROM added;
    IF line.reverses_id IS NULL AND NOT EXISTS (SELECT FROM added OFFSET 1) THEN
        {_READ}
        {_ADD_FLOW}
        IF line.reason = 'brought_home' THEN
            {_ADD_ERROR}
        ELSIF line.reason = 'collected' AND its.place_id IS NOT NULL THEN
            {_ADD_VISIT}
        END IF;
        RETURN NULL;
    END IF;
    INSERT INTO lots_flowsum"""
_SUM_MANY = _PLANS.replacing(_PLANS.in_order_of_time(_KEPT.SUM_MOVEMENTS))
SUM_MOVEMENTS = _SUM_MANY.replace(_BEFORE, _NOW).replace(_BEGIN, _FIRST)


class Migration(migrations.Migration):
    dependencies = [("lots", "0011_plans_kept")]

    operations = [migrations.RunSQL([SUM_MOVEMENTS], [_SUM_MANY])]
