"""Triggers that keep the sums by month, and views that state line by line what they are sums of.

Each statement that writes lines or weighings adds rows of what it changes to the sums, and changes
none, so writers never wait for each other on a busy month. Three things change what was counted of
earlier lines: a lot gets a weighing, or loses one by a reversal; a place changes its kind or
district; a community changes its clock. Each has its trigger.
"""

from django.db import migrations

# A line that no later one reverses, other than those in `without`: what they are added to.
STANDING = """
NOT EXISTS (SELECT FROM lots_movement undoing WHERE undoing.reverses_id = {line}.id {but})"""
_BUT = "AND {row}.id <> ALL (without)"


def weighing_counts(weighing: str, *, without: bool) -> str:
    """Whether no difference that the weighing led to was reversed."""
    but = _BUT.format(row="undoing") if without else ""
    return f"""
NOT EXISTS (SELECT FROM lots_movement difference
              JOIN lots_movement undoing ON undoing.reverses_id = difference.id {but}
             WHERE difference.weighing_id = {weighing}.id AND difference.reason = 'reweighed')"""


def on_scale_of(lot_id: str, *, without: bool) -> str:
    """Whether the lot was weighed, by a weighing that counts."""
    but = _BUT.format(row="scaled") if without else ""
    return f"""
EXISTS (SELECT FROM lots_weighing scaled
         WHERE scaled.lot_id = {lot_id} AND scaled.method = 'weighed' {but}
           AND {weighing_counts("scaled", without=without)})"""


def month_of(line: str, timezone: str) -> str:
    """Return the month in which a line counts."""
    return f"date_trunc('month', {line}.counts_at AT TIME ZONE {timezone})::date"


MONTH = month_of("line", "community.timezone")

FLOW_LINES = f"""
CREATE VIEW lots_flowline AS
SELECT line.id, line.community_id, {MONTH} AS month, lot.maker_id, lot.stream_id,
       place.district_id, place.kind AS place_kind, COALESCE(undone.reason, line.reason) AS reason,
       giver.kind AS from_kind, taker.kind AS to_kind, line.reverses_id IS NOT NULL AS undone,
       line.counts_at > line.at AS late, {on_scale_of("giver.lot_id", without=False)} AS on_scale,
       1 AS lines, line.mass_g::bigint AS mass_g, giver.lot_id, lot.place_id, line.counts_at
  FROM lots_movement line
  JOIN people_community community ON community.id = line.community_id
  JOIN lots_account giver ON giver.id = line.from_account_id
  JOIN lots_account taker ON taker.id = line.to_account_id
  JOIN lots_lot lot ON lot.id = giver.lot_id
  LEFT JOIN places_place place ON place.id = lot.place_id
  LEFT JOIN lots_movement undone ON undone.id = line.reverses_id;
"""

# A lot is made when it is collected, so its day is the visit's.
VISIT_LINES = f"""
CREATE VIEW lots_visitline AS
SELECT line.id, line.community_id, {MONTH} AS month, lot.maker_id, lot.stream_id,
       place.district_id, place.kind AS place_kind, lot.place_id,
       (lot.made_at AT TIME ZONE community.timezone)::date AS day, lot.made_at,
       community.timezone, line.counts_at, {STANDING.format(line="line", but="")} AS standing
  FROM lots_movement line
  JOIN people_community community ON community.id = line.community_id
  JOIN lots_account giver ON giver.id = line.from_account_id
  JOIN lots_lot lot ON lot.id = giver.lot_id
  JOIN places_place place ON place.id = lot.place_id
 WHERE line.reason = 'collected';
"""


def _error_lines(*, without: bool, where: str = "") -> str:
    but = _BUT.format(row="undoing") if without else ""
    but_weighing = _BUT.format(row="weighing") if without else ""
    return f"""
SELECT line.id, line.community_id, {MONTH} AS month, lot.maker_id, lot.stream_id,
       place.district_id, place.kind AS place_kind, lot.id AS lot_id, lot.place_id, line.counts_at,
       COALESCE(last.budget ->> 'shared_by', '') AS cause,
       COALESCE((last.budget ->> 'shared_mg')::bigint, 0) AS shared_mg,
       COALESCE((last.budget ->> 'own_mg')::numeric ^ 2, 0) AS own_mg2
  FROM lots_movement line
  JOIN people_community community ON community.id = line.community_id
  JOIN lots_account giver ON giver.id = line.from_account_id
  JOIN lots_lot lot ON lot.id = giver.lot_id
  LEFT JOIN places_place place ON place.id = lot.place_id
 CROSS JOIN LATERAL (
       SELECT weighing.budget FROM lots_weighing weighing
        WHERE weighing.lot_id = lot.id {but_weighing}
          AND {weighing_counts("weighing", without=without)}
        ORDER BY weighing.at DESC, weighing.id DESC LIMIT 1) last
 WHERE line.reason = 'brought_home' AND {STANDING.format(line="line", but=but)} {where}"""


