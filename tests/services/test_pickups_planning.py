"""From asking to booking: trade rules of planning."""

from dataclasses import replace
from datetime import time, timedelta
from uuid import UUID

import pytest

from network.errors import (
    AlreadyBooked,
    DifferentBody,
    InvalidInput,
    NotAllowed,
    NotFound,
    WrongState,
)
from network.ids import new_id
from network.pickups import services
from network.pickups.core.check import check
from network.pickups.core.schedule import retime
from network.pickups.models import Pickup, PickupLine, Proposal, Route
from network.pickups.plan_data import groundwork_from_data, groundwork_to_data, orders_of
from network.pickups.request_data import PlanRequest, ShiftWish
from network.places.models import Agreement, Place
from tests.factories import VehicleFactory
from tests.services.pickups_story import (
    MONDAY,
    SUNDAY_EVENING,
    Round,
    make_round,
    on_monday,
    say_level,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


def ask(world: Round, index: int = 0, **changes: object) -> Pickup:
    arguments = {
        "pickup_id": new_id(),
        "place_id": world.places[index].id,
        "note": "All bags are full.",
        "at": SUNDAY_EVENING,
    }
    return services.ask_for_pickup(world.contact(index), **{**arguments, **changes})


class TestAsking:
    def test_a_place_asks_and_asking_again_changes_nothing(self, world: Round) -> None:
        first = ask(world)
        again = ask(world, note="Still full.")
        assert first.status == Pickup.Status.ASKED
        assert again.id == first.id
        assert Pickup.objects.get().asked_note == "All bags are full."

    def test_the_same_ask_sent_twice_is_one(self, world: Round) -> None:
        pickup_id = new_id()
        contact = world.contact()
        for _ in range(2):
            services.ask_for_pickup(contact, pickup_id=pickup_id, place_id=world.places[0].id)
        assert Pickup.objects.count() == 1

    def test_a_place_cannot_ask_for_another(self, world: Round) -> None:
        with pytest.raises(NotAllowed):
            services.ask_for_pickup(
                world.contact(0), pickup_id=new_id(), place_id=world.places[1].id
            )
        assert not Pickup.objects.exists()

    def test_another_community_cannot_ask(self, world: Round) -> None:
        stranger = make_round().contact()
        with pytest.raises(NotFound):
            services.ask_for_pickup(stranger, pickup_id=new_id(), place_id=world.places[0].id)

    def test_with_a_visit_planned_there_is_nothing_to_ask(self, world: Round) -> None:
        world.booked()
        with pytest.raises(WrongState, match="Monday 2 March 2026"):
            ask(world)

    def test_a_place_without_a_running_agreement_cannot_ask(self, world: Round) -> None:
        Agreement.objects.update(status=Agreement.Status.ENDED)
        with pytest.raises(WrongState, match="no container"):
            ask(world)

    def test_a_place_with_two_makers_says_which_one(self, world: Round) -> None:
        other = make_round(community=world.community)
        agreement = other.agreements[0]
        agreement.place = world.places[0]
        agreement.save()
        with pytest.raises(InvalidInput, match="Several makers"):
            ask(world)
        assert ask(world, maker_id=other.maker.id).maker == other.maker


class TestVehicles:
    def figures(self) -> services.VehicleFigures:
        van = VehicleFactory.build(maker=None, community=None)
        return services.VehicleFigures(
            payload_g=van.payload_g,
            volume_ml=van.volume_ml,
            cost_per_shift=van.cost_per_shift,
            cost_per_km=van.cost_per_km,
            cost_per_hour=van.cost_per_hour,
        )

    def test_a_maker_adds_a_van_once_however_often_it_is_sent(self, world: Round) -> None:
        van_id = new_id()
        for _ in range(2):
            van = services.add_vehicle(
                world.maker_actor, vehicle_id=van_id, name="Brown van", figures=self.figures()
            )
        assert (van.maker, van.name) == (world.maker, "Brown van")
        with pytest.raises(DifferentBody):
            services.add_vehicle(
                world.maker_actor, vehicle_id=van_id, name="Other", figures=self.figures()
            )

    def test_two_vans_of_a_maker_have_two_names(self, world: Round) -> None:
        with pytest.raises(InvalidInput, match="already"):
            services.add_vehicle(
                world.maker_actor,
                vehicle_id=new_id(),
                name=world.vehicle.name,
                figures=self.figures(),
            )

    def test_a_van_that_carries_nothing_cannot_be(self) -> None:
        with pytest.raises(InvalidInput) as refusal:
            replace(self.figures(), payload_g=0, volume_ml=-1)
        assert [fault.field for fault in refusal.value.fields] == ["payload_g", "volume_ml"]

    def test_a_driver_adds_no_van(self, world: Round) -> None:
        with pytest.raises(NotAllowed):
            services.add_vehicle(
                world.driver, vehicle_id=new_id(), name="My own", figures=self.figures()
            )

    def test_a_van_is_not_retired_while_it_is_booked(self, world: Round) -> None:
        route = world.booked()
        with pytest.raises(WrongState, match="Monday 2 March 2026"):
            services.change_vehicle(world.maker_actor, vehicle_id=world.vehicle.id, retired=True)
        services.call_off_route(world.maker_actor, route_id=route.id, reason="Snow.")
        van = services.change_vehicle(
            world.maker_actor, vehicle_id=world.vehicle.id, retired=True, payload_g=500_000
        )
        assert van.retired_at is not None
        assert (van.payload_g, van.volume_ml) == (500_000, world.vehicle.volume_ml)


class TestRequests:
    @pytest.mark.parametrize(
        ("changes", "field"),
        [
            ({"day": MONDAY - timedelta(days=2)}, "shifts[0].day"),
            ({"day": MONDAY + timedelta(days=100)}, "shifts[0].day"),
            ({"ends": time(7)}, "shifts[0].ends"),
            ({"ends": time(8)}, "shifts[0].ends"),
            ({"vehicle_id": UUID(int=7)}, "shifts[0].vehicle_id"),
        ],
    )
    def test_a_shift_that_cannot_be_is_named(
        self, world: Round, changes: dict[str, object], field: str
    ) -> None:
        with pytest.raises(InvalidInput) as refusal:
            world.proposal(**changes)
        assert [fault.field for fault in refusal.value.fields] == [field]
        assert not Proposal.objects.exists()

    def test_a_plan_spans_five_days_at_most(self, world: Round) -> None:
        shift = world.wish().shifts[0]
        days = [replace(shift, day=MONDAY + timedelta(days=n)) for n in (0, 4, 5)]
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

    def test_what_was_asked_for_is_visited_whatever_it_costs(self, world: Round) -> None:
        say_level(world.containers[1], 1)
        ask(world, 1)
        request = replace(world.wish(), never_visit=frozenset({world.places[0].id}))
        plan = world.proposal(request).plan
        assert plan is not None
        [stop] = [s for r in plan["routes"] for s in r["stops"] if s["must_visit"]]
        assert stop["place"]["name"] == world.places[1].name
        assert "asked_for" in [reason["code"] for reason in stop["why"]]
        [out] = [o for o in plan["left_out"] if o["place"]["id"] == str(world.places[0].id)]
        assert [reason["code"] for reason in out["why"]] == ["days_ruled_out"]

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


class TestChanges:
    def test_a_hand_made_order_is_timed_anew(self, world: Round) -> None:
        proposal = world.proposal()
        order = [world.places[2].id, world.places[0].id]
        plan = services.change_proposal(
            world.maker_actor, proposal_id=proposal.id, orders={0: order}
        ).plan
        assert plan is not None
        [route] = plan["routes"]
        assert [stop["place"]["id"] for stop in route["stops"]] == [str(p) for p in order]
        assert route["violations"] == plan["violations"] == []
        assert [out["place"]["id"] for out in plan["left_out"]] == [str(world.places[1].id)]

    def test_what_an_order_breaks_is_named_and_keeps_it_from_being_booked(
        self, world: Round
    ) -> None:
        world.places[0].windows.update(opens="08:00", closes="08:20")
        proposal = world.proposal(starts=time(9))
        changed = services.change_proposal(
            world.maker_actor, proposal_id=proposal.id, orders={0: [world.places[0].id]}
        )
        assert changed.plan is not None
        [fault] = changed.plan["routes"][0]["violations"]
        assert fault["code"] == "outside_windows"
        assert fault["text"].startswith(world.places[0].name)
        with pytest.raises(services.PlanBreaksRules) as refusal:
            services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING)
        assert refusal.value.extra["violations"] == [fault]
        assert not Route.objects.exists()

    def test_an_unknown_place_or_shift_is_named(self, world: Round) -> None:
        proposal = world.proposal()
        with pytest.raises(InvalidInput) as refusal:
            services.change_proposal(
                world.maker_actor, proposal_id=proposal.id, orders={0: [UUID(int=5)], 4: []}
            )
        assert [fault.field for fault in refusal.value.fields] == [
            "routes[0].place_ids[0]",
            "routes[1].shift",
        ]

    def test_an_asked_place_taken_out_by_hand_is_told_but_may_be_left(self, world: Round) -> None:
        ask(world, 0)
        proposal = world.proposal()
        changed = services.change_proposal(
            world.maker_actor, proposal_id=proposal.id, orders={0: [world.places[1].id]}
        )
        assert changed.plan is not None
        out = {o["place"]["id"]: o["must_visit"] for o in changed.plan["left_out"]}
        assert out == {str(world.places[0].id): True, str(world.places[2].id): False}
        services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING)
        assert Pickup.objects.get(place=world.places[0]).status == Pickup.Status.ASKED


