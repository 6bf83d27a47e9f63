"""The rest of a day planned anew: what is done stays, the rest goes on with little changed."""

from collections.abc import Sequence
from datetime import timedelta
from uuid import UUID

import pytest

from network.errors import DifferentBody, InvalidInput, WrongState
from network.ids import new_id
from network.lots.models import Lot
from network.pickups import services
from network.pickups.models import Pickup, PickupLine, Proposal, Route, Vehicle
from tests.factories import VehicleFactory
from tests.services.pickups_story import Round, make_round, on_monday, route_id_of

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
) -> Proposal:
    proposal = services.replan_day(
        world.maker_actor,
        proposal_id=new_id(),
        route_id=route_id,
        broken=broken,
        helper_ids=[vehicle.id for vehicle in helpers],
        urgent_ids=urgent,
        at=on_monday(hour),
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
