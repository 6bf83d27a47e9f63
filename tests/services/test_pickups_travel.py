"""By what a maker's ways are known, what its driven legs teach, and a community's own roads."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from network.errors import InvalidInput, NotAllowed
from network.people.models import Role
from network.pickups import services
from network.pickups.drawn import drawn_proposal
from network.pickups.learnt import MakerTravel, travel_of_makers
from network.pickups.models import KeptTravel, Pickup, Proposal
from network.pickups.queries import route_detail
from tests.core.road_graphs import collection, feature
from tests.factories import acting
from tests.services.pickups_story import MONDAY, Round, make_round

pytestmark = pytest.mark.django_db

SOURCE = "Drawn by the council of an invented isle"
AS_OF = date(2026, 2, 1)
# The places lie on the parallel of 45 degrees north, 0.005 degrees apart, from the workshop on.
WEST, BEND, EAST = [-30.01, 45.0], [-29.9925, 45.002], [-29.9, 45.0]
TODAY = MONDAY + timedelta(days=7)


@pytest.fixture
def world() -> Round:
    return make_round()


def bring(world: Round, *lines: list[list[float]], **tags: object) -> services.RoadsBrought:
    roads = [feature(line, **{"highway": "residential", **tags}) for line in lines]
    return services.bring_roads(
        community=world.community, features=collection(roads), source=SOURCE, as_of=AS_OF
    )


def ways_of(proposal: Proposal) -> Any:
    assert proposal.problem is not None
    return proposal.problem["problem"]["travel"]


def added_up(proposal: Proposal, what: str) -> int:
    """All ways together: which of them a plan takes, and in which order, is the search's choice."""
    return sum(map(sum, ways_of(proposal)[what]))


def basis_of(proposal: Proposal) -> Any:
    assert proposal.plan is not None
    return proposal.plan["distances"]


def only(world: Round) -> MakerTravel:
    (found,) = travel_of_makers(world.maker_actor, today=TODAY)
    return found


class TestStraightWays:
    def test_without_roads_a_plan_rests_on_the_straight_way(self, world: Round) -> None:
        basis = basis_of(world.proposal())
        assert (basis["by"], basis["road_factor"], basis["speed_km_per_h"]) == (
            "straight",
            "1.30",
            "40.0",
        )

    def test_a_maker_sets_its_factor_and_speed_for_new_plans(self, world: Round) -> None:
        before = world.proposal()
        services.change_travel(
            world.maker_actor,
            figures=services.TravelFigures(
                road_factor=Decimal("2.60"), speed_km_per_h=Decimal("20.0")
            ),
        )
        after = world.proposal()
        assert added_up(after, "metres") == pytest.approx(2 * added_up(before, "metres"), rel=0.001)
        assert added_up(after, "seconds") == pytest.approx(
            4 * added_up(before, "seconds"), rel=0.02
        )
        before.refresh_from_db()
        assert basis_of(before)["road_factor"] == "1.30"

    @pytest.mark.parametrize(
        ("field", "value"),
        [
            ("road_factor", "0.99"),
            ("speed_km_per_h", "4.9"),
            ("speed_km_per_h", "131"),
            ("straight_correction", "0"),
            ("roads_correction", "2.01"),
        ],
    )
    def test_a_figure_that_cannot_be_is_named(self, field: str, value: str) -> None:
        with pytest.raises(InvalidInput) as refused:
            services.TravelFigures(**{field: Decimal(value)})
        assert [fault.field for fault in refused.value.fields] == [field]

    def test_only_the_maker_sets_them(self, world: Round) -> None:
        with pytest.raises(NotAllowed):
            services.change_travel(
                world.driver, figures=services.TravelFigures(), maker_id=world.maker.id
            )
        assert travel_of_makers(world.driver, today=TODAY) == []


