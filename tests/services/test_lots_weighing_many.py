"""Many weighings sent together: each arrives or is refused by itself, and once."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from network.errors import DifferentBody, InvalidInput, NotAllowed, NotFound, WrongState
from network.ids import new_id
from network.lots import services
from network.lots.models import Lot, Movement, Weighing
from network.lots.queries.verifying import differences_of
from network.lots.services import Outcome, WeighIn
from tests.services.lots_story import MORNING, Story, balances_g, make_story

pytestmark = pytest.mark.django_db


@pytest.fixture
def story() -> Story:
    return make_story()


def weigh_in(story: Story, lot: Lot, net_g: int, **changes: Any) -> WeighIn:
    arguments: dict[str, Any] = {
        "id": new_id(),
        "lot_id": lot.id,
        "gross_g": net_g + 150,
        "tare_g": 150,
        "scale_id": story.scale.id,
        "at": MORNING,
    }
    return WeighIn(**{**arguments, **changes})


def send(story: Story, *weigh_ins: WeighIn) -> list[Outcome]:
    return services.weigh_many(story.maker_actor, weigh_ins=weigh_ins)


def refusals(outcomes: list[Outcome]) -> list[type | None]:
    return [type(one.refusal) if one.refusal else None for one in outcomes]


def test_each_lot_has_what_its_last_weighing_says(story: Story) -> None:
    first, second = story.at_home(8_000), story.at_home(5_000)
    outcomes = send(
        story,
        weigh_in(story, first, 8_100),
        weigh_in(story, second, 4_900),
        weigh_in(story, first, 8_060),
    )
    assert refusals(outcomes) == [None, None, None]
    assert balances_g(first) == {"container": -8_060, "collected": 8_060}
    assert balances_g(second) == {"container": -4_900, "collected": 4_900}
    assert list(differences_of(story.community)) == []


def test_one_that_is_refused_keeps_no_other_back(story: Story) -> None:
    here, aboard = story.at_home(8_000), story.collect(5_000)[0]
    strange = make_story().at_home(1_000)
    outcomes = send(
        story,
        weigh_in(story, aboard, 5_100),
        weigh_in(story, strange, 1_100),
        weigh_in(story, here, 8_100, scale_id=new_id()),
        weigh_in(story, here, 8_100, gross_g=story.scale.max_g + 1),
        weigh_in(story, here, 8_100, at=MORNING - timedelta(days=1)),
        weigh_in(story, here, 8_100),
    )
    assert refusals(outcomes) == [WrongState, NotFound, NotFound, InvalidInput, InvalidInput, None]
    assert balances_g(here)["collected"] == 8_100
    assert Weighing.objects.filter(stage="workshop").count() == 1


def test_what_is_sent_again_changes_nothing_and_other_content_is_refused(story: Story) -> None:
    lot = story.at_home(8_000)
    one = weigh_in(story, lot, 8_100)
    assert refusals(send(story, one, one)) == [None, None]
    assert refusals(send(story, one, replace(one, gross_g=9_000))) == [None, DifferentBody]
    assert Movement.objects.filter(reason="reweighed").count() == 1


def test_only_a_maker_weighs_in(story: Story) -> None:
    with pytest.raises(NotAllowed):
        services.weigh_many(story.driver, weigh_ins=[])


def test_two_hundred_take_as_many_statements_as_two(story: Story) -> None:
    lots = [story.at_home(8_000) for _ in range(12)]

    def statements(count: int) -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            send(story, *(weigh_in(story, lot, 8_000 + count) for lot in lots[:count]))
        return len(asked)

    assert statements(12) == statements(2)


@settings(
    max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(-10, 9_000)), max_size=8))
def test_together_they_do_what_they_do_one_by_one(
    story: Story, drawn: list[tuple[int, int]]
) -> None:
    together, alone = ([story.at_home(8_000) for _ in range(4)] for _ in range(2))
    outcomes = send(story, *(weigh_in(story, together[index], net_g) for index, net_g in drawn))
    one_by_one = [send(story, weigh_in(story, alone[index], net_g))[0] for index, net_g in drawn]
    assert refusals(outcomes) == refusals(one_by_one)
    assert [balances_g(lot) for lot in together] == [balances_g(lot) for lot in alone]
