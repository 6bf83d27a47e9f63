"""Who may reach what of pickups over the API."""

from http import HTTPStatus
from typing import Any
from uuid import uuid4

import pytest

from api.rights import RIGHTS
from network.lots.models import Lot
from network.people.models import Role
from network.pickups.models import Pickup, PickupLine, Proposal, Question, Route, Vehicle
from tests.api.pickups_caller import Caller
from tests.services.pickups_story import CLEAN, Round, make_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> Round:
    return make_round()


def pickup_routes(world: Round) -> dict[str, tuple[str, str]]:
    """An address and method for each route of pickups, with things of the given community."""
    route = world.booked()
    pickup = route.pickups.order_by("position").first()
    assert pickup is not None
    line = pickup.lines.get()
    proposal = f"proposals/{route.proposal_id}/"
    assert route.proposal is not None
    question = f"questions/{world.question(route.proposal).id}/"
    one = f"routes/{route.id}/"
    visit = f"pickups/{pickup.id}/"
    return {
        "vehicle": ("patch", f"vehicles/{world.vehicle.id}/"),
        "proposal": ("get", proposal),
        "proposal-change": ("post", f"{proposal}change/"),
        "proposal-move": ("post", f"{proposal}move/"),
        "proposal-choose": ("post", f"{proposal}choose/"),
        "proposal-stop": ("post", f"{proposal}stop/"),
        "proposal-what-if": ("post", f"{proposal}what-if/"),
        "proposal-question": ("get", question),
        "proposal-question-stop": ("post", f"{question}stop/"),
        "proposal-what-if-plan": ("post", f"{proposal}what-if/plan/"),
        "proposal-book": ("post", f"{proposal}book/"),
        "route": ("get", one),
        "route-gpx": ("get", f"{one}gpx/"),
        "route-asks": ("get", f"{one}asks/"),
        "route-add-stop": ("post", f"{one}add-stop/"),
        "route-assign": ("post", f"{one}assign/"),
        "route-start": ("post", f"{one}start/"),
        "route-finish": ("post", f"{one}finish/"),
        "route-replan": ("post", f"{one}replan/"),
        "route-call-off": ("post", f"{one}call-off/"),
        "pickup": ("get", visit),
        "pickup-ask": ("post", f"places/{pickup.place_id}/ask-pickup/"),
        "pickup-arrive": ("post", f"{visit}arrive/"),
        "pickup-skip": ("post", f"{visit}skip/"),
        "pickup-finish": ("post", f"{visit}finish/"),
        "pickup-line-collect": ("post", f"pickup-lines/{line.id}/collect/"),
        "pickup-line-turn-away": ("post", f"pickup-lines/{line.id}/turn-away/"),
        "pickup-line-skip": ("post", f"pickup-lines/{line.id}/skip/"),
    }


BODY = {
    "driver_id": str(uuid4()),
    "pickup_id": str(uuid4()),
    "reason": "Snow.",
    "routes": [],
    "place_id": str(uuid4()),
    "shift": 0,
    "aim": "least_money",
    "method": "estimated",
    "gross_g": 500,
    "tare_g": 0,
    "look": CLEAN,
}


def call(caller: Caller, method: str, path: str) -> Any:
    return caller.get(path) if method == "get" else caller.write(path, BODY, method=method)


def snapshot() -> list[object]:
    models: list[Any] = [Vehicle, Proposal, Question, Route, Pickup, PickupLine, Lot]
    return [list(model.objects.order_by("id").values()) for model in models]


def test_another_community_reaches_nothing(world: Round) -> None:
    """In its own community, with the ids of this one."""
    elsewhere = make_round(places=1)
    callers = [
        Caller(elsewhere, Role.MAKER, elsewhere.maker),
        Caller(elsewhere, Role.CONTACT, elsewhere.places[0].organisation),
    ]
    routes = pickup_routes(world)
    before = snapshot()
    for caller in callers:
        for name, (method, path) in routes.items():
            answer = call(caller, method, path)
            assert answer.status_code in {HTTPStatus.NOT_FOUND, HTTPStatus.FORBIDDEN}, name
    assert snapshot() == before


@pytest.mark.parametrize("role", [Role.CONTACT, Role.DRIVER, Role.MAKER, Role.ORGANISER])
def test_the_rights_table_is_kept(world: Round, role: Role) -> None:
    routes = pickup_routes(world)
    organisation = {
        Role.CONTACT: world.places[0].organisation,
        Role.ORGANISER: None,
    }.get(role, world.maker)
    caller = Caller(world, role, organisation)
    for name, (method, path) in routes.items():
        if role in RIGHTS[name][method.upper()]:
            continue
        assert call(caller, method, path).status_code == HTTPStatus.FORBIDDEN, name


def test_a_stranger_is_asked_to_sign_in(world: Round) -> None:
    stranger = Caller(world, Role.CONTACT, world.places[0].organisation)
    stranger.client.logout()
    for name, (method, path) in pickup_routes(world).items():
        assert call(stranger, method, path).status_code == HTTPStatus.UNAUTHORIZED, name
