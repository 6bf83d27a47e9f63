"""What a report states of a month by place, kept for months that are over.

By place there are nearly as many sums as a busy week has lines, and no writer should have to add to
them. So they are made from the lines of a month that is over, and stand until something is written
that counts in it: then the month has flows that are not folded, or folding them has taken its mark
away, and it is read line by line until it is made anew.
"""

from importlib import import_module

import django.db.models.deletion
from django.db import migrations, models

import network.ids

_FOLD: str = import_module("network.lots.migrations.0008_report_sums").FOLD
_KEY = "community_id, month, maker_id, stream_id, district_id, place_kind"
_WHICHEVER = _KEY.replace("stream_id", "NULL::uuid AS stream_id")
_MASSES = "collected_g", "weighed_g", "home_g", "turned_away_g", "residue_g", "late_g"
_NAMES = ", ".join(("lines", *_MASSES))
_SUMS = ", ".join(f"sum({name})::bigint AS {name}" for name in ("lines", *_MASSES))

_STANDING = """
CREATE VIEW lots_standingplacemonth AS
SELECT kept.id, kept.community_id, kept.month FROM lots_placemonth kept
 WHERE NOT EXISTS (SELECT FROM lots_flowsum added
                    WHERE NOT added.folded AND added.community_id = kept.community_id
                      AND added.month = kept.month);
"""


def _masses(where: str) -> str:
    return f"""
    SELECT {_KEY}, place_id, {_SUMS} FROM lots_massline WHERE {where}
     GROUP BY {_KEY}, place_id HAVING sum(lines) <> 0"""


def _visits(where: str) -> str:
    return f"""
    SELECT {_KEY}, place_id, count(*) AS visits FROM (
        SELECT DISTINCT {_KEY}, place_id, day FROM lots_visitline WHERE standing AND {where}
        UNION ALL
        SELECT DISTINCT {_WHICHEVER}, place_id, day FROM lots_visitline
         WHERE standing AND {where}) visit
     GROUP BY {_KEY}, place_id"""


# Nobody folds meanwhile, who would take away a mark that is only being made.
_KEEP = f"""
CREATE FUNCTION lots_keep_place_months(most integer) RETURNS integer LANGUAGE plpgsql AS $$
DECLARE
    one record;
    made integer := 0;
BEGIN
    IF NOT pg_try_advisory_xact_lock(hashtextextended('fold sums', 0)) THEN
        RETURN 0;
    END IF;
    FOR one IN
        SELECT flow.community_id, flow.month,
               flow.month::timestamp AT TIME ZONE community.timezone AS since,
               (flow.month + interval '1 month') AT TIME ZONE community.timezone AS until
          FROM (SELECT community_id, month, bool_and(folded) AS folded
                  FROM lots_flowsum GROUP BY community_id, month) flow
          JOIN people_community community ON community.id = flow.community_id
         WHERE flow.folded
           AND flow.month < date_trunc('month', now() AT TIME ZONE community.timezone)
           AND NOT EXISTS (SELECT FROM lots_placemonth kept
                            WHERE kept.community_id = flow.community_id
                              AND kept.month = flow.month)
         ORDER BY flow.month DESC LIMIT most
    LOOP
        DELETE FROM lots_placemass
         WHERE community_id = one.community_id AND month = one.month;
        DELETE FROM lots_placevisits
         WHERE community_id = one.community_id AND month = one.month;
        INSERT INTO lots_placemass (id, {_KEY}, place_id, {_NAMES})
        SELECT gen_random_uuid(), found.* FROM ({_masses("{here}")}) found;
        INSERT INTO lots_placevisits (id, {_KEY}, place_id, visits)
        SELECT gen_random_uuid(), found.* FROM ({_visits("{here}")}) found;
        INSERT INTO lots_placemonth (id, community_id, month)
        VALUES (gen_random_uuid(), one.community_id, one.month);
        made := made + 1;
    END LOOP;
    RETURN made;
END $$;
""".replace(
    "{here}",
    "community_id = one.community_id AND counts_at >= one.since AND counts_at < one.until",
)

# What the rows of months that stand should be.
_ANEW = f"""
CREATE VIEW lots_placemassanew AS {_masses("{standing}")};
CREATE VIEW lots_placevisitsanew AS {_visits("{standing}")};
CREATE VIEW lots_standingplacemass AS SELECT * FROM lots_placemass WHERE {{standing}};
CREATE VIEW lots_standingplacevisits AS SELECT * FROM lots_placevisits WHERE {{standing}};
""".replace(
    "{standing}",
    "(community_id, month) IN (SELECT community_id, month FROM lots_standingplacemonth)",
)

# In the statement that folds a month's flows, so that no month stands whose flows have changed.
_FOLD_AND_UNMARK = _FOLD.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION").replace(
    """, former AS (
        DELETE FROM lots_masssum""",
    """, unmarked AS (
        DELETE FROM lots_placemonth USING stirred
         WHERE lots_placemonth.community_id = stirred.community_id
           AND lots_placemonth.month = stirred.month
    ), former AS (
        DELETE FROM lots_masssum""",
)

# By another clock a line can be of another month.
_MOVE_CLOCK = """
CREATE OR REPLACE FUNCTION lots_move_clock() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM lots_build_sums(NEW.id);
    DELETE FROM lots_placemonth WHERE community_id = NEW.id;
    RETURN NULL;
END $$;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("lots", "0009_few_lots_looked_at"),
        ("materials", "0002_rule_versions_stand"),
        ("people", "0006_trail_is_append_only"),
        ("places", "0004_counters"),
    ]

    operations = [
        migrations.CreateModel(
            name="StandingPlaceMonth",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=network.ids.new_id,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("month", models.DateField()),
            ],
            options={
                "db_table": "lots_standingplacemonth",
                "managed": False,
            },
        ),
        migrations.CreateModel(
            name="PlaceMass",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=network.ids.new_id,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("month", models.DateField()),
                ("place_kind", models.CharField(max_length=10, null=True)),
                ("lines", models.BigIntegerField()),
                ("collected_g", models.BigIntegerField()),
                ("weighed_g", models.BigIntegerField()),
                ("home_g", models.BigIntegerField()),
                ("turned_away_g", models.BigIntegerField()),
                ("residue_g", models.BigIntegerField()),
                ("late_g", models.BigIntegerField()),
                (
                    "community",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="people.community",
                    ),
                ),
                (
                    "district",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="people.district",
                    ),
                ),
                (
                    "maker",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="people.organisation",
                    ),
                ),
                (
                    "place",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="places.place",
                    ),
                ),
                (
                    "stream",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="materials.stream",
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["community", "month"], name="place_mass_month")],
            },
        ),
        migrations.CreateModel(
            name="PlaceMonth",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=network.ids.new_id,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("month", models.DateField()),
                (
                    "community",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="people.community",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("community", "month"), name="place_month_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="PlaceVisits",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=network.ids.new_id,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("month", models.DateField()),
                ("place_kind", models.CharField(max_length=10, null=True)),
                ("visits", models.IntegerField()),
                (
                    "community",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="people.community",
                    ),
                ),
                (
                    "district",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="people.district",
                    ),
                ),
                (
                    "maker",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="people.organisation",
                    ),
                ),
                (
                    "place",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="places.place",
                    ),
                ),
                (
                    "stream",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="materials.stream",
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["community", "month"], name="place_visits_month")],
            },
        ),
        # Not to be undone: the former functions stand in the migrations that made them.
        migrations.RunSQL([_STANDING, _KEEP, _ANEW, _FOLD_AND_UNMARK, _MOVE_CLOCK]),
    ]
