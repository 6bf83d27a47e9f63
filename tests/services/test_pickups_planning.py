"""What may be planned, and what a plan says."""

from dataclasses import replace
from datetime import time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest

from network.errors import (
    AlreadyBooked,
    DifferentBody,
    InvalidInput,
    WrongState,
)
from network.ids import new_id
from network.pickups import services
from network.pickups.core.check import check
from network.pickups.core.schedule import retime
from network.pickups.models import Proposal
from network.pickups.plan_data import groundwork_from_data, groundwork_to_data, orders_of
from network.pickups.request_data import PlanRequest
from network.places.models import Place
from tests.factories import VehicleFactory
from tests.services.pickups_story import (
    MONDAY,
    SUNDAY_EVENING,
    Round,
    make_round,
    say_level,
)

pytestmark = pytest.mark.django_db
WORTH_PARTS = ("saved_later", "full_days_cost", "waiting_worth", "missed_hours_cost", "total")


@pytest.fixture
def world() -> Round:
    return make_round()


class TestRequests:
    @pytest.mark.parametrize(
        ("changes", "field"),
        [
            ({"day": MONDAY - timedelta(days=2)}, "shifts[0].day"),
            ({"day": MONDAY + timedelta(days=100)}, "shifts[0].day"),
            ({"ends": time(7)}, "shifts[0].ends"),
            ({"ends": time(8)}, "shifts[0].ends"),
            ({"vehicle_id": UUID(int=7)}, "shifts[0].vehicle_id"),
            ({"break_s": 1_800}, "shifts[0].stretch_s_max"),
            ({"stretch_s_max": 16_200}, "shifts[0].break_s"),
        ],
    )
    def test_a_shift_that_cannot_be_is_named(
        self, world: Round, changes: dict[str, Any], field: str
    ) -> None:
        with pytest.raises(InvalidInput) as refusal:
            world.proposal(**changes)
        assert [fault.field for fault in refusal.value.fields] == [field]
        assert not Proposal.objects.exists()

    def test_a_plan_spans_ten_days_at_most(self, world: Round) -> None:
        shift = world.wish().shifts[0]
        days = [replace(shift, day=MONDAY + timedelta(days=n)) for n in (0, 9, 10)]
        with pytest.raises(InvalidInput) as refusal:
            world.proposal(PlanRequest(shifts=tuple(days)))
        assert [fault.field for fault in refusal.value.fields] == ["shifts[2].day"]

    def test_one_van_is_not_in_two_shifts_at_once(self, world: Round) -> None:
        shift = world.wish().shifts[0]
        overlapping = replace(shift, starts=time(11), ends=time(15))
        with pytest.raises(InvalidInput) as refusal:
            world.proposal(PlanRequest(shifts=(shift, overlapping)))
        assert [fault.field for fault in refusal.value.fields] == ["shifts[1].starts"]

    def test_a_van_of_another_maker_is_not_there(self, world: Round) -> None:
        other = make_round(community=world.community)
        with pytest.raises(InvalidInput, match="cannot be planned"):
            world.proposal(vehicle_id=other.vehicle.id)

    def test_a_van_that_is_booked_is_told_with_the_time(self, world: Round) -> None:
        world.booked()
        with pytest.raises(AlreadyBooked, match="Monday 2 March 2026 from 08:"):
            world.proposal()

    def test_a_maker_without_a_workshop_hears_what_to_do(self, world: Round) -> None:
        Place.objects.filter(kind=Place.Kind.WORKSHOP).delete()
        with pytest.raises(WrongState, match="add it as a place"):
            world.proposal()

    def test_the_same_request_sent_twice_is_one_proposal(self, world: Round) -> None:
        first = world.proposal()
        again = services.request_proposal(
            world.maker_actor, proposal_id=first.id, request=world.wish(), at=SUNDAY_EVENING
        )
        assert again.id == first.id
        with pytest.raises(DifferentBody):
            services.request_proposal(
                world.maker_actor, proposal_id=first.id, request=world.wish(ends=time(14))
            )

    def test_a_place_to_visit_must_have_something_to_collect(self, world: Round) -> None:
        request = replace(world.wish(), must_visit=frozenset({UUID(int=3)}))
        with pytest.raises(InvalidInput) as refusal:
            world.proposal(request)
        assert [fault.field for fault in refusal.value.fields] == ["must_visit"]


