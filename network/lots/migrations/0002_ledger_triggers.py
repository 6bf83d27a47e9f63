"""The ledger's rules that no program may break: they stand in the database.

Balances follow from movements alone. A line, and the evidence it rests on, is never changed or
deleted. Only the person who wrote it may be forgotten: erasing an account empties `by`.
"""

from django.db import migrations

POST_MOVEMENT = """
CREATE FUNCTION lots_post_movement() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    here integer;
    mirrored boolean;
BEGIN
    SELECT count(*) INTO here
      FROM lots_account a JOIN lots_lot l ON l.id = a.lot_id
     WHERE a.id IN (NEW.from_account_id, NEW.to_account_id)
       AND a.community_id = NEW.community_id AND l.community_id = NEW.community_id;
    IF here <> 2
       OR NOT EXISTS (SELECT 1 WHERE NEW.weighing_id IS NULL UNION ALL
                      SELECT 1 FROM lots_weighing w
                       WHERE w.id = NEW.weighing_id AND w.community_id = NEW.community_id)
       OR NOT EXISTS (SELECT 1 WHERE NEW.inspection_id IS NULL UNION ALL
                      SELECT 1 FROM lots_inspection i
                       WHERE i.id = NEW.inspection_id AND i.community_id = NEW.community_id)
    THEN
        RAISE EXCEPTION 'a movement, its accounts, lots and evidence are of one community'
            USING ERRCODE = 'check_violation', CONSTRAINT = 'movement_one_community';
    END IF;
    IF NEW.reverses_id IS NOT NULL THEN
        SELECT m.from_account_id = NEW.to_account_id AND m.to_account_id = NEW.from_account_id
               AND m.mass_g = NEW.mass_g AND m.reverses_id IS NULL
          INTO mirrored FROM lots_movement m WHERE m.id = NEW.reverses_id;
        IF mirrored IS NOT TRUE THEN
            RAISE EXCEPTION 'a reversing line mirrors one earlier line that is not one itself'
                USING ERRCODE = 'check_violation', CONSTRAINT = 'movement_reversal_mirrors';
        END IF;
    END IF;
    -- In the order of their ids, so that two lines at once never wait for each other.
    IF NEW.from_account_id < NEW.to_account_id THEN
        UPDATE lots_account SET balance_g = balance_g - NEW.mass_g WHERE id = NEW.from_account_id;
        UPDATE lots_account SET balance_g = balance_g + NEW.mass_g WHERE id = NEW.to_account_id;
    ELSE
        UPDATE lots_account SET balance_g = balance_g + NEW.mass_g WHERE id = NEW.to_account_id;
        UPDATE lots_account SET balance_g = balance_g - NEW.mass_g WHERE id = NEW.from_account_id;
    END IF;
    RETURN NULL;
END $$;

CREATE TRIGGER movement_posts AFTER INSERT ON lots_movement
    FOR EACH ROW EXECUTE FUNCTION lots_post_movement();
"""

NO_POST_MOVEMENT = """
DROP TRIGGER movement_posts ON lots_movement;
DROP FUNCTION lots_post_movement();
"""

KEEP_ACCOUNT = """
CREATE FUNCTION lots_keep_account() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'an account opens at zero and only movements change it'
        USING ERRCODE = 'check_violation', CONSTRAINT = 'account_follows_movements';
END $$;

CREATE TRIGGER account_opens_at_zero BEFORE INSERT ON lots_account
    FOR EACH ROW WHEN (NEW.balance_g <> 0) EXECUTE FUNCTION lots_keep_account();
CREATE TRIGGER account_follows_movements BEFORE UPDATE ON lots_account
    FOR EACH ROW WHEN (
        pg_trigger_depth() = 0
        OR (OLD.id, OLD.community_id, OLD.lot_id, OLD.kind, OLD.holder_id)
           IS DISTINCT FROM (NEW.id, NEW.community_id, NEW.lot_id, NEW.kind, NEW.holder_id)
    ) EXECUTE FUNCTION lots_keep_account();
"""

NO_KEEP_ACCOUNT = """
DROP TRIGGER account_follows_movements ON lots_account;
DROP TRIGGER account_opens_at_zero ON lots_account;
DROP FUNCTION lots_keep_account();
"""

APPEND_ONLY = """
CREATE FUNCTION lots_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' AND to_jsonb(NEW) ->> 'by_id' IS NULL
       AND to_jsonb(NEW) - 'by_id' = to_jsonb(OLD) - 'by_id'
    THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION '% is append-only: correct it by a reversing line', TG_TABLE_NAME
        USING ERRCODE = 'restrict_violation', CONSTRAINT = 'ledger_append_only';
END $$;
"""

NO_APPEND_ONLY = "DROP FUNCTION lots_append_only();"

KEPT_TABLES = ("movement", "weighing", "inspection", "finding", "lotparent")

KEEP_ROWS = "\n".join(
    f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON lots_{table}"
    " FOR EACH ROW EXECUTE FUNCTION lots_append_only();"
    for table in KEPT_TABLES
)
NO_KEEP_ROWS = "\n".join(
    f"DROP TRIGGER {table}_append_only ON lots_{table};" for table in KEPT_TABLES
)

# A table whose rows movements point to cannot be emptied without this one.
KEEP_TABLE = """
CREATE TRIGGER movement_never_truncated BEFORE TRUNCATE ON lots_movement
    FOR EACH STATEMENT EXECUTE FUNCTION lots_append_only();
"""
NO_KEEP_TABLE = "DROP TRIGGER movement_never_truncated ON lots_movement;"


class Migration(migrations.Migration):
    dependencies = [("lots", "0001_initial")]

    operations = [
        migrations.RunSQL(POST_MOVEMENT, NO_POST_MOVEMENT),
        migrations.RunSQL(KEEP_ACCOUNT, NO_KEEP_ACCOUNT),
        migrations.RunSQL(APPEND_ONLY, NO_APPEND_ONLY),
        migrations.RunSQL(KEEP_ROWS, NO_KEEP_ROWS),
        migrations.RunSQL(KEEP_TABLE, NO_KEEP_TABLE),
    ]
