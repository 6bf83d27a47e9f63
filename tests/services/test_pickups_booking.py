"""A plan put in another order, and booked."""

from datetime import time, timedelta
from uuid import UUID

import pytest
from django.db import IntegrityError, transaction

from network.errors import (
    AlreadyBooked,
    InvalidInput,
    NotFound,
    WrongState,
)
from network.ids import new_id
from network.pickups import services
from network.pickups.models import Pickup, PickupLine, Route
from network.pickups.request_data import ShiftWish
from tests.factories import VehicleFactory
from tests.services.pickups_story import (
    MONDAY,
    SUNDAY_EVENING,
    Round,
    make_round,
    on_monday,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


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
        world.ask(0)
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
        asked = world.ask(1)
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
        assert route.proposal_id is not None
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

    def test_the_database_itself_refuses_a_van_in_two_routes_at_once(self, world: Round) -> None:
        route = world.booked()
        route.id, route._state.adding = new_id(), True
        with pytest.raises(IntegrityError, match="vehicle_booked_once"), transaction.atomic():
            route.save()
        route.starts_at, route.ends_at = route.ends_at, route.ends_at + timedelta(hours=1)
        route.save()
        assert Route.objects.count() == 2

    def test_the_database_itself_refuses_a_container_in_two_visits(self, world: Round) -> None:
        line = PickupLine.objects.filter(pickup__route=world.booked()).first()
        assert line is not None
        line.id, line._state.adding = new_id(), True
        with pytest.raises(IntegrityError, match="container_booked_once"):
            line.save()
