"""`millrace verify` says community by community whether the ledger is what it was."""

from datetime import date

import pytest
from django.db import connection, transaction

from api.server.verifying import DIFFERENCES_MAX, verify
from network.ids import new_id
from network.lots import services
from network.lots.models import Movement, Seal
from network.people.models import Role
from tests.factories import acting
from tests.services.lots_story import Story, make_story
from tests.services.reports_story import OCTOBER, bring

pytestmark = pytest.mark.django_db


@pytest.fixture
def stories() -> list[Story]:
    """Two communities: the first has closed October, with more lines than are listed."""
    first, second = make_story(), make_story()
    for mass_g in range(1_000, 1_000 + DIFFERENCES_MAX):
        bring(first, first.container, OCTOBER, net_g=mass_g)
    services.seal_period(
        acting(first.community, Role.ORGANISER), seal_id=new_id(), last_day=date(2025, 10, 31)
    )
    return [first, second]


def test_a_sound_ledger_is_said_to_be_so_with_its_last_seal(
    stories: list[Story], capsys: pytest.CaptureFixture[str]
) -> None:
    verify()
    said = capsys.readouterr().out
    first, second = (story.community.slug for story in stories)
    assert f"{first}: sound" in said
    assert f"seal 1, up to 2025-10-31: {Seal.objects.get().hash}" in said
    assert f"{second}: sound\n    nothing is sealed yet" in said


def test_what_differs_is_named_and_the_command_fails(
    stories: list[Story], capsys: pytest.CaptureFixture[str]
) -> None:
    lines = Movement.objects.filter(community=stories[0].community).order_by("id")
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        lines.update(note="changed")
        with pytest.raises(SystemExit) as end:
            verify()
        transaction.set_rollback(True)
    first, second = (story.community.slug for story in stories)
    # With a text, Python prints it to standard error and exits with 1.
    assert end.value.code == f"millrace: the ledger is not what it was in: {first}."
    said = capsys.readouterr().out
    assert f"{first}: DIFFERS\n    line {lines[0].id}: is not what it was in seal 1" in said
    assert said.count("is not what it was") == DIFFERENCES_MAX
    assert f"{second}: sound" in said
