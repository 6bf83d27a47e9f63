"""The search for a proposal's plans: alternatives beside the plan, how far it is, and an end."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from network.errors import InvalidInput, WrongState
from network.ids import new_id
from network.pickups import services
from network.pickups.core.plan import Plan
from network.pickups.core.problem import Problem
from network.pickups.core.search import StopRule
from network.pickups.core.solve import solve
from network.pickups.models import Proposal, Search
from network.places.models import Container
from tests.services.pickups_story import SUNDAY_EVENING, Round, make_round

pytestmark = pytest.mark.django_db

FAR = -29.8


@pytest.fixture
def world() -> Round:
    """Three places near by and one 16 km off, all nearly full and not waiting for long."""
    world = make_round()
    far = world.add_place(percent=95)
    far.longitude = FAR
    far.save(update_fields=["longitude"])
    Container.objects.update(placed_at=SUNDAY_EVENING - timedelta(days=14))
    return world


def asked(world: Round) -> Proposal:
    return services.request_proposal(
        world.maker_actor, proposal_id=new_id(), request=world.wish(), at=SUNDAY_EVENING
    )


def with_alternatives(world: Round) -> Proposal:
    proposal = world.proposal()
    services.find_alternatives(proposal_id=proposal.id)
    return proposal


def sums_by_aim(proposal: Proposal) -> dict[str, dict[str, Any]]:
    return {one.aim: one.outcome for one in proposal.alternatives.order_by("position")}


def places_of(proposal: Proposal) -> set[str]:
    proposal.refresh_from_db()
    assert proposal.plan is not None
    return {stop["place"]["name"] for r in proposal.plan["routes"] for stop in r["stops"]}


class TestAlternatives:
    def test_the_plan_is_there_before_the_others_are(self, world: Round) -> None:
        proposal = world.proposal()
        assert proposal.status == Proposal.Status.READY
        assert list(sums_by_aim(proposal)) == ["balanced"]
        assert Search.objects.get(proposal=proposal).finished_at is None

    def test_less_money_leaves_more_full_and_what_says_nothing_new_is_dropped(
        self, world: Round
    ) -> None:
        sums = sums_by_aim(with_alternatives(world))
        assert list(sums) == ["balanced", "least_money"]
        balanced, least = sums["balanced"], sums["least_money"]
        assert Decimal(least["cost"]) < Decimal(balanced["cost"])
        assert Decimal(least["full_days"]) > Decimal(balanced["full_days"])

    def test_all_are_reckoned_with_the_usual_weights(self, world: Round) -> None:
        """What a stop is worth is the same in each, whatever the search weighed it."""
        proposal = with_alternatives(world)
        worths: dict[str, set[str]] = {}
        for one in proposal.alternatives.all():
            for route in one.plan["routes"]:
                for stop in route["stops"]:
                    worths.setdefault(stop["place"]["id"], set()).add(stop["worth"])
        assert [len(found) for found in worths.values()] == [1] * len(worths)

    def test_one_that_is_chosen_is_the_plan_and_can_be_booked(self, world: Round) -> None:
        proposal = with_alternatives(world)
        far = world.places[3].name
        assert far in places_of(proposal)
        services.choose_alternative(world.maker_actor, proposal_id=proposal.id, aim="least_money")
        assert far not in places_of(proposal)
        [route] = services.book_proposal(
            world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING
        )
        assert not route.pickups.filter(place__name=far).exists()
        with pytest.raises(WrongState, match="booked"):
            services.choose_alternative(world.maker_actor, proposal_id=proposal.id, aim="balanced")

    def test_choosing_the_first_again_undoes_what_was_moved_by_hand(self, world: Round) -> None:
        proposal = with_alternatives(world)
        before = places_of(proposal)
        services.move_stop(
            world.maker_actor, proposal_id=proposal.id, place_id=world.places[0].id, shift=None
        )
        assert places_of(proposal) < before
        services.choose_alternative(world.maker_actor, proposal_id=proposal.id, aim="balanced")
        assert places_of(proposal) == before

    def test_one_that_is_not_there_cannot_be_chosen(self, world: Round) -> None:
        proposal = with_alternatives(world)
        with pytest.raises(InvalidInput) as refusal:
            services.choose_alternative(
                world.maker_actor, proposal_id=proposal.id, aim="least_overflow"
            )
        assert [fault.field for fault in refusal.value.fields] == ["aim"]

    def test_a_worker_that_died_over_them_leaves_them_for_the_next_one(
        self, world: Round, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        proposal = world.proposal()
        begun = Search.objects.filter(proposal=proposal)
        with monkeypatch.context() as dying:
            dying.setattr("network.pickups.services.searching.solve", _die)
            dying.setattr("network.pickups.services.searching._finish", _die)
            with pytest.raises(KeyboardInterrupt):
                services.find_alternatives(proposal_id=proposal.id)
        assert begun.get().finished_at is None
        services.find_alternatives(proposal_id=proposal.id)
        assert list(sums_by_aim(proposal)) == ["balanced", "least_money"]
        assert begun.get().finished_at is not None


def _die(*_arguments: object, **_settings: object) -> None:
    raise KeyboardInterrupt


class TestHowFarItIs:
    def test_it_is_told_while_the_search_runs(
        self, world: Round, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        proposal = asked(world)
        seen: list[Search] = []

        def looked_at(problem: Problem, *, stop: StopRule, **settings: Any) -> Plan:
            def seen_by_a_reader(best_cost: int) -> bool:
                is_over = stop(best_cost)
                seen.append(Search.objects.get(proposal=proposal))
                return is_over

            return solve(problem, stop=seen_by_a_reader, **{**settings, "iterations": 5})

        monkeypatch.setattr("network.pickups.services.searching.solve", looked_at)
        services.solve_proposal(proposal_id=proposal.id, iterations=40)
        assert (seen[-1].aim, seen[-1].iterations_max) == ("balanced", 40)
        assert seen[-1].iterations >= 1
        assert seen[-1].best_cost is not None
        assert seen[-1].best_cost > 0

    def test_what_is_not_stopped_can_be_repeated_exactly(self, world: Round) -> None:
        proposal = world.proposal()
        plan = proposal.plan
        Proposal.objects.filter(id=proposal.id).update(status=Proposal.Status.QUEUED, plan=None)
        proposal.alternatives.all().delete()
        services.solve_proposal(proposal_id=proposal.id)
        proposal.refresh_from_db()
        assert proposal.plan == plan


class TestEnough:
    def test_the_search_ends_with_what_it_has(
        self, world: Round, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        proposal = asked(world)
        services.stop_search(world.maker_actor, proposal_id=proposal.id)
        steps: list[int] = []

        def counted(problem: Problem, *, stop: StopRule, **settings: Any) -> Plan:
            def count(best_cost: int) -> bool:
                steps.append(best_cost)
                return stop(best_cost)

            return solve(problem, stop=count, **settings)

        monkeypatch.setattr("network.pickups.services.searching.solve", counted)
        services.solve_proposal(proposal_id=proposal.id)
        proposal.refresh_from_db()
        assert proposal.status == Proposal.Status.READY
        assert len(steps) == 1
        services.find_alternatives(proposal_id=proposal.id)
        assert len(steps) == 1
        assert Search.objects.get(proposal=proposal).finished_at is not None

    def test_booking_ends_the_search_for_others(self, world: Round) -> None:
        proposal = world.proposal()
        services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING)
        services.find_alternatives(proposal_id=proposal.id)
        assert list(sums_by_aim(proposal)) == ["balanced"]

    def test_where_it_is_over_already_nothing_happens(self, world: Round) -> None:
        proposal = with_alternatives(world)
        services.stop_search(world.maker_actor, proposal_id=proposal.id)
        assert Search.objects.get(proposal=proposal).stop_wished_at is None
