"""A rule version stands as it was published: agreements and verdicts refer to it."""

from django.db import migrations

KEEP = """
CREATE FUNCTION materials_keep_rule_version() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    -- Only the person who wrote it may be forgotten: erasing an account empties `created_by`.
    IF TG_OP = 'UPDATE'
       AND (NEW.created_by_id IS NULL OR NEW.created_by_id = OLD.created_by_id)
       AND to_jsonb(NEW) - 'created_by_id' = to_jsonb(OLD) - 'created_by_id'
    THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'a rule version is never changed or deleted; publish another'
        USING ERRCODE = 'check_violation', CONSTRAINT = 'rule_version_stands';
END
$$;
CREATE TRIGGER rule_version_stands BEFORE UPDATE OR DELETE ON materials_ruleversion
    FOR EACH ROW EXECUTE FUNCTION materials_keep_rule_version();
"""
UNDO = """
DROP TRIGGER rule_version_stands ON materials_ruleversion;
DROP FUNCTION materials_keep_rule_version();
"""


class Migration(migrations.Migration):
    dependencies = [("materials", "0001_initial")]

    operations = [migrations.RunSQL(KEEP, UNDO)]