class TestPlans:
    def test_full_bags_nearby_are_collected_on_one_route(self, world: Round) -> None:
        plan = world.proposal(
            replace(world.wish(), overflow_cost=world.vehicle.cost_per_shift)
        ).plan
        assert plan is not None
        [route] = plan["routes"]
        assert {stop["place"]["id"] for stop in route["stops"]} == {str(p.id) for p in world.places}
        assert plan["left_out"] == []
        assert route["violations"] == []
        assert route["mass_g"] == sum(stop["expected_mass_g"] for stop in route["stops"])

    def test_a_driver_has_the_break_that_was_asked_for(self, world: Round) -> None:
        """Each way out and home with a stop is longer than the stretch: so is a round of two."""
        wish = world.wish(break_s=1_800, stretch_s_max=1_500, drive_s_max=14_400)
        places = frozenset(place.id for place in world.places)
        plan = world.proposal(replace(wish, must_visit=places)).plan
        assert plan is not None
        [route] = plan["routes"]
        assert [stop["break_s"] for stop in route["stops"] if stop["break_s"]] == [1_800]
        assert route["violations"] == []

    def test_what_was_asked_for_is_visited_whatever_it_costs(self, world: Round) -> None:
        say_level(world.containers[1], 1)
        world.ask(1)
        request = replace(world.wish(), never_visit=frozenset({world.places[0].id}))
        plan = world.proposal(request).plan
        assert plan is not None
        [stop] = [s for r in plan["routes"] for s in r["stops"] if s["must_visit"]]
        assert stop["place"]["name"] == world.places[1].name
        assert "asked_for" in [reason["code"] for reason in stop["why"]]
        [out] = [o for o in plan["left_out"] if o["place"]["id"] == str(world.places[0].id)]
        assert [reason["code"] for reason in out["why"]] == ["days_ruled_out"]

    def test_a_visit_is_worth_more_the_fuller_it_is_and_the_dearer_full_days_are(
        self, world: Round
    ) -> None:
        """Both are near full; what a day costs on which one stands full is set by the maker."""
        worths = []
        for cost in ("0", "15", "30"):
            request = replace(
                world.wish(),
                overflow_cost=Decimal(cost),
                value_per_kg=Decimal(0),
                must_visit=frozenset(p.id for p in world.places),
            )
            plan = world.proposal(request).plan
            assert plan is not None
            worths.append([float(s["worth"]) for r in plan["routes"] for s in r["stops"]])
        nothing, some, double = (sum(worth) for worth in worths)
        assert 0 < nothing < some < double
        assert double - some == pytest.approx(some - nothing, abs=0.05)

    @pytest.mark.parametrize(("ends", "kept"), [(time(12), True), (time(10), False)])
    def test_the_hours_that_a_place_prefers_are_kept_or_paid_for(
        self, world: Round, ends: time, *, kept: bool
    ) -> None:
        """From half past ten to eleven; the van is home at noon, or at ten already."""
        place = world.places[1]
        Place.objects.filter(id=place.id).update(prefers_from=time(10, 30), prefers_until=time(11))
        wish = replace(
            world.wish(ends=ends),
            must_visit=frozenset({place.id}),
            missed_hours_cost=Decimal("6.50"),
        )
        plan = world.proposal(wish).plan
        assert plan is not None
        [(route, stop)] = [
            (r, s) for r in plan["routes"] for s in r["stops"] if s["place"]["id"] == str(place.id)
        ]
        assert route["violations"] == []
        assert ("2026-03-02T10:30" <= stop["arrival"] <= "2026-03-02T11:00") == kept
        told = {part: Decimal(stop["figures"]["worth"][part]) for part in WORTH_PARTS}
        assert told["missed_hours_cost"] == (0 if kept else Decimal("6.50"))
        assert Decimal(stop["worth"]) == told["total"]
        assert told["total"] == (
            told["saved_later"]
            + told["full_days_cost"]
            + told["waiting_worth"]
            - told["missed_hours_cost"]
        )
        missed = [why["text"] for why in stop["why"] if why["code"] == "hours_missed"]
        said = "Outside the hours that the place prefers, which costs 6.50."
        assert missed == ([] if kept else [said])

    def test_a_place_that_is_shut_is_left_out_with_the_reason(self, world: Round) -> None:
        world.places[0].windows.all().delete()
        plan = world.proposal().plan
        assert plan is not None
        [out] = [o for o in plan["left_out"] if o["place"]["id"] == str(world.places[0].id)]
        assert out["why"][0]["code"] == "closed_all_days"

    def test_reasons_speak_of_days_clocks_and_names(self, world: Round) -> None:
        plan = world.proposal(
            replace(world.wish(), must_visit=frozenset({world.places[0].id}))
        ).plan
        assert plan is not None
        [why] = [
            reason
            for route in plan["routes"]
            for stop in route["stops"]
            if stop["place"]["id"] == str(world.places[0].id)
            for reason in stop["why"]
            if reason["code"] == "visited"
        ]
        assert "Monday 2 March 2026" in why["text"]
        assert why["params"]["day"] == "2026-03-02"
        assert why["params"]["arrival_at"].endswith("Z")

    def test_a_stored_problem_gives_the_same_plan_again(self, world: Round) -> None:
        proposal = world.proposal()
        assert proposal.problem is not None
        assert proposal.plan is not None
        groundwork = groundwork_from_data(proposal.problem)
        assert groundwork_to_data(groundwork) == proposal.problem
        plan = retime(groundwork.problem, orders_of(proposal.plan))
        assert check(groundwork.problem, plan) == []
        assert str(plan.cost) == proposal.plan["totals"]["cost"]
        assert plan.distance_m == proposal.plan["totals"]["distance_m"]

    def test_what_is_booked_elsewhere_is_not_planned_again(self, world: Round) -> None:
        world.booked()
        second = VehicleFactory.create(community=world.community, maker=world.maker)
        plan = world.proposal(vehicle_id=second.id).plan
        assert plan is not None
        assert (plan["routes"], plan["left_out"]) == ([], [])

    def test_a_plan_that_cannot_be_made_says_so_in_words(self, world: Round) -> None:
        proposal = services.request_proposal(
            world.maker_actor, proposal_id=new_id(), request=world.wish(), at=SUNDAY_EVENING
        )
        Place.objects.filter(kind=Place.Kind.WORKSHOP).delete()
        services.solve_proposal(proposal_id=proposal.id)
        proposal.refresh_from_db()
        assert proposal.status == Proposal.Status.FAILED
        assert "no workshop" in proposal.failure
        with pytest.raises(WrongState, match="no workshop"):
            services.book_proposal(world.maker_actor, proposal_id=proposal.id)

    def test_a_settled_proposal_is_not_worked_out_again(self, world: Round) -> None:
        proposal = world.proposal()
        say_level(world.containers[0], 10)
        services.solve_proposal(proposal_id=proposal.id)
        plan = proposal.plan
        proposal.refresh_from_db()
        assert proposal.plan == plan
