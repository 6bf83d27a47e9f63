"""What a report states of a month, kept ready beside the flows that it follows from.

A flow is told apart by more than any report asks for, so a month has a dozen rows of flows where a
report wants one. Folding makes that one anew from the month's flows; what was added since is read
from the flows themselves. Writers have nothing more to do.
"""

from typing import Any

import django.db.models.deletion
from django.db import migrations, models

import network.ids

_KEY = "community_id, month, maker_id, stream_id, district_id, place_kind"
_FLOW = f"{_KEY}, reason, from_kind, to_kind, undone, late, on_scale"
_COUNTED = "reason IN ('collected', 'brought_home', 'reweighed', 'turned_away', 'inspected_out')"


def _net(plus: str, minus: str) -> str:
    return f"CASE WHEN {plus} THEN mass_g WHEN {minus} THEN -mass_g ELSE 0 END"


def _out(reason: str) -> str:
    return _net(f"reason = '{reason}' AND NOT undone", f"reason = '{reason}' AND undone")


# By account kinds, so that a reversing line counts against what it undoes.
_OUTSIDE = "IN ('container', 'vehicle')"
_HOME = _net(
    f"from_kind {_OUTSIDE} AND to_kind = 'collected'",
    f"from_kind = 'collected' AND to_kind {_OUTSIDE}",
)
_TURNED_AWAY, _RESIDUE = _out("turned_away"), _out("inspected_out")
_MASSES = {
    "lines": "lines",
    "collected_g": _net("from_kind = 'container'", "to_kind = 'container'"),
    "weighed_g": _net("from_kind = 'container' AND on_scale", "to_kind = 'container' AND on_scale"),
    "home_g": _HOME,
    "turned_away_g": _TURNED_AWAY,
    "residue_g": _RESIDUE,
    "late_g": f"CASE WHEN late THEN {_HOME} - {_TURNED_AWAY} - {_RESIDUE} ELSE 0 END",
}
_NAMES = ", ".join(_MASSES)
_EACH = ", ".join(f"{stated} AS {name}" for name, stated in _MASSES.items())
_SUMS = ", ".join(f"sum({stated})::bigint AS {name}" for name, stated in _MASSES.items())
_FOLDED = f"SELECT {_KEY}, {_SUMS} FROM lots_flowsum WHERE folded AND {_COUNTED} GROUP BY {_KEY}"

VIEWS = f"""
CREATE VIEW lots_massline AS
SELECT id, {_KEY}, place_id, lot_id, counts_at, {_EACH} FROM lots_flowline WHERE {_COUNTED};

CREATE VIEW lots_massmonth AS
SELECT id, {_KEY}, {_NAMES} FROM lots_masssum
 UNION ALL
SELECT id, {_KEY}, {_EACH} FROM lots_flowsum WHERE NOT folded AND {_COUNTED};

-- What the rows kept ready should be.
CREATE VIEW lots_massfolded AS {_FOLDED};
"""


def _fold(table: str, key: str, *sums: str) -> str:
    """Put the rows of each key together, in the months where any was added."""
    added = ", ".join(f"sum({name})" for name in sums)
    nonzero = " OR ".join(f"sum({name}) <> 0" for name in sums)
    return f"""
    INSERT INTO {table} (id, {key}, {", ".join(sums)}, folded)
    SELECT gen_random_uuid(), {key}, {added}, true FROM gone GROUP BY {key} HAVING {nonzero}"""


def _gone(table: str) -> str:
    return f"""
    WITH stirred AS (
        SELECT DISTINCT community_id, month FROM {table} WHERE NOT folded
    ), gone AS (
        DELETE FROM {table} USING stirred
         WHERE {table}.community_id = stirred.community_id AND {table}.month = stirred.month
        RETURNING {table}.*
    )"""