class TestRoads:
    def test_with_roads_a_plan_goes_along_them_and_says_whose_they_are(self, world: Round) -> None:
        straight = world.proposal()
        brought = bring(world, [WEST, BEND, EAST])
        assert (brought.places, brought.off_roads) == (4, ())
        along = world.proposal()
        basis = basis_of(along)
        assert (basis["by"], basis["roads"], basis["as_of"]) == ("roads", SOURCE, "2026-02-01")
        assert ways_of(along)["seconds"] != ways_of(straight)["seconds"]

    def test_a_place_off_the_roads_is_named_and_nobody_comes(self, world: Round) -> None:
        far = world.add_place(latitude=45.02)
        assert bring(world, [WEST, EAST]).off_roads == (far.name,)
        plan = world.proposal(world.wish()).plan
        assert plan is not None
        assert str(far.id) in {left["place"]["id"] for left in plan["left_out"]}
        visited = {s["place"]["id"] for route in plan["routes"] for s in route["stops"]}
        assert visited == {str(place.id) for place in world.places[:3]}

    def test_roads_of_another_part_of_the_world_are_refused(self, world: Round) -> None:
        with pytest.raises(InvalidInput) as refused:
            bring(world, [[45.0, -30.0], [45.0, -29.9]])
        assert [fault.field for fault in refused.value.fields] == ["roads"]
        assert basis_of(world.proposal())["by"] == "straight"

    def test_roads_without_a_source_are_refused(self, world: Round) -> None:
        roads = collection([feature([WEST, EAST], highway="residential")])
        with pytest.raises(InvalidInput) as refused:
            services.bring_roads(community=world.community, features=roads, source=" ", as_of=AS_OF)
        assert [fault.field for fault in refused.value.fields] == ["source"]

    def test_another_community_keeps_its_straight_ways(self, world: Round) -> None:
        other = make_round()
        bring(world, [WEST, EAST])
        assert basis_of(other.proposal())["by"] == "straight"

    def test_a_route_and_a_proposal_are_drawn_along_the_roads(self, world: Round) -> None:
        bring(world, [WEST, BEND, EAST])
        drawn = drawn_proposal(world.maker_actor, world.proposal().id)
        line, *stops = drawn["features"]
        assert tuple(BEND) in line["geometry"]["coordinates"]
        assert [stop["properties"]["number"] for stop in stops] == [1, 2, 3]
        assert tuple(BEND) in route_detail(world.driver, world.booked().id).way

    def test_a_line_that_was_read_before_goes_along_new_roads(self, world: Round) -> None:
        bring(world, [WEST, BEND, EAST])
        route = world.booked()
        ways = [route_detail(world.driver, route.id).way for _ in range(2)]
        assert ways[0] == ways[1]
        bring(world, [WEST, EAST])
        assert tuple(BEND) not in route_detail(world.driver, route.id).way

    def test_without_roads_they_are_drawn_straight(self, world: Round) -> None:
        way = route_detail(world.driver, world.booked().id).way
        places = [(place.longitude, place.latitude) for place in world.places]
        assert way == ((-30.0, 45.0), *places, (-30.0, 45.0))


class TestKept:
    def test_what_is_kept_says_the_same_as_what_is_reckoned_anew(self, world: Round) -> None:
        bring(world, [WEST, BEND, EAST])
        first = world.proposal()
        kept = KeptTravel.objects.get()
        again = world.proposal()
        assert KeptTravel.objects.get().id == kept.id
        KeptTravel.objects.all().delete()
        anew = world.proposal()
        assert ways_of(again) == ways_of(anew) == ways_of(first)

    def test_new_roads_clear_what_is_kept(self, world: Round) -> None:
        bring(world, [WEST, EAST])
        fast = world.proposal()
        bring(world, [WEST, EAST], maxspeed_kmh=5)
        assert not KeptTravel.objects.exists()
        slow = world.proposal()
        assert added_up(slow, "seconds") > added_up(fast, "seconds")

    def test_what_is_kept_of_other_roads_is_never_used(self, world: Round) -> None:
        bring(world, [WEST, EAST])
        before = ways_of(world.proposal())
        kept = KeptTravel.objects.get()
        KeptTravel.objects.update(version="another", seconds=bytes(len(kept.seconds)))
        assert ways_of(world.proposal()) == before

    def test_a_place_that_moved_is_a_new_point(self, world: Round) -> None:
        bring(world, [WEST, EAST])
        before = added_up(world.proposal(), "metres")
        moved = world.places[2]
        moved.longitude += 0.02
        moved.save()
        assert added_up(world.proposal(), "metres") > before + 1_000


