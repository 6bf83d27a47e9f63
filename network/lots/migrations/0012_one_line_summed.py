"""Add a single line to the sums without putting lines together, as nearly all are written.

The statements for any number of lines join, sort and group what is one line; starting them took
longer than their work. Both ways read the same views, so what a line counts as is said once.
"""

from importlib import import_module

from django.db import migrations

_KEPT = import_module("network.lots.migrations.0006_month_sums_kept")
_PLANS = import_module("network.lots.migrations.0011_plans_kept")

_KEY = "community_id, month, maker_id, stream_id, district_id, place_kind"
_FLOW = f"{_KEY}, reason, from_kind, to_kind, undone, late, on_scale"
_VISIT = "visit.community_id, visit.month, visit.maker_id, {stream}, visit.district_id"
_OTHERS = """
EXISTS (SELECT FROM lots_visitline other
         WHERE other.id <> line_id AND other.place_id = visit.place_id AND other.standing
           AND other.made_at >= visit.day::timestamp AT TIME ZONE visit.timezone
           AND other.made_at < (visit.day + 1)::timestamp AT TIME ZONE visit.timezone
           AND other.maker_id = visit.maker_id AND other.month = visit.month {stream})"""


def _add_visit(stream: str) -> str:
    return f"""
    INSERT INTO lots_visitsum (id, {_KEY}, visits, folded)
    VALUES (uuidv7(), {_VISIT.format(stream=stream)}, visit.place_kind, 1, false);"""


# Two who take from one place on one day come one after the other, so that one visit counts once.
SUM_ONE = f"""
CREATE FUNCTION lots_sum_one(line_id uuid, because text) RETURNS void LANGUAGE plpgsql
   SET plan_cache_mode = force_generic_plan AS $$
DECLARE
    visit lots_visitline;
    others boolean;
BEGIN
    INSERT INTO lots_flowsum (id, {_FLOW}, lines, mass_g, folded)
    SELECT uuidv7(), {_FLOW}, lines, mass_g, false FROM lots_flowline WHERE id = line_id;
    IF because = 'brought_home' THEN
        INSERT INTO lots_errorsum (id, {_KEY}, cause, shared_mg, own_mg2, folded)
        SELECT uuidv7(), {_KEY}, cause, shared_mg, own_mg2, false
          FROM lots_errorline WHERE id = line_id;
    ELSIF because = 'collected' THEN
        SELECT * INTO visit FROM lots_visitline WHERE id = line_id;
        IF visit.id IS NULL THEN  -- a lot of no place
            RETURN;
        END IF;
        PERFORM pg_advisory_xact_lock(hashtextextended(
            concat('visit', visit.maker_id, visit.place_id, visit.day), 0));
        others := {_OTHERS.format(stream="")};
        IF NOT others THEN
            {_add_visit("NULL")}
        END IF;
        IF NOT others OR NOT {_OTHERS.format(stream="AND other.stream_id = visit.stream_id")} THEN
            {_add_visit("visit.stream_id")}
        END IF;
    END IF;
END $$;
"""
_BEFORE = """
DECLARE
    undoing uuid[];"""
_NOW = """
DECLARE
    first_id uuid;
    first_reason text;
    undoing uuid[];"""
_BEGIN = """
BEGIN
    INSERT INTO lots_flowsum"""
_FIRST = """
BEGIN
    IF (SELECT count(*) = 1 AND count(reverses_id) = 0 FROM added) THEN
        SELECT id, reason INTO first_id, first_reason FROM added;
        PERFORM lots_sum_one(first_id, first_reason);
        RETURN NULL;
    END IF;
    INSERT INTO lots_flowsum"""
_SUM_MANY = _PLANS.replacing(_PLANS.in_order_of_time(_KEPT.SUM_MOVEMENTS))
SUM_MOVEMENTS = _SUM_MANY.replace(_BEFORE, _NOW).replace(_BEGIN, _FIRST)


class Migration(migrations.Migration):
    dependencies = [("lots", "0011_plans_kept")]

    operations = [
        migrations.RunSQL(
            [SUM_ONE, SUM_MOVEMENTS], [_SUM_MANY, "DROP FUNCTION lots_sum_one(uuid, text)"]
        )
    ]