# In one statement, so that what is kept ready follows from just the flows that were folded.
_FOLD_FLOWS = f"""
{_gone("lots_flowsum")}, flows AS ({_fold("lots_flowsum", _FLOW, "lines", "mass_g")}
    ), former AS (
        DELETE FROM lots_masssum USING stirred
         WHERE lots_masssum.community_id = stirred.community_id
           AND lots_masssum.month = stirred.month
    )
    INSERT INTO lots_masssum (id, {_KEY}, {_NAMES})
    SELECT gen_random_uuid(), {_KEY}, {_SUMS} FROM gone WHERE {_COUNTED}
     GROUP BY {_KEY} HAVING sum(lines) <> 0;"""

FOLD = f"""
CREATE OR REPLACE FUNCTION lots_fold_sums() RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    IF NOT pg_try_advisory_xact_lock(hashtextextended('fold sums', 0)) THEN
        RETURN;
    END IF;
    {_FOLD_FLOWS}
    {_gone("lots_errorsum")}
    {_fold("lots_errorsum", f"{_KEY}, cause", "shared_mg", "own_mg2")};
    {_gone("lots_visitsum")}
    {_fold("lots_visitsum", _KEY, "visits")};
END $$;
"""

# Nobody folds meanwhile, whose rows would be added to those that are made here.
BUILD = f"""
ALTER FUNCTION lots_build_sums RENAME TO lots_build_month_sums;

CREATE FUNCTION lots_build_sums(which uuid) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('fold sums', 0));
    PERFORM lots_build_month_sums(which);
    DELETE FROM lots_masssum WHERE community_id = which;
    INSERT INTO lots_masssum (id, {_KEY}, {_NAMES})
    SELECT gen_random_uuid(), {_KEY}, {_NAMES} FROM lots_massfolded WHERE community_id = which;
END $$;

INSERT INTO lots_masssum (id, {_KEY}, {_NAMES})
SELECT gen_random_uuid(), {_KEY}, {_NAMES} FROM lots_massfolded;
"""


def _key_fields() -> "list[tuple[str, models.Field[Any, Any]]]":
    """Return what all sums are told apart by, as the other tables of sums have it."""

    def to(table: str, *, null: bool = False) -> "models.Field[Any, Any]":
        return models.ForeignKey(
            table,
            on_delete=django.db.models.deletion.DO_NOTHING,
            related_name="+",
            null=null,
            db_constraint=False,
            db_index=False,
        )

    key: models.Field[Any, Any] = models.UUIDField(
        default=network.ids.new_id, editable=False, primary_key=True, serialize=False
    )
    kind: models.Field[Any, Any] = models.CharField(max_length=10, null=True)
    fields = [
        ("id", key),
        ("month", models.DateField()),
        ("place_kind", kind),
        ("community", to("people.community")),
        ("maker", to("people.organisation")),
        ("stream", to("materials.stream")),
        ("district", to("people.district", null=True)),
    ]
    return [*fields, *((name, models.BigIntegerField()) for name in _MASSES)]


class Migration(migrations.Migration):
    dependencies = [("lots", "0007_history_import")]

    operations = [
        migrations.CreateModel(
            name="MassSum",
            fields=_key_fields(),
            options={
                "indexes": [models.Index(fields=["community", "month"], name="mass_sum_month")],
            },
        ),
        migrations.CreateModel(
            name="MassMonth",
            fields=_key_fields(),
            options={"db_table": "lots_massmonth", "managed": False},
        ),
        migrations.CreateModel(
            name="MassLine",
            fields=[
                *_key_fields(),
                ("lot_id", models.UUIDField()),
                ("counts_at", models.DateTimeField()),
            ],
            options={"db_table": "lots_massline", "managed": False},
        ),
        migrations.AddField(model_name="VisitLine", name="made_at", field=models.DateTimeField()),
        # Not to be undone: the former functions stand in the migration that made them.
        migrations.RunSQL([VIEWS, FOLD, BUILD]),
    ]