class TestLearning:
    @pytest.fixture
    def slow_world(self) -> Round:
        """Thirteen places, between which a leg takes more than a minute."""
        world = make_round(places=13)
        services.change_travel(
            world.maker_actor, figures=services.TravelFigures(speed_km_per_h=Decimal(10))
        )
        return world

    def drive(self, world: Round, *, factor: float) -> list[Pickup]:
        """Drive all of a route, each leg so many times as long as planned."""
        route = world.booked()
        services.start_route(world.driver, route_id=route.id, at=route.starts_at)
        now = route.starts_at
        pickups = list(route.pickups.order_by("position"))
        for pickup in pickups:
            assert pickup.leg_s is not None
            now += timedelta(seconds=round(pickup.leg_s * factor))
            services.arrive(world.driver, pickup_id=pickup.id, at=now)
            now += timedelta(minutes=3)
            services.skip_line(
                world.driver, line_id=pickup.lines.get().id, reason="It was empty.", at=now
            )
            services.finish_pickup(world.driver, pickup_id=pickup.id, at=now)
        services.finish_route(world.driver, route_id=route.id, at=now)
        return pickups

    def test_legs_that_took_longer_are_told_and_change_nothing_by_themselves(
        self, slow_world: Round
    ) -> None:
        assert only(slow_world).learnt is None
        self.drive(slow_world, factor=1.2)
        learnt = only(slow_world).learnt
        assert learnt is not None
        # Of thirteen visits there are twelve legs between two: 1.2 to the power of 12 / 32.
        assert (learnt.legs, learnt.median_ratio) == (12, Decimal("1.20"))
        assert learnt.suggested == Decimal("1.07")
        assert only(slow_world).terms.straight_correction == 1

    def test_a_correction_that_is_taken_stretches_new_plans(self, slow_world: Round) -> None:
        before = added_up(slow_world.proposal(), "seconds")
        services.change_travel(
            slow_world.maker_actor,
            figures=services.TravelFigures(straight_correction=Decimal("1.50")),
        )
        after = slow_world.proposal()
        assert added_up(after, "seconds") == pytest.approx(before * 1.5, rel=0.01)
        assert basis_of(after)["correction"] == "1.50"

    def test_a_correction_in_force_does_not_teach_itself_away(self, slow_world: Round) -> None:
        services.change_travel(
            slow_world.maker_actor,
            figures=services.TravelFigures(straight_correction=Decimal("1.20")),
        )
        self.drive(slow_world, factor=1.2)
        learnt = only(slow_world).learnt
        assert learnt is not None
        assert learnt.median_ratio == pytest.approx(Decimal("1.20"), abs=Decimal("0.01"))

    def test_legs_of_straight_ways_say_nothing_of_roads(self, slow_world: Round) -> None:
        self.drive(slow_world, factor=1.2)
        bring(slow_world, [WEST, EAST])
        assert only(slow_world).learnt is None

    def test_legs_of_more_than_a_year_ago_are_forgotten(self, slow_world: Round) -> None:
        self.drive(slow_world, factor=1.2)
        later = MONDAY + timedelta(days=366)
        (found,) = travel_of_makers(slow_world.maker_actor, today=later)
        assert found.learnt is None

    def test_a_leg_out_of_order_does_not_count(self, slow_world: Round) -> None:
        pickups = self.drive(slow_world, factor=1.2)
        # The fifth came last on the road: neither of its legs was driven as planned.
        fifth = Pickup.objects.get(id=pickups[4].id)
        assert fifth.arrived_at is not None
        assert fifth.finished_at is not None
        later = timedelta(hours=5)
        fifth.arrived_at, fifth.finished_at = fifth.arrived_at + later, fifth.finished_at + later
        fifth.save()
        learnt = only(slow_world).learnt
        assert learnt is not None
        assert learnt.legs == 10

    def test_another_maker_of_the_community_is_not_told(self, slow_world: Round) -> None:
        other = make_round(community=slow_world.community)
        self.drive(slow_world, factor=1.2)
        assert only(other).learnt is None
        organiser = acting(slow_world.community, Role.ORGANISER)
        assert travel_of_makers(organiser, today=TODAY) == []
