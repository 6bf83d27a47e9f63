"""Whatever one stored thing is changed behind the ledger's back, it is found and named."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any, TypeAlias
from uuid import UUID

import pytest
from django.db import connection, models, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from network.ids import new_id
from network.lots import services
from network.lots.models import (
    Account,
    Finding,
    Inspection,
    Lot,
    Movement,
    Seal,
    SealedRun,
    Weighing,
)
from network.lots.month_models import ErrorSum, FlowSum, MassSum, UnsummedLine, VisitSum
from network.lots.queries.verifying import Difference, differences_of
from network.people.core.actor import Actor
from network.people.models import Community, CommunityRow, Role
from tests.factories import CommunityFactory, acting
from tests.services.lots_story import CLEAN, Story, make_story
from tests.services.reports_story import NOVEMBER, OCTOBER, bring

pytestmark = pytest.mark.django_db

Table = type[CommunityRow]
AnyField: TypeAlias = "models.Field[Any, Any]"
DECEMBER = datetime(2025, 12, 2, 10, tzinfo=UTC)
SUMS: tuple[Table, ...] = (FlowSum, MassSum, VisitSum, ErrorSum)
# Who did it may be forgotten. Whose lot and evidence these are is said by the line itself; a run's
# id names nothing.
FREE = {
    *((table, "by_id") for table in (Movement, Weighing, Inspection, Seal)),
    *((table, "community_id") for table in (Lot, Weighing, Inspection, Finding)),
    (Finding, "inspection_id"),
    (SealedRun, "id"),
    # Of sums only what they say counts, in however many rows.
    *((table, name) for table in SUMS for name in ("id", "folded")),
}
TABLES: tuple[Table, ...] = (
    *(Movement, Account, Lot, Weighing, Inspection, Finding, Seal, SealedRun),
    *SUMS,
)
FIELDS = [
    (table, field)
    for table in TABLES
    for field in table._meta.concrete_fields
    if (table, field.attname) not in FREE
]


@dataclass(frozen=True, kw_only=True)
class Closed:
    """A community whose ledger is closed up to November, and one more to move things to."""

    story: Story
    organiser: Actor
    other: Community

    @property
    def community(self) -> Community:
        return self.story.community


@pytest.fixture
def closed() -> Closed:
    story = make_story()
    organiser = acting(story.community, Role.ORGANISER)
    for at, last_day in ((OCTOBER, date(2025, 10, 31)), (NOVEMBER, date(2025, 11, 30))):
        lot = bring(story, story.container, at, net_g=8_001)
        _inspect(story, lot, at)
        services.seal_period(organiser, seal_id=new_id(), last_day=last_day)
    services.fold_sums()
    _allow_everything()
    return Closed(story=story, organiser=organiser, other=CommunityFactory.create())


def _allow_everything() -> None:
    """Drop the tables' checks, as whoever means to change a ledger would."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for table in TABLES:
            name = table._meta.db_table
            cursor.execute(
                "SELECT conname FROM pg_constraint WHERE conrelid = %s::regclass AND contype = 'c'",
                [name],
            )
            for (check,) in cursor.fetchall():
                cursor.execute(f'ALTER TABLE {name} DROP CONSTRAINT "{check}"')


def _inspect(story: Story, lot: Lot, at: datetime) -> None:
    services.inspect(
        story.maker_actor,
        inspection_id=new_id(),
        lot_id=lot.id,
        observation=CLEAN,
        sample_g=500,
        findings=[("label", 30), ("paper", 5)],
        taken_out_g=111,
        at=at,
    )