ERROR_LINES = f"CREATE VIEW lots_errorline AS {_error_lines(without=False)};"

KEY = "community_id, month, maker_id, stream_id, district_id, place_kind"
_FLOW = f"{KEY}, reason, from_kind, to_kind, undone, late, on_scale"
_ERROR = f"{KEY}, cause"


def _adding(table: str, key: str, *sums: str, folded: bool = False) -> str:
    """Return the beginning of a statement that adds rows to a table of sums."""
    added = ", ".join(f"sum({name})" for name in sums)
    return (
        f"INSERT INTO {table} (id, {key}, {', '.join(sums)}, folded)\n"
        f"    SELECT gen_random_uuid(), {key}, {added}, {str(folded).lower()}"
    )


_FLOWS = ("lots_flowsum", _FLOW, "lines", "mass_g")
_ERRORS = ("lots_errorsum", _ERROR, "shared_mg", "own_mg2")
_VISITS = ("lots_visitsum", KEY, "visits")
_ADD_FLOWS, _ADD_ERRORS, _ADD_VISITS = (_adding(*one) for one in (_FLOWS, _ERRORS, _VISITS))

# What earlier lines counted without what was just written, and count now: of lots whose weighings
# change.
REVALUE = f"""
CREATE FUNCTION lots_revalue(lot_ids uuid[], without uuid[]) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    WITH earlier AS (
        SELECT line.*, {on_scale_of("line.lot_id", without=True)} AS was_on_scale
          FROM lots_account giver
          JOIN lots_movement movement ON movement.from_account_id = giver.id
          JOIN lots_flowline line ON line.id = movement.id
         WHERE giver.lot_id = ANY (lot_ids) AND line.id <> ALL (without)
    ), sides AS (
        SELECT {_FLOW}, lines, mass_g FROM earlier WHERE on_scale <> was_on_scale
        UNION ALL
        SELECT {_FLOW.replace("on_scale", "was_on_scale")}, -lines, -mass_g
          FROM earlier WHERE on_scale <> was_on_scale
    )
    {_ADD_FLOWS} FROM sides GROUP BY {_FLOW};

    WITH sides AS (
        SELECT {_ERROR}, shared_mg, own_mg2 FROM lots_errorline
         WHERE lot_id = ANY (lot_ids) AND id <> ALL (without)
        UNION ALL
        SELECT {_ERROR}, -shared_mg, -own_mg2 FROM (
            {_error_lines(without=True, where="AND lot.id = ANY (lot_ids)")}
        ) earlier WHERE id <> ALL (without)
    )
    {_ADD_ERRORS} FROM sides GROUP BY {_ERROR} HAVING sum(shared_mg) <> 0 OR sum(own_mg2) <> 0;
END $$;
"""

# Two who take from one place on one day come one after the other, so that one visit counts once.
ADD_VISITS = f"""
CREATE FUNCTION lots_add_visits(taken uuid[], undone uuid[]) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock(visit) FROM (
        SELECT DISTINCT hashtextextended(
                   concat('visit', maker_id, place_id, day), 0) AS visit
          FROM lots_visitline WHERE id = ANY (taken || undone) ORDER BY visit) visits;

    WITH written AS (
        SELECT {KEY}, place_id, day, timezone,
               sum(CASE WHEN id = ANY (taken) THEN 1 ELSE -1 END) AS more
          FROM lots_visitline WHERE id = ANY (taken || undone)
         GROUP BY GROUPING SETS (
               ({KEY}, place_id, day, timezone),
               ({KEY.replace("stream_id, ", "")}, place_id, day, timezone))
    ), counted AS (
        SELECT {KEY}, sign(there.lines) - sign(there.lines - more) AS visits
          FROM written CROSS JOIN LATERAL (
               SELECT count(*) AS lines FROM lots_visitline other
                WHERE other.place_id = written.place_id AND other.standing
                  AND other.made_at >= written.day::timestamp AT TIME ZONE written.timezone
                  AND other.made_at < (written.day + 1)::timestamp AT TIME ZONE written.timezone
                  AND other.maker_id = written.maker_id AND other.month = written.month
                  AND (written.stream_id IS NULL OR other.stream_id = written.stream_id)) there
    )
    {_ADD_VISITS} FROM counted WHERE visits <> 0 GROUP BY {KEY};
END $$;
"""

