"""Sum a single line later, and until then read it as it is.

Nearly all lines are written one by one, and adding one to the sums cost a fifth of writing it. So
its id is noted, and the upkeep sums what was noted, many at once. Whoever reads sums adds the lines
that are not summed yet, by the views that state of each line what it counts as. Several lines of
one statement are summed at once, as before: by the dozen it costs little.

What a write changes of earlier lines (a lot weighed again, a line reversed, a place of another
kind) is added at once, too, but only of lines that are summed: the others are read as they are now.
Whoever does so holds the sums, shared, and nobody sums lines meanwhile. Locks are taken in this
order: the community's seal, the sums, a visit.
"""

from importlib import import_module
from typing import Any

import django.db.models.deletion
from django.db import migrations, models

import network.ids

_KEPT = import_module("network.lots.migrations.0006_month_sums_kept")
_REPORT = import_module("network.lots.migrations.0008_report_sums")
_FEW = import_module("network.lots.migrations.0009_few_lots_looked_at")
_PLANS = import_module("network.lots.migrations.0011_plans_kept")
_ONE = import_module("network.lots.migrations.0012_one_line_summed")

_KEY: str = _KEPT.KEY
_FLOW = f"{_KEY}, reason, from_kind, to_kind, undone, late, on_scale, lines, mass_g"
_ERROR = f"{_KEY}, cause, shared_mg, own_mg2"
_VISIT = f"{_KEY}, place_id, day, made_at, timezone"


def _unsummed(line_id: str) -> str:
    """Whether a line is not summed yet; OFFSET 0 has it looked up, and not joined with others."""
    return f"""
EXISTS (SELECT FROM lots_unsummedline unsummed WHERE unsummed.id = {line_id} OFFSET 0)"""


def _each(view: str, names: str, where: str = "") -> str:
    """Return what a view states of each line that is not summed.

    OFFSET 0 keeps the planner from joining whole tables before it looks for the few lines.
    """
    return f"""
SELECT line.id, {names.replace("community_id", "unsummed.community_id")}
  FROM lots_unsummedline unsummed
 CROSS JOIN LATERAL (SELECT * FROM {view} WHERE id = unsummed.id {where} OFFSET 0) line"""


def _visits(*, of_stream: bool) -> str:
    """Return the visits that no summed line has made, but one that is not summed."""
    key = _KEY if of_stream else _KEY.replace("stream_id", "NULL::uuid")
    told = "stream_id, " if of_stream else ""
    same = "AND other.stream_id = line.stream_id" if of_stream else ""
    return f"""
SELECT DISTINCT ON (community_id, month, maker_id, {told}place_id, day) id, {key}, 1
  FROM ({_each("lots_visitline", _VISIT, "AND standing")}) line
 WHERE NOT EXISTS (
       SELECT FROM lots_visitline other
        WHERE other.place_id = line.place_id AND other.standing
          AND other.made_at >= line.day::timestamp AT TIME ZONE line.timezone
          AND other.made_at < (line.day + 1)::timestamp AT TIME ZONE line.timezone
          AND other.maker_id = line.maker_id AND other.month = line.month {same}
          AND NOT {_unsummed("other.id")})"""


_READ = f"""
CREATE VIEW lots_unsummedflow AS {_each("lots_flowline", _FLOW)};

CREATE VIEW lots_flowtotal AS
SELECT id, {_FLOW} FROM lots_flowsum
 UNION ALL
SELECT id, {_FLOW} FROM lots_unsummedflow;

CREATE OR REPLACE VIEW lots_massmonth AS
SELECT id, {_KEY}, {_REPORT._NAMES} FROM lots_masssum
 UNION ALL
SELECT id, {_KEY}, {_REPORT._EACH} FROM lots_flowsum WHERE NOT folded AND {_REPORT._COUNTED}
 UNION ALL
SELECT id, {_KEY}, {_REPORT._EACH} FROM lots_unsummedflow WHERE {_REPORT._COUNTED};

CREATE VIEW lots_visittotal AS
SELECT id, {_KEY}, visits FROM lots_visitsum
 UNION ALL
({_visits(of_stream=True)})
 UNION ALL
({_visits(of_stream=False)});

CREATE VIEW lots_errortotal AS
SELECT id, {_ERROR} FROM lots_errorsum
 UNION ALL
{_each("lots_errorline", _ERROR)};

CREATE OR REPLACE VIEW lots_standingplacemonth AS
SELECT kept.id, kept.community_id, kept.month FROM lots_placemonth kept
 WHERE NOT EXISTS (SELECT FROM lots_flowsum added
                    WHERE NOT added.folded AND added.community_id = kept.community_id
                      AND added.month = kept.month)
   AND (kept.community_id, kept.month) NOT IN (
       SELECT community_id, month FROM lots_unsummedflow);
"""