class TestBooking:
    def test_booking_plans_the_visits_and_takes_the_containers(self, world: Round) -> None:
        asked = ask(world, 1)
        route = world.booked()
        pickups = list(route.pickups.order_by("position"))
        assert [pickup.place for pickup in pickups] == world.places
        assert pickups[1].id == asked.id
        assert {pickup.status for pickup in pickups} == {Pickup.Status.PLANNED}
        lines = PickupLine.objects.filter(pickup__route=route)
        assert {line.container for line in lines} == set(world.containers)
        assert sum(line.expected_mass_g for line in lines) == route.planned_mass_g
        assert route.starts_at >= on_monday(8)

    def test_booking_twice_books_once(self, world: Round) -> None:
        route = world.booked()
        again = services.book_proposal(
            world.maker_actor, proposal_id=route.proposal_id, at=SUNDAY_EVENING
        )
        assert [one.id for one in again] == [route.id]
        assert Route.objects.count() == 1

    def test_a_van_is_booked_once(self, world: Round) -> None:
        first, second = world.proposal(), world.proposal()
        for proposal in (first, second):
            services.change_proposal(
                world.maker_actor,
                proposal_id=proposal.id,
                orders={0: [world.places[0 if proposal is first else 1].id]},
            )
        services.book_proposal(world.maker_actor, proposal_id=first.id, at=SUNDAY_EVENING)
        with pytest.raises(AlreadyBooked, match=world.vehicle.name):
            services.book_proposal(world.maker_actor, proposal_id=second.id, at=SUNDAY_EVENING)
        assert Route.objects.count() == 1

    def test_a_container_is_booked_once(self, world: Round) -> None:
        van = VehicleFactory.create(community=world.community, maker=world.maker)
        late = world.proposal(vehicle_id=van.id)
        order = {0: [place.id for place in world.places]}
        services.change_proposal(world.maker_actor, proposal_id=late.id, orders=order)
        world.booked()
        with pytest.raises(AlreadyBooked, match=world.containers[0].tag):
            services.book_proposal(world.maker_actor, proposal_id=late.id, at=SUNDAY_EVENING)

    def test_a_plan_whose_time_is_past_is_not_booked(self, world: Round) -> None:
        proposal = world.proposal()
        services.change_proposal(
            world.maker_actor, proposal_id=proposal.id, orders={0: [world.places[0].id]}
        )
        with pytest.raises(WrongState, match="past"):
            services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=on_monday(18))

    def test_a_container_taken_away_since_is_named(self, world: Round) -> None:
        proposal = world.proposal()
        order = {0: [world.places[0].id]}
        services.change_proposal(world.maker_actor, proposal_id=proposal.id, orders=order)
        world.containers[0].retired_at = SUNDAY_EVENING
        world.containers[0].save()
        with pytest.raises(WrongState, match=world.containers[0].tag):
            services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING)

    def test_an_empty_plan_is_nothing_to_book(self, world: Round) -> None:
        proposal = world.proposal()
        services.change_proposal(world.maker_actor, proposal_id=proposal.id, orders={0: []})
        with pytest.raises(WrongState, match="nothing to book"):
            services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING)

    def test_another_maker_finds_no_such_proposal(self, world: Round) -> None:
        proposal = world.proposal()
        stranger = make_round(community=world.community).maker_actor
        with pytest.raises(NotFound):
            services.book_proposal(stranger, proposal_id=proposal.id)

    def test_a_shift_wish_is_by_the_communitys_clock(self) -> None:
        wish = ShiftWish(vehicle_id=new_id(), day=MONDAY, starts=time(8), ends=time(9))
        assert wish.span("America/New_York")[0].hour == 13  # UTC-5 in winter