SUM_MOVEMENTS = f"""
CREATE FUNCTION lots_sum_movements() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    undoing uuid[];
    taken uuid[];
BEGIN
    {_ADD_FLOWS} FROM lots_flowline WHERE id IN (SELECT id FROM added) GROUP BY {_FLOW};
    IF EXISTS (SELECT FROM added WHERE reason = 'brought_home') THEN
        {_ADD_ERRORS} FROM lots_errorline WHERE id IN (
            SELECT id FROM added WHERE reason = 'brought_home') GROUP BY {_ERROR};
    END IF;
    SELECT array_agg(id) FILTER (WHERE reason = 'collected'),
           array_agg(id) FILTER (WHERE reverses_id IS NOT NULL)
      INTO taken, undoing FROM added;
    IF taken IS NOT NULL OR undoing IS NOT NULL THEN
        PERFORM lots_add_visits(COALESCE(taken, '{{}}'), ARRAY(
            SELECT reverses_id FROM added WHERE reverses_id IS NOT NULL));
    END IF;
    IF undoing IS NOT NULL THEN
        PERFORM lots_revalue(
            ARRAY(SELECT giver.lot_id FROM added
                    JOIN lots_movement undone ON undone.id = added.reverses_id
                    JOIN lots_account giver ON giver.id = undone.from_account_id),
            ARRAY(SELECT id FROM added));
    END IF;
    RETURN NULL;
END $$;

CREATE TRIGGER movement_summed AFTER INSERT ON lots_movement
    REFERENCING NEW TABLE AS added
    FOR EACH STATEMENT EXECUTE FUNCTION lots_sum_movements();
"""

# Most weighings are of a new lot, which has no lines yet.
SUM_WEIGHINGS = """
CREATE FUNCTION lots_sum_weighings() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    again uuid[];
BEGIN
    SELECT array_agg(DISTINCT added.lot_id) INTO again
      FROM added JOIN lots_account account ON account.lot_id = added.lot_id;
    IF again IS NOT NULL THEN
        PERFORM lots_revalue(again, ARRAY(SELECT id FROM added));
    END IF;
    RETURN NULL;
END $$;

CREATE TRIGGER weighing_summed AFTER INSERT ON lots_weighing
    REFERENCING NEW TABLE AS added
    FOR EACH STATEMENT EXECUTE FUNCTION lots_sum_weighings();
"""

# Two rows for each visit: by its stream, and whatever it brought.
_VISITS_OF = f"""
SELECT {KEY}, count(*) AS visits FROM (
    SELECT DISTINCT {KEY}, place_id, day FROM lots_visitline WHERE standing {{where}}
    UNION ALL
    SELECT DISTINCT {KEY.replace("stream_id", "NULL::uuid AS stream_id")}, place_id, day
      FROM lots_visitline WHERE standing {{where}}) visit
 GROUP BY {KEY}"""
VISIT_MONTHS = f"CREATE VIEW lots_visitmonth AS {_VISITS_OF.format(where='')};"


def _moved(select: str, parts: str) -> str:
    """Return what a place's lines are summed as now, and before with the other sign."""
    there = select.replace("district_id", "OLD.district_id AS district_id")
    there = there.replace("place_kind", "OLD.kind AS place_kind")
    gone = ", ".join(f"-{part}" for part in parts.split(", "))
    return f"""
    (SELECT {select}, {parts} FROM here UNION ALL SELECT {there}, {gone} FROM here) sides"""


MOVE_PLACE = f"""
CREATE FUNCTION lots_move_place() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    -- Nobody writes lines meanwhile, which would be summed as the place was.
    PERFORM pg_advisory_xact_lock(hashtextextended('seal ' || NEW.community_id, 0));
    WITH here AS (SELECT * FROM lots_flowline WHERE place_id = NEW.id)
    {_ADD_FLOWS} FROM {_moved(_FLOW, "lines, mass_g")} GROUP BY {_FLOW};
    WITH here AS (SELECT * FROM lots_errorline WHERE place_id = NEW.id)
    {_ADD_ERRORS} FROM {_moved(_ERROR, "shared_mg, own_mg2")} GROUP BY {_ERROR};
    WITH here AS ({_VISITS_OF.format(where="AND place_id = NEW.id")})
    {_ADD_VISITS} FROM {_moved(KEY, "visits")} GROUP BY {KEY};
    RETURN NULL;
END $$;

CREATE TRIGGER place_summed AFTER UPDATE OF kind, district_id ON places_place
    FOR EACH ROW WHEN ((OLD.kind, OLD.district_id) IS DISTINCT FROM (NEW.kind, NEW.district_id))
    EXECUTE FUNCTION lots_move_place();
"""

