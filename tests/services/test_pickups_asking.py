"""Vans, and places that ask to be visited."""

from dataclasses import replace

import pytest

from network.errors import (
    DifferentBody,
    InvalidInput,
    NotAllowed,
    NotFound,
    WrongState,
)
from network.ids import new_id
from network.pickups import services
from network.pickups.models import Pickup
from network.places.models import Agreement
from tests.factories import VehicleFactory
from tests.services.pickups_story import (
    Round,
    make_round,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


class TestAsking:
    def test_a_place_asks_and_asking_again_changes_nothing(self, world: Round) -> None:
        first = world.ask()
        again = world.ask(note="Still full.")
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
            world.ask()

    def test_a_place_without_a_running_agreement_cannot_ask(self, world: Round) -> None:
        Agreement.objects.update(status=Agreement.Status.ENDED)
        with pytest.raises(WrongState, match="no container"):
            world.ask()

    def test_a_place_with_two_makers_says_which_one(self, world: Round) -> None:
        other = make_round(community=world.community)
        agreement = other.agreements[0]
        agreement.place = world.places[0]
        agreement.save()
        with pytest.raises(InvalidInput, match="Several makers"):
            world.ask()
        assert world.ask(maker_id=other.maker.id).maker == other.maker


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
