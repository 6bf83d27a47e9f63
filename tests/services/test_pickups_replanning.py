"""The rest of a day planned anew: what is done stays, the rest goes on with little changed."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest

from network.errors import DifferentBody, InvalidInput, WrongState
from network.ids import new_id
from network.lots.models import Lot
from network.pickups import services
from network.pickups.models import Pickup, PickupLine, Proposal, Route, Vehicle
from network.pickups.on_duty import break_of
from tests.factories import VehicleFactory
from tests.services.pickups_story import (
    SUNDAY_EVENING,
    Round,
    make_round,
    on_monday,
    route_id_of,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


def helper(world: Round) -> Vehicle:
    return VehicleFactory.create(community=world.community, maker=world.maker)


def replanned(
    world: Round,
    route_id: UUID,
    *,
    broken: bool = False,
    helpers: Sequence[Vehicle] = (),
    urgent: Sequence[UUID] = (),
    hour: int = 9,
    minute: int = 0,
) -> Proposal:
    proposal = services.replan_day(
        world.maker_actor,
        proposal_id=new_id(),
        route_id=route_id,
        broken=broken,
        helper_ids=[vehicle.id for vehicle in helpers],
        urgent_ids=urgent,
        at=on_monday(hour, minute),
    )
    services.solve_proposal(proposal_id=proposal.id)
    proposal.refresh_from_db()
    assert proposal.status == Proposal.Status.READY, proposal.failure
    return proposal


def book(world: Round, proposal: Proposal, *, hour: int = 9) -> list[Route]:
    return services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=on_monday(hour, 5))


def one_done(world: Round) -> list[Pickup]:
    """A route on the road whose first stop is done, with something on board."""
    stops = world.on_the_road()
    services.arrive(world.driver, pickup_id=stops[0].id, at=on_monday(8, 10))
    world.collect(stops[0].lines.get(), 4_000)
    services.finish_pickup(world.driver, pickup_id=stops[0].id, at=on_monday(8, 20))
    return stops


def names_to_come(route: Route) -> list[str]:
    rows = route.pickups.filter(status=Pickup.Status.PLANNED).order_by("position")
    return [pickup.place.name for pickup in rows]


class TestAVanBreaksDown:
    def test_its_stops_go_to_the_van_that_is_sent_and_what_is_done_stays(
        self, world: Round
    ) -> None:
        stops = one_done(world)
        van = helper(world)
        proposal = replanned(world, route_id_of(stops[0]), broken=True, helpers=[van])
        [sent] = book(world, proposal)
        assert sent.vehicle_id == van.id
        assert sorted(names_to_come(sent)) == sorted(place.name for place in world.places[1:])
        broken = Route.objects.get(id=route_id_of(stops[0]))
        assert (broken.status, names_to_come(broken)) == (Route.Status.UNDER_WAY, [])
        stops[0].refresh_from_db()
        assert (stops[0].status, stops[0].route_id) == (Pickup.Status.DONE, broken.id)
        assert Lot.objects.count() == 1

    def test_what_it_had_on_board_is_brought_home_and_the_rest_collected(
        self, world: Round
    ) -> None:
        """Every container is emptied once and every gram comes home."""
        stops = one_done(world)
        route_id = route_id_of(stops[0])
        proposal = replanned(world, route_id, broken=True, helpers=[helper(world)], hour=8)
        [sent] = book(world, proposal, hour=8)
        services.finish_route(world.driver, route_id=route_id, at=on_monday(9, 30))
        services.start_route(world.driver, route_id=sent.id, at=on_monday(8, 10))
        for pickup in sent.pickups.order_by("position"):
            services.arrive(world.driver, pickup_id=pickup.id, at=on_monday(8, 15))
            world.collect(pickup.lines.get(), 3_000)
        services.finish_route(world.driver, route_id=sent.id, at=on_monday(10))
        collected = PickupLine.objects.filter(outcome=PickupLine.Outcome.COLLECTED)
        assert sorted(collected.values_list("container_id", flat=True)) == sorted(
            container.id for container in world.containers
        )

    def test_one_that_did_nothing_yet_is_called_off(self, world: Round) -> None:
        route_id = route_id_of(world.on_the_road()[0])
        book(world, replanned(world, route_id, broken=True, helpers=[helper(world)]))
        assert Route.objects.get(id=route_id).status == Route.Status.CALLED_OFF

    def test_without_another_van_there_is_nothing_to_plan(self, world: Round) -> None:
        route_id = route_id_of(world.on_the_road()[0])
        with pytest.raises(WrongState, match="choose one to send"):
            replanned(world, route_id, broken=True)

    def test_a_stop_that_was_asked_for_and_finds_no_van_is_asked_for_again(
        self, world: Round
    ) -> None:
        world.ask(2)
        stops = one_done(world)
        world.places[2].windows.all().delete()
        proposal = replanned(world, route_id_of(stops[0]), broken=True, helpers=[helper(world)])
        [sent] = book(world, proposal)
        assert names_to_come(sent) == [world.places[1].name]
        states = Pickup.objects.filter(place=world.places[2]).values_list("status", flat=True)
        assert sorted(states) == [Pickup.Status.ASKED, Pickup.Status.CALLED_OFF]


class TestLittleChanges:
    def test_with_nothing_changed_the_order_stands(self, world: Round) -> None:
        stops = one_done(world)
        route = Route.objects.get(id=route_id_of(stops[0]))
        before, cost = names_to_come(route), route.planned_cost
        [after] = book(world, replanned(world, route.id))
        assert after.id == route.id
        assert names_to_come(after) == before
        assert after.planned_cost == cost
        positions = after.pickups.order_by("position").values_list("position", flat=True)
        assert list(positions) == [0, 1, 2]

    def test_an_urgent_place_comes_in_where_it_fits(self, world: Round) -> None:
        stops = one_done(world)
        urgent = world.add_place()
        before = names_to_come(Route.objects.get(id=route_id_of(stops[0])))
        [route] = book(world, replanned(world, route_id_of(stops[0]), urgent=[urgent.id]))
        after = names_to_come(route)
        assert urgent.name in after
        assert [name for name in after if name != urgent.name] == before
        line = PickupLine.objects.get(container=world.containers[-1])
        assert line.outcome == PickupLine.Outcome.OPEN

    def test_a_stop_done_since_the_plan_was_made_stays_done(self, world: Round) -> None:
        stops = one_done(world)
        van = helper(world)
        proposal = replanned(world, route_id_of(stops[0]), broken=True, helpers=[van])
        services.arrive(world.driver, pickup_id=stops[1].id, at=on_monday(9, 2))
        [sent] = book(world, proposal)
        assert names_to_come(sent) == [world.places[2].name]
        stops[1].refresh_from_db()
        assert stops[1].status == Pickup.Status.UNDER_WAY

    def test_the_plan_starts_from_where_the_van_is(self, world: Round) -> None:
        stops = one_done(world)
        plan = replanned(world, route_id_of(stops[0])).plan
        assert plan is not None
        [route] = plan["routes"]
        # From one place to the next, not from the workshop to the second.
        assert route["stops"][0]["leg_distance_m"] < 600
        assert route["starts_at"] >= on_monday(9).isoformat().replace("+00:00", "Z")

    def test_what_is_on_board_leaves_less_room(self, world: Round) -> None:
        stops = one_done(world)
        problem = replanned(world, route_id_of(stops[0])).problem
        assert problem is not None
        [van] = problem["problem"]["vans"]
        assert van["payload_g"] == world.vehicle.payload_g - 4_000


class TestRefusals:
    def test_a_route_that_has_ended_has_no_rest(self, world: Round) -> None:
        route_id = route_id_of(world.on_the_road()[0])
        services.call_off_route(
            world.maker_actor, route_id=route_id, reason="Snow.", at=on_monday(8, 30)
        )
        with pytest.raises(WrongState, match="called off"):
            replanned(world, route_id)

    def test_a_place_with_nothing_to_collect_is_named(self, world: Round) -> None:
        route_id = route_id_of(world.on_the_road()[0])
        with pytest.raises(InvalidInput) as refusal:
            replanned(world, route_id, urgent=[world.places[0].id])
        assert [fault.field for fault in refusal.value.fields] == ["urgent_ids"]

    def test_a_route_that_ended_since_is_told(self, world: Round) -> None:
        stops = one_done(world)
        proposal = replanned(world, route_id_of(stops[0]))
        for stop in stops[1:]:
            services.skip_pickup(
                world.driver, pickup_id=stop.id, reason="Shut.", at=on_monday(9, 1)
            )
        services.finish_route(world.driver, route_id=route_id_of(stops[0]), at=on_monday(9, 2))
        with pytest.raises(WrongState, match="ended since"):
            book(world, proposal)

    def test_the_same_sent_twice_is_one_proposal(self, world: Round) -> None:
        stops = world.on_the_road()
        first = replanned(world, route_id_of(stops[0]))
        again = services.replan_day(
            world.maker_actor,
            proposal_id=first.id,
            route_id=route_id_of(stops[0]),
            broken=False,
            at=on_monday(9) + timedelta(minutes=1),
        )
        assert again.id == first.id
        other = make_round(community=world.community)
        elsewhere = route_id_of(other.on_the_road()[0])
        with pytest.raises(DifferentBody):
            services.replan_day(
                other.maker_actor, proposal_id=first.id, route_id=elsewhere, broken=False
            )


MINUTE_S = 60
# A quarter of an hour's break after 26 minutes. Each of the three stops takes eight minutes, from
# each to the next are 46 s and home from the last 138 s: the round of 1,716 s has one break.
TIRING = {"break_s": 15 * MINUTE_S, "stretch_s_max": 26 * MINUTE_S}


class TestADriverWhoIsOutAlready:
    def out(self, world: Round, **limits: Any) -> list[Pickup]:
        """All three in their order, left at eight, within what bounds the driver."""
        proposal = world.proposal(**limits)
        order = [place.id for place in world.places]
        services.change_proposal(world.maker_actor, proposal_id=proposal.id, orders={0: order})
        [route] = services.book_proposal(
            world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING
        )
        services.start_route(world.driver, route_id=route.id, at=on_monday(8))
        return list(route.pickups.order_by("position"))

    def visit(self, world: Round, pickup: Pickup, *, come: int, gone: int) -> None:
        services.arrive(world.driver, pickup_id=pickup.id, at=on_monday(8, come))
        world.collect(pickup.lines.get(), 4_000)
        services.finish_pickup(world.driver, pickup_id=pickup.id, at=on_monday(8, gone))

    def rest(self, world: Round, stops: list[Pickup], *, minute: int, **changes: Any) -> Any:
        proposal = replanned(world, route_id_of(stops[0]), hour=8, minute=minute, **changes)
        plan = proposal.plan
        assert plan is not None
        assert [fault for route in plan["routes"] for fault in route["violations"]] == []
        return plan

    def test_what_was_driven_counts(self, world: Round) -> None:
        """Ten minutes there leave 200 s; both of the others and home would be 230 s."""
        stops = self.out(world, drive_s_max=800)
        self.visit(world, stops[0], come=10, gone=20)
        van = helper(world)
        plan = self.rest(world, stops, minute=20, helpers=[van])
        by_van = {route["vehicle"]["id"]: len(route["stops"]) for route in plan["routes"]}
        assert sum(by_van.values()) == 2
        assert by_van.get(str(world.vehicle.id), 0) < 2

    def test_the_time_out_counts(self, world: Round) -> None:
        """Out for twenty minutes of 35: both of the others and home would be 1,190 s."""
        stops = self.out(world, work_s_max=35 * MINUTE_S)
        self.visit(world, stops[0], come=10, gone=20)
        plan = self.rest(world, stops, minute=20, helpers=[helper(world)])
        by_van = {route["vehicle"]["id"]: len(route["stops"]) for route in plan["routes"]}
        assert sum(by_van.values()) == 2
        assert by_van.get(str(world.vehicle.id), 0) < 2

    def test_a_stretch_that_has_begun_goes_on_to_its_break(self, world: Round) -> None:
        """The rest is 1,190 s, within a stretch; with the 12 minutes before it is not."""
        stops = self.out(world, **TIRING)
        self.visit(world, stops[0], come=1, gone=12)
        [route] = self.rest(world, stops, minute=12)["routes"]
        assert sum(stop["break_s"] for stop in route["stops"]) == TIRING["break_s"]

    def test_a_break_that_was_had_counts(self, world: Round) -> None:
        """On arrival at the second, until 8:28; 664 s more from 8:40 on need none."""
        stops = self.out(world, **TIRING)
        assert [break_of(pickup) for pickup in stops] == [0, TIRING["break_s"], 0]
        self.visit(world, stops[0], come=1, gone=12)
        self.visit(world, stops[1], come=13, gone=38)
        [route] = self.rest(world, stops, minute=40)["routes"]
        assert [stop["break_s"] for stop in route["stops"]] == [0]

    def test_whose_break_is_due_has_it_before_going_on(self, world: Round) -> None:
        stops = self.out(world, **TIRING)
        self.visit(world, stops[0], come=1, gone=12)
        plan = self.rest(world, stops, minute=30)
        [note] = plan["notes"]
        assert (note["code"], note["params"]["break_s"]) == ("break_now", TIRING["break_s"])
        [route] = plan["routes"]
        assert route["starts_at"] >= "2026-03-02T08:45"

    def test_a_van_sent_out_as_well_is_bound_in_the_same_way(self, world: Round) -> None:
        """From the workshop the two others are 1,236 s: more than 19 minutes at a stretch."""
        stops = self.out(world, break_s=15 * MINUTE_S, stretch_s_max=19 * MINUTE_S)
        self.visit(world, stops[0], come=1, gone=12)
        plan = self.rest(world, stops, minute=12, broken=True, helpers=[helper(world)])
        [route] = plan["routes"]
        assert sum(stop["break_s"] for stop in route["stops"]) == 15 * MINUTE_S
