"""The trail is written to and read: a line is not changed, and goes only after its time.

Only a person may be forgotten: erasing an account empties `by_id` and `about_id`.
"""

from django.db import migrations

KEEP = """
CREATE FUNCTION people_keep_trail() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    forgotten people_trailentry;
BEGIN
    IF TG_OP = 'DELETE' THEN
        IF OLD.at < now() - interval '729 days' THEN RETURN OLD; END IF;
    ELSIF TG_OP = 'UPDATE' THEN
        forgotten := OLD;
        IF NEW.by_id IS NULL THEN forgotten.by_id := NULL; END IF;
        IF NEW.about_id IS NULL THEN forgotten.about_id := NULL; END IF;
        IF forgotten IS NOT DISTINCT FROM NEW THEN RETURN NEW; END IF;
    END IF;
    RAISE EXCEPTION 'the trail is append-only'
        USING ERRCODE = 'restrict_violation', CONSTRAINT = 'trail_append_only';
END $$;

CREATE TRIGGER trail_kept BEFORE UPDATE OR DELETE ON people_trailentry
    FOR EACH ROW EXECUTE FUNCTION people_keep_trail();
CREATE TRIGGER trail_not_emptied BEFORE TRUNCATE ON people_trailentry
    FOR EACH STATEMENT EXECUTE FUNCTION people_keep_trail();
"""

NO_KEEP = """
DROP TRIGGER trail_kept ON people_trailentry;
DROP TRIGGER trail_not_emptied ON people_trailentry;
DROP FUNCTION people_keep_trail();
"""


class Migration(migrations.Migration):
    dependencies = [("people", "0005_trail")]

    operations = [migrations.RunSQL(KEEP, NO_KEEP)]
