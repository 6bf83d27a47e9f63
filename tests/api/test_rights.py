"""Who may call what: every route, every method, every role, against the one table."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client

from api.rights import COUNTER, PUBLIC, RIGHTS, SIGNED_IN
from network.people.models import Community, Role, User
from network.places.services.counters import make_counter
from tests.api.walk import Walked, routes
from tests.factories import (
    CommunityFactory,
    MakerFactory,
    OrganisationFactory,
    PlaceFactory,
    UserFactory,
    acting,
    member,
)

STRANGER = "stranger"
ROLES = [role.value for role in Role]
HOLDERS = [*ROLES, COUNTER]
ASKERS = [PUBLIC, STRANGER, *HOLDERS, *(f"{role} elsewhere" for role in HOLDERS)]
UNAUTHORISED, FORBIDDEN = 401, 403


def test_every_route_has_its_row_and_every_row_its_route() -> None:
    assert [route.name for route in routes()] == sorted(RIGHTS), (
        "Add the row to api/rights.py, or the route to the room's urls."
    )


def test_every_method_of_a_view_is_in_its_row_and_no_other() -> None:
    differing = {
        route.name: (route.methods, sorted(RIGHTS[route.name]))
        for route in routes()
        if set(route.methods) != set(RIGHTS[route.name])
    }
    assert not differing, "Make the row in api/rights.py name the methods of the view."


def test_no_row_allows_a_role_that_there_is_not() -> None:
    known = {PUBLIC, SIGNED_IN, *HOLDERS}
    for name, row in RIGHTS.items():
        for method, allowed in row.items():
            assert allowed, f"{name} {method} is for nobody"
            assert allowed <= known, f"{name} {method}"


def _asker(asker: str, here: Community) -> Callable[[], Client]:
    """Return what makes a client of somebody: a new one each time, since one may sign out."""
    role, _, elsewhere = asker.partition(" ")
    community = CommunityFactory.create() if elsewhere else here
    if role == COUNTER:
        shown = {"Authorization": f"Counter {_shared_device(community)}"}
        return lambda: Client(raise_request_exception=False, headers=shown)
    person = None if asker == PUBLIC else _person(role, community)

    def sign_in() -> Client:
        client = Client(raise_request_exception=False)
        if person is not None:
            client.force_login(person)
        return client

    return sign_in


def _person(role: str, community: Community) -> User:
    if role == STRANGER:
        user: User = UserFactory.create()
        return user
    make = OrganisationFactory if role == Role.CONTACT else MakerFactory
    organisation = None if role == Role.ORGANISER else make.create(community=community)
    return member(community, Role(role), organisation)


def _shared_device(community: Community) -> str:
    place = PlaceFactory.create(community=community)
    organiser = acting(community, Role.ORGANISER)
    _, token = make_counter(organiser, place_id=place.id, name="Hall", valid_days=1)
    return token


def _is_allowed(asker: str, row: set[str]) -> bool:
    if asker.startswith(COUNTER):
        return asker in row  # it may do what it is for, and not even what anyone may
    return (
        PUBLIC in row
        or (SIGNED_IN in row and asker != PUBLIC)
        or asker in row  # 'maker elsewhere' is in no row
    )


def _call(route: Walked, method: str, client: Client, community: Community) -> int:
    answer = client.generic(
        method,
        route.address(community=community.slug, id=uuid4()),
        b"{}" if method != "GET" else b"",
        content_type="application/json",
        headers={"Idempotency-Key": str(uuid4())},
    )
    return answer.status_code


@pytest.mark.django_db
@pytest.mark.parametrize("asker", ASKERS)
def test_each_role_gets_what_the_table_allows_and_nothing_else(
    asker: str, capsys: pytest.CaptureFixture[str]
) -> None:
    community = CommunityFactory.create()
    come = _asker(asker, community)
    refusal = UNAUTHORISED if asker == PUBLIC else FORBIDDEN
    wrong, count = [], 0
    for route in routes():
        for method in route.methods:
            with transaction.atomic():  # undone, so that who leaves here is asked again
                status = _call(route, method, come(), community)
                transaction.set_rollback(True)
            allowed = _is_allowed(asker, RIGHTS[route.name][method])
            fits = status < 500 and status not in {401, 403} if allowed else status == refusal
            count += 1
            if not fits:
                wrong.append(f"{method} {route.name}: {status}, allowed: {allowed}")
    with capsys.disabled():
        print(f"\n{asker}: {count} cases", end=" ")  # noqa: T201  # a walk of nothing shows
    assert count
    assert not wrong
