"""On the road, a driver takes on a visit that a place asks for."""

from typing import Any

import pytest

from network.errors import NotAllowed, NotFound, WrongState
from network.events import Event
from network.lots.models import Movement
from network.notices.models import Notice
from network.notices.services.news import news_of
from network.pickups import services
from network.pickups.models import Pickup, PickupLine, Route
from network.pickups.queries import asks_for_route, route_detail
from network.places.models import FillReport
from tests.services.pickups_story import SUNDAY_EVENING, Round, make_round, on_monday, route_id_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    """A van on its way to two places, and a third that asks."""
    return make_round(places=2)


@pytest.fixture
def route(world: Round) -> Route:
    pickups = world.on_the_road()
    world.add_place()
    return Route.objects.get(id=route_id_of(pickups[0]))


def _add(world: Round, route: Route, ask: Pickup) -> Route:
    return services.add_stop(world.driver, route_id=route.id, pickup_id=ask.id, at=on_monday(8, 30))


def _rows() -> list[object]:
    models: list[Any] = [Pickup, PickupLine]
    return [list(model.objects.order_by("id").values()) for model in models]


class TestWhatCouldBeAdded:
    def test_a_place_that_asks_is_shown_with_all_that_a_stop_needs(
        self, world: Round, route: Route
    ) -> None:
        ask = world.ask(2)
        [stop] = asks_for_route(world.driver, route.id)
        assert (stop.pickup.id, stop.pickup.asked_note) == (ask.id, "All bags are full.")
        assert [line.container.tag for line in stop.lines] == [world.containers[2].tag]
        assert stop.lines[0].expected_mass_g > 0
        assert (stop.pickup.status, stop.pickup.position) == (Pickup.Status.PLANNED, 2)
        assert [version.stream for version in stop.rule_versions] == [world.agreements[2].stream]
        assert stop.windows

    def test_looking_changes_nothing(self, world: Round, route: Route) -> None:
        world.ask(2)
        asks_for_route(world.driver, route.id)
        assert PickupLine.objects.count() == 2
        assert Pickup.objects.filter(status=Pickup.Status.ASKED, route__isnull=True).count() == 1

    def test_an_ask_of_another_maker_is_not_shown(self, world: Round, route: Route) -> None:
        make_round(community=world.community).ask(0)
        assert asks_for_route(world.driver, route.id) == []

    def test_a_route_of_another_community_is_not_there(self, route: Route) -> None:
        with pytest.raises(NotFound):
            asks_for_route(make_round().driver, route.id)


class TestAdding:
    def test_the_stop_comes_after_the_last_with_the_lines_it_was_shown_with(
        self, world: Round, route: Route
    ) -> None:
        ask = world.ask(2)
        [shown] = asks_for_route(world.driver, route.id)
        _add(world, route, ask)
        added = route_detail(world.driver, route.id).stops[-1]
        assert added.pickup.place == world.places[2]
        assert [line.id for line in added.lines] == [line.id for line in shown.lines]
        ask.refresh_from_db()
        assert (ask.status, ask.position, ask.day) == (Pickup.Status.PLANNED, 2, route.day)
        assert ask.asked_at == SUNDAY_EVENING

    def test_adding_again_changes_nothing(self, world: Round, route: Route) -> None:
        ask = world.ask(2)
        _add(world, route, ask)
        once = _rows()
        _add(world, route, ask)
        assert _rows() == once

    def test_what_is_weighed_there_comes_home_with_the_rest(
        self, world: Round, route: Route
    ) -> None:
        ask = world.ask(2)
        _add(world, route, ask)
        for pickup in route.pickups.order_by("position"):
            services.arrive(world.driver, pickup_id=pickup.id, at=on_monday(9))
            world.collect(pickup.lines.get(), 1_000 * (pickup.position or 0) + 1_000)
        services.finish_route(world.driver, route_id=route.id, at=on_monday(10))
        home = Movement.objects.filter(reason=Movement.Reason.BROUGHT_HOME)
        assert sorted(home.values_list("mass_g", flat=True)) == [1_000, 2_000, 3_000]
        assert FillReport.objects.filter(origin=FillReport.Origin.EMPTIED).count() == 3

    def test_the_place_is_told_that_somebody_comes(self, world: Round, route: Route) -> None:
        ask = world.ask(2)
        _add(world, route, ask)
        [news] = news_of(
            Event.PICKUP_ADDED, community=world.community, subject_id=ask.id, at=on_monday(8, 30)
        )
        assert news.kind == Notice.Kind.PICKUP_BOOKED


class TestRefusals:
    def test_a_visit_that_another_van_makes_is_not_added(self, world: Round, route: Route) -> None:
        ask = world.ask(2)
        Pickup.objects.filter(id=ask.id).update(status=Pickup.Status.CALLED_OFF)
        with pytest.raises(WrongState, match="nobody asks for it any more"):
            _add(world, route, ask)

    def test_nothing_free_there_is_said(self, world: Round, route: Route) -> None:
        ask = world.ask(2)
        world.containers[2].retired_at = on_monday(7)
        world.containers[2].save()
        with pytest.raises(WrongState, match=r"Nothing at .* is free to be emptied"):
            _add(world, route, ask)
        assert asks_for_route(world.driver, route.id) == []

    def test_a_route_that_is_home_takes_no_more(self, world: Round, route: Route) -> None:
        for pickup in route.pickups.all():
            services.skip_pickup(world.driver, pickup_id=pickup.id, reason="Ice.")
        services.finish_route(world.driver, route_id=route.id, at=on_monday(10))
        with pytest.raises(WrongState, match="done"):
            _add(world, route, world.ask(2))

    def test_an_ask_of_another_maker_or_community_is_not_there(
        self, world: Round, route: Route
    ) -> None:
        for other in (make_round(community=world.community), make_round()):
            with pytest.raises(NotFound):
                _add(world, route, other.ask(0))

    def test_a_contact_does_not_add(self, world: Round, route: Route) -> None:
        ask = world.ask(2)
        with pytest.raises((NotAllowed, NotFound)):
            services.add_stop(world.contact(2), route_id=route.id, pickup_id=ask.id)
