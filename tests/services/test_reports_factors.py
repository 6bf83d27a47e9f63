"""The scenario of a community: its routes, its ledger and its stated factors."""

from datetime import timedelta
from decimal import Decimal
from http import HTTPStatus

import pytest
from django.test import Client

from network.errors import InvalidInput, NotAllowed, NotFound
from network.ids import new_id
from network.people.core.actor import Actor
from network.people.models import Role
from network.pickups import services as pickups
from network.pickups.models import Route
from network.pickups.queries import Drives, drives_between
from network.reports.core.scenario import RANGES
from network.reports.factors import CODES, factors_of
from network.reports.models import StatedFactor
from network.reports.queries import Selection
from network.reports.scenario import Scenario, scenario
from network.reports.services import state_factor
from tests.factories import acting, member
from tests.services.pickups_story import MONDAY, make_round, on_monday
from tests.services.workshop_story import Workshop, make_workshop

pytestmark = pytest.mark.django_db


def state(actor: Actor, code: str, value: str, **changes: object) -> StatedFactor:
    about = {"source": "The year's sheet", "year": 2025, "region": "The isle", **changes}
    return state_factor(actor, factor_id=new_id(), code=code, value=Decimal(value), **about)  # type: ignore[arg-type]  # refused, or right


def of(shop: Workshop, **driven: int) -> Scenario:
    community = shop.story.community
    taken = {"routes": 1, "distance_m": 12_000, "duration_s": 5_400, **driven}
    organiser = acting(community, Role.ORGANISER)
    return scenario(organiser, community=community, period=Selection(), **taken)


@pytest.fixture
def shop() -> Workshop:
    return make_workshop()


def test_figures_that_came_with_it_are_unconfirmed_and_name_their_source(shop: Workshop) -> None:
    found = factors_of(shop.story.community.id)
    assert tuple(found) == CODES == tuple(RANGES)
    for factor in found.values():
        assert (factor.version, factor.confirmed) == (0, False)
        if factor.value is not None:
            low, high = RANGES[factor.code]
            assert low <= factor.value <= high
            assert "memory, unverified" in factor.source
    assert found["displaced_share"].value is None
    assert not of(shop).is_confirmed


def test_a_stated_factor_is_a_new_version_and_the_former_stays(shop: Workshop) -> None:
    organiser = acting(shop.story.community, Role.ORGANISER)
    assert state(organiser, "van_per_km", "0.24").version == 1
    assert state(organiser, "van_per_km", "0.20", source="  A later sheet ").version == 2
    found = factors_of(shop.story.community.id)["van_per_km"]
    assert (found.value, found.source, found.version) == (Decimal("0.2"), "A later sheet", 2)
    assert found.confirmed
    assert StatedFactor.objects.filter(code="van_per_km").count() == 2
    elsewhere = make_workshop().story.community
    assert factors_of(elsewhere.id)["van_per_km"].version == 0


@pytest.mark.parametrize(
    ("code", "value", "changes"),
    [
        ("displaced_share", "1.01", {}),
        ("van_per_km", "-0.1", {}),
        ("van_per_km", "0.2", {"source": " "}),
        ("van_per_km", "0.2", {"region": ""}),
        ("van_per_km", "0.2", {"year": 1899}),
    ],
)
def test_a_factor_that_cannot_be_or_says_not_where_it_is_from_is_refused(
    shop: Workshop, code: str, value: str, changes: dict[str, object]
) -> None:
    with pytest.raises(InvalidInput):
        state(acting(shop.story.community, Role.ORGANISER), code, value, **changes)


def test_only_an_organiser_states_factors_and_sees_the_scenario(shop: Workshop) -> None:
    with pytest.raises(NotAllowed):
        state(shop.maker, "van_per_km", "0.2")
    with pytest.raises(NotFound):
        state(acting(shop.story.community, Role.ORGANISER), "credits", "1")
    with pytest.raises(NotAllowed):
        scenario(
            shop.maker,
            community=shop.story.community,
            period=Selection(),
            routes=0,
            distance_m=0,
            duration_s=0,
        )


def test_only_what_became_pieces_can_have_avoided_anything(shop: Workshop) -> None:
    lot = shop.clean(8_000)
    shop.make(shop.charge((lot, 5_000)), 4_000, offcut_g=900)
    assert of(shop).carbon.avoided_co2e_g is None
    state(acting(shop.story.community, Role.ORGANISER), "displaced_share", "0.5")
    found = of(shop)
    assert (found.accepted_g, found.in_products_g) == (8_000, 4_000)
    # The rules of the stream take PE-HD only: 4 kg × 0.8598 kg/kg × 0.5.
    assert found.carbon.avoided_co2e_g == 1_720
    assert found.carbon.transport_co2e_g == 2_880
    assert found.carbon.net_co2e_g == 2_880 - 1_720


def test_it_says_what_it_is_and_never_what_it_is_not(shop: Workshop) -> None:
    said = of(shop).statement
    assert said.startswith("A scenario")
    assert "not certified" in said
    assert "credit" not in said.lower()


def test_a_route_counts_once_it_is_done_by_the_time_it_took() -> None:
    world = make_round()
    organiser = acting(world.community, Role.ORGANISER)

    def drives() -> Drives:
        return drives_between(organiser, first_day=MONDAY, last_day=MONDAY)

    first, *others = world.on_the_road()
    assert drives() == Drives(routes=0, distance_m=0, duration_s=0)
    pickups.arrive(world.driver, pickup_id=first.id, at=on_monday(8, 10))
    world.collect(first.lines.get(), 8_000)
    pickups.finish_pickup(world.driver, pickup_id=first.id, at=on_monday(8, 20))
    for other in others:
        pickups.skip_pickup(world.driver, pickup_id=other.id, reason="Shut.", at=on_monday(9))
    assert first.route_id is not None
    route = Route.objects.get(id=first.route_id)
    pickups.finish_route(world.driver, route_id=route.id, at=on_monday(9, 30))
    route.refresh_from_db()
    assert route.started_at is not None
    took = (on_monday(9, 30) - route.started_at).total_seconds()
    assert drives() == Drives(routes=1, distance_m=route.planned_distance_m, duration_s=round(took))
    before = MONDAY - timedelta(days=1)
    assert drives_between(organiser, first_day=before, last_day=before).routes == 0


def test_over_the_api_an_organiser_confirms_and_looks(shop: Workshop) -> None:
    community = shop.story.community
    client = Client()
    client.force_login(member(community, Role.ORGANISER))
    address = f"/api/v1/communities/{community.slug}/reports/scenario/"
    before = client.get(address, {"from": "2025-10-01"}).json()
    assert (before["is_confirmed"], before["cost"]) == (False, None)
    assert before["currency"] == community.currency
    body = {"value": "0.24", "stated_source": "The sheet of 2025", "year": 2025, "region": "UK"}
    headers = {"Idempotency-Key": str(new_id())}
    for _ in range(2):
        answer = client.put(
            f"{address}factors/van_per_km/", body, "application/json", headers=headers
        )
        assert answer.status_code == HTTPStatus.OK, answer.content
        assert answer.json()["version"] == 1
        assert answer.json()["confirmed"]
    (van,) = (f for f in client.get(address).json()["factors"] if f["code"] == "van_per_km")
    assert van["stated_source"] == "The sheet of 2025"
