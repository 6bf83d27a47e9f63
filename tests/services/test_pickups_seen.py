"""Who sees which visits, and what a driver is shown."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from network.errors import NotFound
from network.ids import new_id
from network.people.models import Role
from network.pickups import services
from network.pickups.cautions import CAUTION_TEXT, Caution, stop_cautions
from network.pickups.models import Pickup
from network.pickups.queries import (
    next_visit_for,
    pickups_seen_by,
    proposals_seen_by,
    route_detail,
    routes_seen_by,
    vehicles_seen_by,
)
from network.places.models import Place
from tests.factories import acting
from tests.services.pickups_story import SUNDAY_EVENING, Round, make_round, on_monday

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


def test_a_place_sees_when_it_is_visited(world: Round) -> None:
    contact, place = world.contact(0), world.places[0]
    assert next_visit_for(actor=contact, place_ids=[place.id]) == {}
    asked = world.ask(0)
    visit = next_visit_for(actor=contact, place_ids=[place.id])[place.id]
    assert (visit.pickup_id, visit.status, visit.day) == (asked.id, "asked", None)
    route = world.booked()
    visit = next_visit_for(actor=contact, place_ids=[place.id])[place.id]
    assert (visit.pickup_id, visit.status, visit.day) == (asked.id, "planned", route.day)
    assert visit.planned_arrival is not None
    assert route.starts_at < visit.planned_arrival < route.ends_at


def test_a_visit_that_is_over_is_not_the_next(world: Round) -> None:
    pickup = world.on_the_road()[0]
    services.skip_pickup(world.driver, pickup_id=pickup.id, reason="Ice.", at=on_monday(9))
    assert next_visit_for(actor=world.contact(0), place_ids=[world.places[0].id]) == {}


def test_a_contact_sees_visits_to_its_own_places_only(world: Round) -> None:
    world.booked()
    contact = world.contact(1)
    assert [pickup.place for pickup in pickups_seen_by(contact)] == [world.places[1]]
    others = [place.id for place in world.places]
    assert list(next_visit_for(actor=contact, place_ids=others)) == [world.places[1].id]
    for rows in (vehicles_seen_by, routes_seen_by, proposals_seen_by):
        assert not rows(contact).exists()


def test_a_driver_sees_its_own_makers_routes_only(world: Round) -> None:
    route = world.booked()
    other = make_round(community=world.community)
    assert list(routes_seen_by(world.driver)) == [route]
    assert not routes_seen_by(other.driver).exists()
    assert not pickups_seen_by(other.driver).exists()
    assert not proposals_seen_by(world.driver).exists()


def test_an_organiser_sees_every_makers_routes(world: Round) -> None:
    other = make_round(community=world.community)
    routes = {world.booked(), other.booked()}
    assert set(routes_seen_by(acting(world.community, Role.ORGANISER))) == routes


def test_another_community_sees_nothing(world: Round) -> None:
    route = world.booked()
    elsewhere = make_round()
    for actor in (
        elsewhere.maker_actor,
        elsewhere.driver,
        elsewhere.contact(),
        acting(elsewhere.community, Role.ORGANISER),
    ):
        for rows in (vehicles_seen_by, routes_seen_by, proposals_seen_by, pickups_seen_by):
            assert not rows(actor).filter(community=world.community).exists()
        with pytest.raises(NotFound):
            route_detail(actor, route.id)
        assert next_visit_for(actor=actor, place_ids=[p.id for p in world.places]) == {}


def test_a_driver_is_shown_when_one_can_come_and_the_rules(world: Round) -> None:
    detail = route_detail(world.driver, world.booked().id)
    assert detail.workshop is not None
    assert detail.workshop.kind == Place.Kind.WORKSHOP
    assert [stop.pickup.place for stop in detail.stops] == world.places
    for stop, agreement in zip(detail.stops, world.agreements, strict=True):
        [window] = stop.windows
        assert (window.opens_at, window.closes_at) == (on_monday(8), on_monday(16))
        assert list(stop.rule_versions) == [agreement.rule_version]
        assert [line.container.agreement for line in stop.lines] == [agreement]


def test_a_longer_route_is_read_in_as_many_queries() -> None:
    counts = []
    for places in (1, 4):
        world = make_round(places=places)
        route = world.booked()
        with CaptureQueriesContext(
            connection,
        ) as queries:
            detail = route_detail(world.driver, route.id)
            assert len(detail.stops) == places
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_cautions_are_shown_where_the_work_is(world: Round) -> None:
    cautions = route_detail(world.driver, world.booked().id).cautions
    assert list(cautions) == ["driving", "waste_carrier_papers", "lifting", "children"]


@pytest.mark.parametrize(
    ("gross_g", "caution"),
    [
        (16_000, None),
        (16_001, Caution.LIFTING_OVER_16_KG),
        (25_000, Caution.LIFTING_OVER_16_KG),
        (25_001, Caution.LIFTING_OVER_25_KG),
    ],
)
def test_a_heavy_container_carries_its_own_caution(gross_g: int, caution: Caution | None) -> None:
    """The filters of the UK HSE for lifting (from memory): 16 and 25 kg, "not 'safe limits'"."""
    cautions = stop_cautions(gross_masses_g=[900, gross_g], is_school=False)
    expected = [Caution.LIFTING] if caution is None else [Caution.LIFTING, caution]
    assert cautions == expected


def test_every_caution_has_its_words() -> None:
    assert set(CAUTION_TEXT) == set(Caution)
    for code in (Caution.LIFTING_OVER_16_KG, Caution.LIFTING_OVER_25_KG):
        assert "not safe limits" in CAUTION_TEXT[code]


def test_a_proposal_cautions_about_the_mass_that_is_expected(world: Round) -> None:
    """150 kg/m3 (an estimate, no published source): a full drum of 120 l holds 18 kg of caps."""
    container = world.containers[0]
    container.volume_ml, container.tare_g = 120_000, 2_000
    container.save()
    world.ask(0)
    plan = world.proposal().plan
    assert plan is not None
    assert "lifting_over_16_kg" in plan["cautions"]


def test_an_asked_visit_is_seen_by_the_maker_with_its_note(world: Round) -> None:
    services.ask_for_pickup(
        world.contact(2),
        pickup_id=new_id(),
        place_id=world.places[2].id,
        note="Two more in the cellar.",
        at=SUNDAY_EVENING,
    )
    [seen] = pickups_seen_by(world.maker_actor).filter(status=Pickup.Status.ASKED)
    assert seen.asked_note == "Two more in the cellar."
