"""What a maker's ways are reckoned with, over the API, and a plan on the map."""

from http import HTTPStatus

import pytest

from network.people.models import Role
from tests.api.pickups_caller import Caller
from tests.services.pickups_story import Round, make_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


@pytest.fixture
def maker(world: Round) -> Caller:
    return Caller(world, Role.MAKER, world.maker)


def test_a_maker_sees_and_sets_what_its_ways_are_reckoned_with(world: Round, maker: Caller) -> None:
    (before,) = maker.get("travel/").json()["makers"]
    assert before["maker"]["id"] == str(world.maker.id)
    assert (before["road_factor"], before["speed_km_per_h"]) == ("1.30", "40.0")
    assert (before["distances"]["by"], before["learnt"]) == ("straight", None)
    sent = {"road_factor": "1.45", "straight_correction": "1.12"}
    changed = maker.write("travel/", sent, method="patch")
    assert changed.status_code == HTTPStatus.OK, changed.content
    (after,) = changed.json()["makers"]
    assert (after["road_factor"], after["speed_km_per_h"]) == ("1.45", "40.0")
    assert after["distances"]["correction"] == "1.12"


@pytest.mark.parametrize(
    ("field", "value"),
    [("road_factor", "0.5"), ("speed_km_per_h", "500"), ("roads_correction", "9")],
)
def test_a_figure_that_cannot_be_is_refused_by_its_field(
    maker: Caller, field: str, value: str
) -> None:
    refused = maker.write("travel/", {field: value}, method="patch")
    assert refused.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert [error["field"] for error in refused.json()["errors"]] == [field]


def test_a_plan_is_on_the_map_with_its_ways_and_stops(world: Round, maker: Caller) -> None:
    proposal = world.proposal()
    drawn = maker.get(f"proposals/{proposal.id}/map/").json()
    assert drawn["type"] == "FeatureCollection"
    kinds = [feature["geometry"]["type"] for feature in drawn["features"]]
    assert kinds == ["LineString", "Point", "Point", "Point"]
    read = maker.get(f"proposals/{proposal.id}/").json()
    assert read["plan"]["distances"]["by"] == "straight"