_LOCK = "hashtextextended('line sums', 0)"
_HOLD = f"""
CREATE FUNCTION lots_hold_sums(which uuid) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock_shared(hashtextextended('seal ' || which, 0));
    PERFORM pg_advisory_xact_lock_shared({_LOCK});
END $$;
"""
_HOLD_OF_ADDED = """
PERFORM lots_hold_sums(community_id)
   FROM (SELECT DISTINCT community_id FROM added ORDER BY community_id) communities;"""

_BEGIN = """
BEGIN
    INSERT INTO lots_flowsum"""
_NOTE_ONE = f"""
BEGIN
    INSERT INTO lots_unsummedline (id, community_id)
    SELECT id, community_id FROM added
     WHERE reverses_id IS NULL AND NOT EXISTS (SELECT FROM added OFFSET 1);
    IF FOUND THEN
        RETURN NULL;
    END IF;
    {_HOLD_OF_ADDED}
    INSERT INTO lots_flowsum"""
_UNDONE = "SELECT reverses_id FROM added WHERE reverses_id IS NOT NULL"
_SUM_MOVEMENTS = _ONE._SUM_MANY.replace(_BEGIN, _NOTE_ONE).replace(
    _UNDONE, f"{_UNDONE} AND NOT {_unsummed('reverses_id')}"
)

_SUM_WEIGHINGS = _PLANS.replacing(_KEPT.SUM_WEIGHINGS).replace(
    "PERFORM lots_revalue", f"{_HOLD_OF_ADDED}\n        PERFORM lots_revalue"
)

# What is not summed counted nothing that could change.
_REVALUE = (
    _FEW._replacing(_KEPT.REVALUE.replace(_FEW._BY_ACCOUNT, _FEW._BY_LOT))
    .replace("AND line.id <> ALL", f"AND NOT {_unsummed('line.id')} AND line.id <> ALL")
    .replace("AND id <> ALL", f"AND NOT {_unsummed('lots_errorline.id')} AND id <> ALL")
    .replace("earlier WHERE id", f"earlier WHERE NOT {_unsummed('earlier.id')} AND id")
)

_OTHER_STANDS = "AND other.standing"
_ADD_VISITS = _PLANS.replacing(
    _PLANS.in_order_of_time(_PLANS._counting_some(_KEPT.ADD_VISITS))
).replace(_OTHER_STANDS, f"{_OTHER_STANDS} AND NOT {_unsummed('other.id')}")

_OF_PLACE = "place_id = NEW.id"
_MOVE_PLACE = (
    _PLANS.replacing(_KEPT.MOVE_PLACE)
    .replace("lots_flowline WHERE", "lots_flowline line WHERE")
    .replace("lots_errorline WHERE", "lots_errorline line WHERE")
    .replace("FROM lots_visitline WHERE", "FROM lots_visitline line WHERE")
    .replace(_OF_PLACE, f"{_OF_PLACE} AND NOT {_unsummed('line.id')}")
    .replace(
        "    WITH here", f"    PERFORM pg_advisory_xact_lock_shared({_LOCK});\n    WITH here", 1
    )
)

