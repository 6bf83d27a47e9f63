"""A line of the ledger as the database writes it out is what the API says of it elsewhere."""

from datetime import date, datetime
from typing import Any

import pytest

from api.lots.serializers import MovementSerializer
from network.ids import new_id
from network.lots import services
from network.lots.queries.seen import movement_seen_by, movements_seen_by
from network.people.models import Role
from tests.api.test_lots_api import address, signed_in
from tests.services.reports_story import Months, months

pytestmark = pytest.mark.django_db

TIMES = ("at", "counts_at", "recorded_at")


@pytest.fixture
def here() -> Months:
    """Months in which lines were reversed, weighed, inspected, split and noted; one is closed."""
    here = months()
    services.seal_period(here.organiser, seal_id=new_id(), last_day=date(2025, 10, 31))
    return here


def read(line: dict[str, Any]) -> dict[str, Any]:
    """Return a line with its times read, since one moment can be written in two ways."""
    return {**line, **{name: datetime.fromisoformat(line[name]) for name in TIMES}}


@pytest.mark.parametrize("role", [Role.ORGANISER, Role.MAKER])
def test_a_page_of_lines_says_of_each_what_is_said_of_it_alone(here: Months, role: Role) -> None:
    client = signed_in(here.first, role, here.first.maker if role == Role.MAKER else None)
    actor = here.organiser if role == Role.ORGANISER else here.first.maker_actor
    page = client.get(address(here.first, "movements/"), {"page_size": 200}).json()["results"]
    lines = movements_seen_by(actor).order_by("-id").values_list("id", flat=True)
    alone = [MovementSerializer(movement_seen_by(actor, line)).data for line in lines]
    assert [read(line) for line in page] == [read(dict(line)) for line in alone]
    assert {line["sealed"] for line in page} == {True, False}
    assert any(line["reversed_by_id"] for line in page)
