"""Who may call what: every route, every method, every role, against the one table."""

from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client

from api.rights import PUBLIC, RIGHTS, SIGNED_IN
from network.people.models import Community, Role, User
from tests.api.walk import Walked, routes
from tests.factories import (
    CommunityFactory,
    MakerFactory,
    OrganisationFactory,
    UserFactory,
    member,
)

STRANGER = "stranger"
ROLES = [role.value for role in Role]
ASKERS = [PUBLIC, STRANGER, *ROLES, *(f"{role} elsewhere" for role in ROLES)]
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
    known = {PUBLIC, SIGNED_IN, *ROLES}
    for name, row in RIGHTS.items():
        for method, allowed in row.items():
            assert allowed, f"{name} {method} is for nobody"
            assert allowed <= known, f"{name} {method}"


def _asker(asker: str, here: Community) -> User | None:
    if asker == PUBLIC:
        return None
    if asker == STRANGER:
        user: User = UserFactory.create()
        return user
    role, _, elsewhere = asker.partition(" ")
    community = CommunityFactory.create() if elsewhere else here
    make = OrganisationFactory if role == Role.CONTACT else MakerFactory
    organisation = None if role == Role.ORGANISER else make.create(community=community)
    return member(community, Role(role), organisation)


def _is_allowed(asker: str, row: set[str]) -> bool:
    return (
        PUBLIC in row
        or (SIGNED_IN in row and asker != PUBLIC)
        or asker in row  # 'maker elsewhere' is in no row
    )


def _call(route: Walked, method: str, user: User | None, community: Community) -> int:
    client = Client(raise_request_exception=False)
    if user is not None:
        client.force_login(user)
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
    user = _asker(asker, community)
    refusal = UNAUTHORISED if asker == PUBLIC else FORBIDDEN
    wrong, count = [], 0
    for route in routes():
        for method in route.methods:
            with transaction.atomic():  # undone, so that who leaves here is asked again
                status = _call(route, method, user, community)
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