_OF_COMMUNITY = "community_id = which"
BUILD = f"""
CREATE FUNCTION lots_build_sums(which uuid) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('seal ' || which, 0));
    DELETE FROM lots_flowsum WHERE {_OF_COMMUNITY};
    DELETE FROM lots_errorsum WHERE {_OF_COMMUNITY};
    DELETE FROM lots_visitsum WHERE {_OF_COMMUNITY};
    {_adding(*_FLOWS, folded=True)} FROM lots_flowline WHERE {_OF_COMMUNITY} GROUP BY {_FLOW};
    {_adding(*_ERRORS, folded=True)} FROM lots_errorline WHERE {_OF_COMMUNITY} GROUP BY {_ERROR};
    {_adding(*_VISITS, folded=True)} FROM lots_visitmonth WHERE {_OF_COMMUNITY} GROUP BY {KEY};
END $$;

CREATE FUNCTION lots_move_clock() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM lots_build_sums(NEW.id);
    RETURN NULL;
END $$;

CREATE TRIGGER community_summed AFTER UPDATE OF timezone ON people_community
    FOR EACH ROW WHEN (OLD.timezone <> NEW.timezone) EXECUTE FUNCTION lots_move_clock();

SELECT lots_build_sums(id) FROM people_community;
"""


def _fold(table: str, key: str, *sums: str) -> str:
    """Put the rows of each key together, in the months where any was added."""
    nonzero = " OR ".join(f"sum({name}) <> 0" for name in sums)
    return f"""
    WITH stirred AS (
        SELECT DISTINCT community_id, month FROM {table} WHERE NOT folded
    ), gone AS (
        DELETE FROM {table} USING stirred
         WHERE {table}.community_id = stirred.community_id AND {table}.month = stirred.month
        RETURNING {table}.*
    )
    {_adding(table, key, *sums, folded=True)} FROM gone GROUP BY {key} HAVING {nonzero};"""


FOLD = f"""
CREATE FUNCTION lots_fold_sums() RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    IF NOT pg_try_advisory_xact_lock(hashtextextended('fold sums', 0)) THEN
        RETURN;
    END IF;
    {_fold(*_FLOWS)}
    {_fold(*_ERRORS)}
    {_fold(*_VISITS)}
END $$;
"""

# A visit's other lines are found by the place and the day; what is summed never changes its lot.
INDEXES = """
CREATE INDEX lot_made_there ON lots_lot (place_id, made_at);
CREATE INDEX flow_sum_added ON lots_flowsum (community_id, month) WHERE NOT folded;
CREATE INDEX error_sum_added ON lots_errorsum (community_id, month) WHERE NOT folded;
CREATE INDEX visit_sum_added ON lots_visitsum (community_id, month) WHERE NOT folded;
CREATE TRIGGER lot_append_only BEFORE UPDATE OR DELETE ON lots_lot
    FOR EACH ROW EXECUTE FUNCTION lots_append_only();
"""

UNDO = """
DROP TRIGGER lot_append_only ON lots_lot;
DROP TRIGGER community_summed ON people_community;
DROP TRIGGER place_summed ON places_place;
DROP TRIGGER weighing_summed ON lots_weighing;
DROP TRIGGER movement_summed ON lots_movement;
DROP INDEX lot_made_there, flow_sum_added, error_sum_added, visit_sum_added;
DROP FUNCTION lots_fold_sums, lots_move_clock, lots_build_sums, lots_move_place,
    lots_sum_weighings, lots_sum_movements, lots_add_visits, lots_revalue;
DROP VIEW lots_errorline, lots_visitmonth, lots_visitline, lots_flowline;
"""


class Migration(migrations.Migration):
    dependencies = [("lots", "0005_month_sums"), ("places", "0001_initial")]

    operations = [
        migrations.RunSQL(
            [
                *(FLOW_LINES, VISIT_LINES, VISIT_MONTHS, ERROR_LINES, REVALUE, ADD_VISITS),
                *(SUM_MOVEMENTS, SUM_WEIGHINGS, MOVE_PLACE, FOLD, INDEXES, BUILD),
            ],
            UNDO,
        )
    ]
