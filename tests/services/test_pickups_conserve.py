"""Whatever happens on a round, the store gets what was typed at the doors, to the gram."""

from dataclasses import dataclass

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from network.ids import new_id
from network.lots.models import Account, Movement
from network.pickups import services
from network.pickups.models import Pickup, PickupLine
from tests.services.pickups_story import UNRINSED, Round, make_round, on_monday, route_id_of

pytestmark = pytest.mark.django_db
BAGS = 3


@dataclass(frozen=True, kw_only=True)
class Stop:
    """What happens to one bag, how heavy it is, and whether each act is sent twice."""

    outcome: str
    net_g: int
    twice: bool


STOPS = st.builds(
    Stop,
    outcome=st.sampled_from(["collect", "turn_away", "skip", "skip_visit"]),
    net_g=st.integers(min_value=1, max_value=50_000),
    twice=st.booleans(),
)


def settle(world: Round, pickup: Pickup, stop: Stop) -> None:
    """Do what happens at one stop, each act once or twice over."""
    line, made_id = pickup.lines.get(), new_id()
    for _ in range(2 if stop.twice else 1):
        if stop.outcome == "skip_visit":
            services.skip_pickup(world.driver, pickup_id=pickup.id, reason="Ice.")
            continue
        line.refresh_from_db()
        if line.outcome == PickupLine.Outcome.OPEN:
            services.arrive(world.driver, pickup_id=pickup.id, at=on_monday(8, 10))
        if stop.outcome == "collect":
            world.collect(line, stop.net_g, lot_id=made_id)
        elif stop.outcome == "turn_away":
            services.turn_away_line(
                world.driver, line_id=line.id, inspection_id=made_id, look=UNRINSED
            )
        else:
            services.skip_line(world.driver, line_id=line.id, reason="Nearly empty.")
        services.finish_pickup(world.driver, pickup_id=pickup.id)


@pytest.fixture
def world() -> Round:
    return make_round(places=BAGS)


@pytest.fixture
def pickups(world: Round) -> list[Pickup]:
    return world.on_the_road()


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(stops=st.lists(STOPS, min_size=BAGS, max_size=BAGS), order=st.permutations(range(BAGS)))
def test_the_store_gets_what_was_typed(
    world: Round, pickups: list[Pickup], stops: list[Stop], order: list[int]
) -> None:
    with transaction.atomic():
        for index in order:
            settle(world, pickups[index], stops[index])
        for _ in range(2):
            services.finish_route(world.driver, route_id=route_id_of(pickups[0]))
        typed_g = [stop.net_g for stop in stops if stop.outcome == "collect"]
        accounts = Account.objects.filter(community=world.community)
        stored = accounts.filter(kind=Account.Kind.COLLECTED)
        assert sorted(account.balance_g for account in stored) == sorted(typed_g)
        assert sum(account.balance_g for account in accounts) == 0
        assert Movement.objects.count() == 2 * len(typed_g)
        assert not PickupLine.objects.filter(outcome=PickupLine.Outcome.OPEN).exists()
        transaction.set_rollback(True)