@contextmanager
def behind_its_back() -> Iterator[None]:
    """Do what only a superuser of the database can, with every trigger off; then undo it."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        yield
        transaction.set_rollback(True)


def another(value: Any, closed: Closed, field: AnyField) -> Any:  # noqa: PLR0911  # one for each type
    """Return a value of the same type that is not this one."""
    if field.attname == "community_id":
        return closed.other.id
    if isinstance(field, models.JSONField):
        return json.dumps({"changed": value})
    if isinstance(value, UUID):
        return UUID(int=value.int ^ 1)
    if isinstance(value, memoryview | bytes):
        return bytes([value[0] ^ 1, *value[1:]])
    if isinstance(value, int | Decimal):
        return not value if isinstance(value, bool) else value + 7
    if isinstance(value, date):
        return value + timedelta(days=1)
    if isinstance(value, str):
        return {"container": "vehicle"}.get(value, "container" if field.choices else "x")
    return {"UUIDField": new_id(), "DateField": date(2020, 1, 1)}.get(
        field.get_internal_type(), new_id() if field.is_relation else OCTOBER
    )


def change(row: CommunityRow, field: AnyField, value: Any) -> None:
    sql = f'UPDATE {row._meta.db_table} SET "{field.column}" = %s WHERE id = %s'  # noqa: S608  # names of our own columns
    with connection.cursor() as cursor:
        cursor.execute(sql, [value, row.id])


def found(closed: Closed) -> list[Difference]:
    return list(differences_of(closed.community))


def test_a_ledger_that_nobody_touched_is_sound(closed: Closed) -> None:
    bring(closed.story, closed.story.container, OCTOBER, net_g=900)
    assert found(closed) == []


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.sampled_from(FIELDS), st.integers(0, 50))
def test_any_field_of_any_row_that_is_changed_is_found(
    closed: Closed, where: tuple[Table, AnyField], which: int
) -> None:
    assert not missed(closed, where, which)


def test_each_field_of_the_first_and_the_last_row_that_is_changed_is_found(closed: Closed) -> None:
    assert not [
        fault for where in FIELDS for row in (0, -1) if (fault := missed(closed, where, row))
    ]


def missed(closed: Closed, where: tuple[Table, AnyField], which: int) -> str:
    """Change a field of one row; return what was changed if that is not found and named."""
    table, field = where
    rows = table._default_manager.filter(community=closed.community).order_by("id")
    row = list(rows)[which % len(rows)]
    value = getattr(row, field.attname)
    names = named_by(row, field)
    with behind_its_back():
        change(row, field, another(value, closed, field))
        found_ids = {difference.id for difference in found(closed)}
    return "" if names & found_ids else f"{table.__name__}.{field.attname} {value!r}"


def named_by(row: CommunityRow, field: AnyField) -> set[UUID]:
    """Return the ids of which one is to be named when a row is changed."""
    if isinstance(row, SealedRun):
        return {row.id, row.seal_id, *_line_ids(row)}
    if isinstance(row, Seal):
        return {row.id, *row.runs.values_list("id", flat=True), *_after(row), *_sealed_ids(row)}
    if isinstance(row, FlowSum | MassSum | ErrorSum | VisitSum):
        return {row.stream_id or row.maker_id}
    if isinstance(row, Account) and field.attname == "balance_g":
        return {row.id}
    return {row.id, *_resting_on(row)}


def _line_ids(run: SealedRun) -> set[UUID]:
    whole = bytes(run.line_ids)
    return {UUID(bytes=whole[at : at + 16]) for at in range(0, len(whole), 16)}


def _sealed_ids(seal: Seal) -> set[UUID]:
    return {line_id for run in seal.runs.all() for line_id in _line_ids(run)}


def _after(seal: Seal) -> set[UUID]:
    later = Seal.objects.filter(community=seal.community, number__gt=seal.number)
    return set(later.values_list("id", flat=True))


def _resting_on(row: CommunityRow) -> set[UUID]:
    """Return the lines that a lot, an account or some evidence is part of."""
    path = {
        Account: ("from_account", "to_account"),
        Lot: ("from_account__lot", "to_account__lot"),
        Weighing: ("weighing",),
        Inspection: ("inspection",),
        Finding: ("inspection__findings",),
    }.get(type(row), ())
    ids: set[UUID] = set()
    for name in path:
        ids |= set(Movement.objects.filter(**{name: row}).values_list("id", flat=True))
    return ids


@pytest.mark.parametrize("table", [Movement, Seal, SealedRun, *SUMS])
def test_a_row_that_is_taken_away_is_missed(closed: Closed, table: Table) -> None:
    row = table._default_manager.filter(community=closed.community).order_by("id")[0]
    with behind_its_back(), connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {table._meta.db_table} WHERE id = %s", [row.id])  # noqa: S608  # a table of ours
        differences = found(closed)
    assert {difference.kind for difference in differences} >= {
        {Movement: "line", Seal: "seal", SealedRun: "seal"}.get(table, "sum")
    }


@pytest.mark.parametrize("is_moved", [False, True])
def test_the_newest_seal_cut_off_or_moved_away_is_missed(closed: Closed, *, is_moved: bool) -> None:
    newest = Seal.objects.filter(community=closed.community).latest("number")
    with behind_its_back(), connection.cursor() as cursor:
        if is_moved:
            change(newest, Seal._meta.get_field("community"), closed.other.id)
        else:
            cursor.execute("DELETE FROM lots_seal WHERE id = %s", [newest.id])
        assert [(one.kind, one.id) for one in found(closed)] == [("seal", newest.id)]


def test_a_line_that_is_put_into_a_closed_period_is_named(closed: Closed) -> None:
    line = Movement.objects.filter(community=closed.community).order_by("id")[0]
    line.id = new_id()
    with behind_its_back():
        line.save(force_insert=True)
        details = {difference.id: difference.detail for difference in found(closed)}
    assert details[line.id] == "was not there when seal 1 was made"


def test_a_changed_mass_names_the_line_and_both_balances(closed: Closed) -> None:
    line = Movement.objects.filter(community=closed.community).order_by("id")[0]
    with behind_its_back():
        change(line, Movement._meta.get_field("mass_g"), line.mass_g + 1)
        differences = found(closed)
    assert {(one.kind, one.id) for one in differences} == {
        ("balance", line.from_account_id),
        ("balance", line.to_account_id),
        ("sum", line.from_account.lot.stream_id),
        ("line", line.id),
    }


@pytest.mark.parametrize("what", ["gone", "another's", "noted twice"])
def test_a_line_that_is_said_to_be_summed_or_not_is_found(closed: Closed, what: str) -> None:
    """What is summed already is not to be summed again, nor left out for good."""
    bring(closed.story, closed.story.container, DECEMBER)
    stream_id = closed.story.agreement.stream.id
    noted = UnsummedLine.objects.filter(community=closed.community)
    summed = Movement.objects.filter(community=closed.community).earliest("id")
    with behind_its_back():
        if what == "gone":
            noted.latest("id").delete()
        elif what == "another's":
            noted.update(community=closed.other)
        else:
            UnsummedLine.objects.create(id=summed.id, community=closed.community)
        differences = found(closed)
    assert {one.kind for one in differences} == {"sum"}
    assert stream_id in {one.id for one in differences}


def test_a_line_not_yet_closed_is_found_by_its_balances(closed: Closed) -> None:
    bring(closed.story, closed.story.container, DECEMBER)
    services.fold_sums()
    line = Movement.objects.latest("id")
    with behind_its_back():
        change(line, Movement._meta.get_field("mass_g"), line.mass_g - 1)
        differences = found(closed)
    assert {one.id for one in differences if one.kind == "balance"} == {
        line.from_account_id,
        line.to_account_id,
    }
    sums = [one.detail for one in differences if one.kind == "sum"]
    assert f"kept {line.mass_g}, its lines say {line.mass_g - 1}" in sums[0]


def test_what_one_community_did_to_its_ledger_is_no_matter_of_anothers(closed: Closed) -> None:
    line = Movement.objects.filter(community=closed.community).order_by("id")[0]
    with behind_its_back():
        change(line, Movement._meta.get_field("note"), "changed")
        assert list(differences_of(closed.other)) == []
        assert found(closed)
