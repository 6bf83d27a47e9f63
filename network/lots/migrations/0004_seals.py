"""Closed periods: a line counts when it was done, but never in a period sealed before.

`counts_at` is set here and nowhere else, while no seal can be made: whoever writes a line holds the
community's lock shared, whoever seals holds it alone. So a seal has all lines of its period, and
none is added afterwards, whatever the clocks of the machines say.
"""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import network.ids

NO_APPEND_ONLY = "ALTER TABLE lots_movement DISABLE TRIGGER movement_append_only"
APPEND_ONLY = "ALTER TABLE lots_movement ENABLE TRIGGER movement_append_only"
COUNT_WHEN_DONE = "UPDATE lots_movement SET counts_at = at"

COUNT_LINE = """
CREATE FUNCTION lots_count_line() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock_shared(hashtextextended('seal ' || NEW.community_id, 0));
    NEW.counts_at := GREATEST(NEW.at, (
        SELECT ends_at FROM lots_seal
         WHERE community_id = NEW.community_id ORDER BY number DESC LIMIT 1));
    RETURN NEW;
END $$;

CREATE TRIGGER movement_counts BEFORE INSERT ON lots_movement
    FOR EACH ROW EXECUTE FUNCTION lots_count_line();
"""

NO_COUNT_LINE = """
DROP TRIGGER movement_counts ON lots_movement;
DROP FUNCTION lots_count_line();
"""

FOLLOW_SEAL = """
CREATE FUNCTION lots_follow_seal() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    last lots_seal%ROWTYPE;
BEGIN
    SELECT * INTO last FROM lots_seal
     WHERE community_id = NEW.community_id ORDER BY number DESC LIMIT 1;
    IF NEW.number <> COALESCE(last.number, 0) + 1
       OR NEW.starts_at IS DISTINCT FROM last.ends_at
       OR NEW.former <> COALESCE(last.hash, repeat('0', 64))
    THEN
        RAISE EXCEPTION 'a seal follows the one before it'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'seal_follows';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER seal_follows BEFORE INSERT ON lots_seal
    FOR EACH ROW EXECUTE FUNCTION lots_follow_seal();
"""

NO_FOLLOW_SEAL = """
DROP TRIGGER seal_follows ON lots_seal;
DROP FUNCTION lots_follow_seal();
"""

KEPT_TABLES = ("seal", "sealedrun")
KEEP_ROWS = "\n".join(
    f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON lots_{table}"
    " FOR EACH ROW EXECUTE FUNCTION lots_append_only();"
    f"CREATE TRIGGER {table}_never_truncated BEFORE TRUNCATE ON lots_{table}"
    " FOR EACH STATEMENT EXECUTE FUNCTION lots_append_only();"
    for table in KEPT_TABLES
)
NO_KEEP_ROWS = "\n".join(
    f"DROP TRIGGER {table}_append_only ON lots_{table};"
    f"DROP TRIGGER {table}_never_truncated ON lots_{table};"
    for table in KEPT_TABLES
)


class Migration(migrations.Migration):
    dependencies = [
        ("lots", "0003_workshop_reasons"),
        ("people", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Seal",
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
                ("number", models.PositiveIntegerField()),
                ("first_day", models.DateField(null=True)),
                ("last_day", models.DateField()),
                ("starts_at", models.DateTimeField(null=True)),
                ("ends_at", models.DateTimeField()),
                ("lines", models.PositiveIntegerField()),
                ("late_lines", models.PositiveIntegerField()),
                ("sums_g", models.JSONField()),
                ("root", models.CharField(max_length=64)),
                ("former", models.CharField(max_length=64)),
                ("hash", models.CharField(max_length=64)),
                ("sealed_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="SealedRun",
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
                ("number", models.PositiveIntegerField()),
                ("first_id", models.UUIDField()),
                ("line_ids", models.BinaryField()),
                ("leaves", models.BinaryField()),
                ("root", models.BinaryField()),
            ],
        ),
        migrations.RemoveIndex(
            model_name="movement",
            name="movement_time",
        ),
        migrations.AddField(
            model_name="movement",
            name="counts_at",
            field=models.DateTimeField(null=True),
        ),
        migrations.RunSQL(
            f"{NO_APPEND_ONLY}; {COUNT_WHEN_DONE}; {APPEND_ONLY}", migrations.RunSQL.noop
        ),
        migrations.AlterField(
            model_name="movement",
            name="counts_at",
            field=models.DateTimeField(),
        ),
        migrations.AddIndex(
            model_name="movement",
            index=models.Index(fields=["community", "counts_at"], name="movement_counted"),
        ),
        migrations.AddField(
            model_name="seal",
            name="by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="seal",
            name="community",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="people.community"
            ),
        ),
        migrations.AddField(
            model_name="sealedrun",
            name="community",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="people.community"
            ),
        ),
        migrations.AddField(
            model_name="sealedrun",
            name="seal",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="runs", to="lots.seal"
            ),
        ),
        migrations.AddConstraint(
            model_name="seal",
            constraint=models.UniqueConstraint(
                fields=("community", "number"), name="seal_number_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="seal",
            constraint=models.CheckConstraint(
                condition=models.Q(("number__gt", 0)), name="seal_number"
            ),
        ),
        migrations.AddConstraint(
            model_name="seal",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("first_day__isnull", True), ("number", 1), ("starts_at__isnull", True)
                    ),
                    models.Q(
                        ("first_day__lte", models.F("last_day")),
                        ("number__gt", 1),
                        ("starts_at__lt", models.F("ends_at")),
                    ),
                    _connector="OR",
                ),
                name="seal_period",
            ),
        ),
        migrations.AddConstraint(
            model_name="sealedrun",
            constraint=models.UniqueConstraint(
                fields=("community", "seal", "number"), name="run_number_once"
            ),
        ),
        migrations.RunSQL(COUNT_LINE, NO_COUNT_LINE),
        migrations.RunSQL(FOLLOW_SEAL, NO_FOLLOW_SEAL),
        migrations.RunSQL(KEEP_ROWS, NO_KEEP_ROWS),
    ]
