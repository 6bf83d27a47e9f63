"""What the database itself refuses, whatever a program tries."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.db.models import F

from network.errors import DifferentBody, NotEnough, WrongState
from network.ids import new_id
from network.lots import services
from network.lots.core.ledger import Position, Posting
from network.lots.ledger import post
from network.lots.models import Account, Finding, Inspection, Lot, LotParent, Movement, Weighing
from network.lots.queries.balances import ledger_faults
from network.people.models import User
from tests.services.lots_story import CLEAN, MORNING, Story, balances_g, make_story

pytestmark = pytest.mark.django_db


@pytest.fixture
def story() -> Story:
    return make_story()


@pytest.fixture
def everything(story: Story) -> Lot:
    """A lot with a row of each kind that is never changed."""
    lot = story.at_home()
    services.inspect(
        story.maker_actor,
        inspection_id=new_id(),
        lot_id=lot.id,
        observation=CLEAN,
        sample_g=1_000,
        findings=[("label", 5)],
        taken_out_g=40,
        at=MORNING,
    )
    services.split_lot(
        story.maker_actor, first_id=new_id(), lot_id=lot.id, parts_g=[500], at=MORNING
    )
    return lot


def refused(act: Callable[[], object], *, constraint: str) -> None:
    with pytest.raises(DatabaseError) as refusal, transaction.atomic():
        act()
    assert refusal.value.__cause__.diag.constraint_name == constraint  # type: ignore[union-attr]


KEPT = [
    (Movement, {"mass_g": F("mass_g") + 1}),
    (Movement, {"note": "another"}),
    (Movement, {"at": MORNING + timedelta(days=1)}),
    (Weighing, {"uncertainty_mg": 1}),
    (Inspection, {"verdict": "taken"}),
    (Finding, {"mass_g": 1}),
    (LotParent, {"mass_g": 1}),
]


@pytest.mark.usefixtures("everything")
@pytest.mark.parametrize(("model", "change"), KEPT)
def test_a_line_and_its_evidence_are_never_changed(model: type, change: dict[str, object]) -> None:
    refused(lambda: model.objects.update(**change), constraint="ledger_append_only")  # type: ignore[attr-defined]


@pytest.mark.usefixtures("everything")
@pytest.mark.parametrize("table", ["movement", "weighing", "inspection", "finding", "lotparent"])
def test_a_line_and_its_evidence_are_never_deleted(table: str) -> None:
    def delete() -> None:
        with connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM lots_{table}")  # noqa: S608  # named above

    refused(delete, constraint="ledger_append_only")


@pytest.mark.usefixtures("everything")
def test_the_ledger_is_never_emptied() -> None:
    def truncate() -> None:
        with connection.cursor() as cursor:
            # Tests empty their own tables, so the session has this trigger switched off.
            cursor.execute(
                "SET CONSTRAINTS ALL IMMEDIATE;"
                "ALTER TABLE lots_movement ENABLE TRIGGER movement_never_truncated;"
                "TRUNCATE lots_movement CASCADE"
            )

    refused(truncate, constraint="ledger_append_only")


def test_a_person_can_be_forgotten_and_no_gram_changes(story: Story, everything: Lot) -> None:
    before = list(Movement.objects.order_by("id").values_list("id", "mass_g", "at", "note"))
    User.objects.all().delete()
    assert not Movement.objects.exclude(by=None).exists()
    assert before == list(Movement.objects.order_by("id").values_list("id", "mass_g", "at", "note"))


def test_only_movements_change_a_balance(story: Story) -> None:
    lot = story.at_home()
    accounts = Account.objects.filter(lot=lot)
    for change in ({"balance_g": 5}, {"kind": "loss"}, {"holder_id": new_id()}):
        refused(
            lambda c=change: accounts.update(**c),  # type: ignore[misc]
            constraint="account_follows_movements",
        )
    refused(
        lambda: Account.objects.create(
            community=story.community, lot=lot, kind="loss", holder_id=new_id(), balance_g=5
        ),
        constraint="account_follows_movements",
    )


def _line(story: Story, lot: Lot, other: Lot, **changes: object) -> Callable[[], object]:
    """Return a bare insert of a gram from one lot's store to another's, as no service does it."""
    frm, to = (
        Account.objects.get_or_create(
            community=one.community, lot=one, kind="collected", holder_id=one.maker_id
        )[0]
        for one in (lot, other)
    )
    values = {
        "community": story.community,
        "from_account": frm,
        "to_account": to,
        "mass_g": 1,
        "reason": "merged",
        "at": MORNING,
        "recorded_at": MORNING,
        **changes,
    }
    return lambda: Movement.objects.create(**values)


def test_no_gram_crosses_from_one_community_to_another(story: Story) -> None:
    elsewhere = make_story()
    here, there = story.at_home(), elsewhere.at_home()
    refused(_line(story, here, there), constraint="movement_one_community")
    refused(_line(elsewhere, here, here), constraint="movement_two_accounts")
    other = story.at_home()
    refused(
        _line(story, here, other, weighing=there.weighings.get()),
        constraint="movement_one_community",
    )
    look = elsewhere.collect(observation=CLEAN)[2]
    refused(_line(story, here, other, inspection=look), constraint="movement_one_community")


def test_a_reversing_line_mirrors_what_it_reverses(story: Story) -> None:
    lot, other = story.at_home(), story.at_home()
    home = Movement.objects.get(reason="brought_home", from_account__lot=lot)
    refused(
        _line(story, lot, other, reverses=home, reason="reversed"),
        constraint="movement_reversal_mirrors",
    )


def test_no_store_goes_below_zero_even_past_our_own_look(story: Story) -> None:
    lot, other = story.at_home(500), story.at_home(500)
    refused(_line(story, lot, other, mass_g=501), constraint="account_balance_sign")


def test_what_only_the_database_sees_is_refused_in_our_words(
    story: Story, monkeypatch: pytest.MonkeyPatch
) -> None:
    lot = story.at_home(500)
    monkeypatch.setattr("network.lots.ledger.first_shortage", lambda *_: None)
    store = Position(kind="collected", holder_id=story.maker.id, lot_id=lot.id)
    residue = Position(kind="residue", holder_id=story.maker.id, lot_id=lot.id)
    too_much = Posting(frm=store, to=residue, mass_g=501, reason="inspected_out")
    with pytest.raises(NotEnough):
        post(story.maker_actor, [too_much], at=MORNING)
    assert balances_g(lot) == {"container": -500, "collected": 500}


def test_a_line_is_reversed_once(story: Story) -> None:
    lot = story.at_home()
    lost = services.record_loss(
        story.maker_actor,
        movement_id=new_id(),
        lot_id=lot.id,
        mass_g=80,
        note="Dried out.",
        at=MORNING,
    )
    undo: dict[str, Any] = {"reverses_id": lost.id, "note": "Read wrong.", "at": MORNING}
    undone = services.reverse_movement(story.maker_actor, movement_id=new_id(), **undo)
    assert balances_g(lot) == {"container": -8_000, "collected": 8_000}
    with pytest.raises(WrongState, match="before"):
        services.reverse_movement(story.maker_actor, movement_id=new_id(), **undo)
    with pytest.raises(WrongState, match="reversing"):
        services.reverse_movement(
            story.maker_actor,
            movement_id=new_id(),
            **{**undo, "reverses_id": undone.id},
        )


def test_an_id_used_before_changes_nothing(story: Story) -> None:
    lot = story.at_home()
    split: dict[str, Any] = {
        "first_id": new_id(),
        "lot_id": lot.id,
        "parts_g": [100],
        "at": MORNING,
    }
    services.split_lot(story.maker_actor, **split)
    before = balances_g(lot)
    with pytest.raises(DifferentBody):
        services.split_lot(story.maker_actor, **split)
    with pytest.raises(DifferentBody):
        story.collect(lot_id=lot.id)
    assert balances_g(lot) == before


def test_the_check_finds_a_balance_that_is_not_the_sum_of_its_lines(story: Story) -> None:
    lot = story.at_home()
    assert ledger_faults() == []
    with connection.cursor() as cursor:
        cursor.execute(
            "SET CONSTRAINTS ALL IMMEDIATE;"
            "ALTER TABLE lots_account DISABLE TRIGGER account_follows_movements"
        )
    Account.objects.filter(lot=lot, kind="collected").update(balance_g=7_999)
    assert [(fault.kept_g, fault.lines_g) for fault in ledger_faults()] == [(7_999, 8_000)]


def test_what_is_at_odds_with_the_model_is_refused_by_name(story: Story) -> None:
    lot, other = story.at_home(), story.at_home()
    with pytest.raises(IntegrityError, match="movement_mass"), transaction.atomic():
        _line(story, lot, other, mass_g=0)()
    with pytest.raises(IntegrityError, match="movement_reversal"), transaction.atomic():
        _line(story, lot, other, reason="reversed")()
