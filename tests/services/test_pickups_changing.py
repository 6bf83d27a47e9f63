"""A plan changed by hand: what a change costs is said, and each figure has its parts."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from network.errors import InvalidInput
from network.ids import new_id
from network.pickups import services
from network.pickups.models import Proposal
from tests.services.pickups_story import MONDAY, Round, make_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


def two_days(world: Round) -> Proposal:
    """A plan that visits all places, with a shift on Monday and one on Tuesday."""
    monday = world.wish().shifts[0]
    request = replace(
        world.wish(),
        shifts=(monday, replace(monday, day=MONDAY + timedelta(days=1))),
        must_visit=frozenset(place.id for place in world.places),
    )
    return world.proposal(request)


def plan_of(proposal: Proposal) -> dict[str, Any]:
    plan: dict[str, Any] | None = proposal.plan
    assert plan is not None
    return plan


def names_by_shift(plan: dict[str, Any]) -> dict[str, list[str]]:
    return {r["shift"]: [stop["place"]["name"] for stop in r["stops"]] for r in plan["routes"]}


class TestMoving:
    def test_a_stop_moved_to_another_day_is_there_and_nowhere_else(self, world: Round) -> None:
        proposal = two_days(world)
        first = next(iter(plan_of(proposal)["routes"]))
        other = "1" if first["shift"] == "0" else "0"
        stop = first["stops"][0]["place"]
        moved = services.move_stop(
            world.maker_actor, proposal_id=proposal.id, place_id=stop["id"], shift=int(other)
        )
        by_shift = names_by_shift(plan_of(moved))
        assert stop["name"] in by_shift[other]
        assert sum(names.count(stop["name"]) for names in by_shift.values()) == 1

    def test_a_change_says_what_it_costs_against_before_and_the_proposal(
        self, world: Round
    ) -> None:
        proposal = two_days(world)
        proposed = plan_of(proposal)["totals"]
        assert plan_of(proposal).get("change") is None
        for place in world.places[:2]:
            before = plan_of(proposal)["totals"]
            proposal = services.move_stop(
                world.maker_actor, proposal_id=proposal.id, place_id=place.id, shift=None
            )
            now, change = plan_of(proposal)["totals"], plan_of(proposal)["change"]
            assert change["from_before"]["places"] == -1
            for part in ("distance_m", "duration_s", "mass_g"):
                assert change["from_before"][part] == now[part] - before[part]
                assert change["from_proposed"][part] == now[part] - proposed[part]
            assert Decimal(change["from_proposed"]["cost"]) == Decimal(now["cost"]) - Decimal(
                proposed["cost"]
            )

    def test_a_place_left_waiting_stands_full_on_more_days(self, world: Round) -> None:
        proposal = two_days(world)
        out = services.move_stop(
            world.maker_actor, proposal_id=proposal.id, place_id=world.places[0].id, shift=None
        )
        assert Decimal(plan_of(out)["change"]["from_before"]["full_days"]) > 0
        back = services.move_stop(
            world.maker_actor, proposal_id=proposal.id, place_id=world.places[0].id, shift=0
        )
        assert Decimal(plan_of(back)["change"]["from_before"]["full_days"]) < 0

    @pytest.mark.parametrize(("field", "shift"), [("place_id", 0), ("shift", 7)])
    def test_what_is_not_in_the_proposal_is_named(
        self, world: Round, field: str, shift: int
    ) -> None:
        proposal = two_days(world)
        place_id = world.places[0].id if field == "shift" else new_id()
        with pytest.raises(InvalidInput) as refusal:
            services.move_stop(
                world.maker_actor, proposal_id=proposal.id, place_id=place_id, shift=shift
            )
        assert [fault.field for fault in refusal.value.fields] == [field]


class TestFigures:
    def test_the_parts_of_each_figure_sum_to_it(self, world: Round) -> None:
        plan = plan_of(
            services.move_stop(
                world.maker_actor,
                proposal_id=two_days(world).id,
                place_id=world.places[0].id,
                shift=None,
            )
        )
        stops = [stop for route in plan["routes"] for stop in route["stops"]]
        for told in (*stops, *plan["left_out"]):
            cost, worth = told["figures"]["extra_cost"], told["figures"]["worth"]
            assert Decimal(cost["total"]) == sum(
                Decimal(cost[part]) for part in ("shift", "distance", "time")
            )
            assert Decimal(worth["typical_cost"]) == Decimal(worth["way_cost"]) + Decimal(
                worth["time_cost"]
            )
            assert Decimal(worth["total"]) == Decimal(worth["saved_later"]) + Decimal(
                worth["full_days_cost"]
            ) + Decimal(worth["waiting_worth"]) - Decimal(worth["missed_hours_cost"])
        assert [stop["worth"] for stop in stops] == [s["figures"]["worth"]["total"] for s in stops]

    def test_a_place_that_waits_shows_what_the_best_stop_would_cost(self, world: Round) -> None:
        world.places[0].windows.all().delete()
        plan = plan_of(world.proposal())
        out = {one["place"]["name"]: one for one in plan["left_out"]}
        assert out[world.places[0].name]["figures"] is None
        for name, one in out.items():
            if name != world.places[0].name:
                params = one["why"][0]["params"]
                assert one["figures"]["extra_cost"]["total"] == params["extra_cost"]
                assert one["figures"]["extra_distance_m"] == params["extra_m"]