# Whoever has the sums, briefly, is waited for; whoever has them for long is not.
_SUM_NOTED = _PLANS.in_order_of_time(f"""
CREATE FUNCTION lots_sum_noted(most integer) RETURNS integer LANGUAGE plpgsql
    SET lock_timeout = '1s' SET plan_cache_mode = force_generic_plan AS $$
DECLARE
    noted uuid[];
BEGIN
    BEGIN
        PERFORM pg_advisory_xact_lock({_LOCK});
    EXCEPTION WHEN lock_not_available THEN
        RETURN 0;
    END;
    WITH gone AS (
        DELETE FROM lots_unsummedline
         WHERE id IN (SELECT id FROM lots_unsummedline ORDER BY id LIMIT most) RETURNING id
    )
    SELECT array_agg(id) INTO noted FROM gone;
    {_KEPT._ADD_FLOWS} FROM lots_flowline WHERE id = ANY (noted) GROUP BY {_KEPT._FLOW};
    {_KEPT._ADD_ERRORS} FROM lots_errorline WHERE id = ANY (noted) GROUP BY {_KEPT._ERROR};
    PERFORM lots_add_visits(
        ARRAY(SELECT id FROM lots_visitline WHERE id = ANY (noted) AND standing), '{{}}');
    RETURN COALESCE(cardinality(noted), 0);
END $$;
""")

_BUILD = f"""
ALTER FUNCTION lots_build_sums RENAME TO lots_build_kept_sums;

CREATE FUNCTION lots_build_sums(which uuid) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('fold sums', 0));
    PERFORM pg_advisory_xact_lock(hashtextextended('seal ' || which, 0));
    PERFORM pg_advisory_xact_lock({_LOCK});
    DELETE FROM lots_unsummedline WHERE community_id = which;
    PERFORM lots_build_kept_sums(which);
END $$;
"""


def _to(table: str, *, null: bool = False) -> "models.ForeignKey[Any, Any]":
    return models.ForeignKey(
        table,
        on_delete=django.db.models.deletion.DO_NOTHING,
        related_name="+",
        null=null,
        db_constraint=False,
        db_index=False,
    )


def _id() -> "models.UUIDField[Any, Any]":
    return models.UUIDField(
        default=network.ids.new_id, editable=False, primary_key=True, serialize=False
    )


def _key_fields() -> "list[tuple[str, models.Field[Any, Any]]]":
    """Return what all sums are told apart by."""
    kind: models.Field[Any, Any] = models.CharField(max_length=10, null=True)
    return [
        ("id", _id()),
        ("month", models.DateField()),
        ("place_kind", kind),
        ("community", _to("people.community")),
        ("maker", _to("people.organisation")),
        ("district", _to("people.district", null=True)),
    ]


def _total(name: str, *fields: "tuple[str, models.Field[Any, Any]]") -> migrations.CreateModel:
    return migrations.CreateModel(
        name=name,
        fields=[*_key_fields(), *fields],
        options={"db_table": f"lots_{name.lower()}", "managed": False},
    )


class Migration(migrations.Migration):
    dependencies = [("lots", "0012_one_line_summed")]

    operations = [
        migrations.CreateModel(
            name="UnsummedLine",
            fields=[("id", _id()), ("community", _to("people.community"))],
        ),
        _total(
            "FlowTotal",
            ("stream", _to("materials.stream")),
            ("reason", models.CharField(max_length=14)),
            ("from_kind", models.CharField(max_length=10)),
            ("to_kind", models.CharField(max_length=10)),
            ("undone", models.BooleanField()),
            ("late", models.BooleanField()),
            ("on_scale", models.BooleanField()),
            ("lines", models.IntegerField()),
            ("mass_g", models.BigIntegerField()),
        ),
        _total(
            "VisitTotal",
            ("stream", _to("materials.stream", null=True)),
            ("visits", models.IntegerField()),
        ),
        _total(
            "ErrorTotal",
            ("stream", _to("materials.stream")),
            ("cause", models.TextField()),
            ("shared_mg", models.BigIntegerField()),
            ("own_mg2", models.DecimalField(decimal_places=0, max_digits=38)),
        ),
        # Not to be undone: the former functions stand in the migrations that made them.
        migrations.RunSQL(
            [
                *(_READ, _HOLD, _SUM_MOVEMENTS, _SUM_WEIGHINGS, _REVALUE, _ADD_VISITS),
                *(_MOVE_PLACE, _SUM_NOTED, _BUILD),
            ]
        ),
    ]
