"""A machine may do what its owner may, in one community, and often less."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from api.machines import NOT_FOR_MACHINES
from api.rights import RIGHTS
from network.people.models import Community, District, MachineToken, Membership, Role, User
from tests.api.walk import routes
from tests.factories import CommunityFactory, OrganisationFactory, UserFactory, member

pytestmark = pytest.mark.django_db
HERE = "/api/v1/communities/isle/"


@pytest.fixture
def isle() -> Community:
    community: Community = CommunityFactory.create(slug="isle")
    return community


@pytest.fixture
def organiser(isle: Community) -> User:
    return member(isle, Role.ORGANISER)


def send(client: Client, path: str, body: Any = None, **headers: str) -> Any:
    return client.post(
        path,
        body or {},
        content_type="application/json",
        headers={"Idempotency-Key": str(uuid4()), **headers},
    )


def token_of(user: User, **wish: object) -> str:
    client = Client()
    client.force_login(user)
    answer = send(client, f"{HERE}machine-tokens/", {"name": "Scale", **wish})
    assert answer.status_code == 201, answer.content
    secret: str = answer.json()["token"]
    return secret


def machine(secret: str) -> Client:
    # A machine has no cookies, and so none that another site could use.
    return Client(enforce_csrf_checks=True, headers={"Authorization": f"Bearer {secret}"})


def test_a_machine_reads_what_its_owner_may_read(organiser: User) -> None:
    reader = machine(token_of(organiser))
    assert reader.get(f"{HERE}members/").status_code == 200
    assert MachineToken.objects.get().last_used_at is not None


def test_a_machine_writes_only_if_it_may(organiser: User) -> None:
    path, body = f"{HERE}districts/", {"name": "Port Sorrel"}
    assert send(machine(token_of(organiser)), path, body).status_code == 403
    assert not District.objects.exists()
    writer = machine(token_of(organiser, may_write=True))
    assert send(writer, path, body).status_code == 201


def test_a_machine_is_of_one_community(organiser: User) -> None:
    other = CommunityFactory.create(slug="other")
    member(other, Role.ORGANISER, user=organiser)
    reader = machine(token_of(organiser))
    assert reader.get("/api/v1/communities/other/members/").status_code == 403


def test_a_machine_has_no_right_that_its_owner_has_not(isle: Community) -> None:
    contact = member(isle, Role.CONTACT, OrganisationFactory.create(community=isle))
    writer = machine(token_of(contact, may_write=True))
    assert writer.get(f"{HERE}places/").status_code == 200
    assert writer.get(f"{HERE}members/").status_code == 403
    Membership.objects.filter(user=contact).delete()
    assert writer.get(f"{HERE}places/").status_code == 403


def test_accounts_roles_and_secrets_are_closed_to_machines(organiser: User) -> None:
    writer = machine(token_of(organiser, may_write=True))
    assert set(RIGHTS) >= NOT_FOR_MACHINES
    for route in routes():
        if route.name not in NOT_FOR_MACHINES:
            continue
        for method in route.methods:
            answer = writer.generic(
                method,
                route.address(community="isle", id=uuid4()),
                b"{}",
                content_type="application/json",
                headers={"Idempotency-Key": str(uuid4())},
            )
            assert answer.status_code == 403, f"{method} {route.name}"


def test_a_token_that_opens_nothing_is_refused(organiser: User) -> None:
    revoked, expired, left = (token_of(organiser, name=name) for name in ("A", "B", "C"))
    first, second = (MachineToken.objects.get(name=name) for name in ("A", "B"))
    client = Client()
    client.force_login(organiser)
    assert send(client, f"{HERE}machine-tokens/{first.id}/revoke/").status_code == 200
    MachineToken.objects.filter(id=second.id).update(expires_at=timezone.now())
    for secret in (revoked, expired, "made-up", "", "a b"):
        assert machine(secret).get("/api/v1/communities/").status_code == 401, secret
    User.objects.filter(id=organiser.id).update(is_active=False)
    assert machine(left).get("/api/v1/communities/").status_code == 401


def test_the_secret_is_shown_once_and_not_kept(organiser: User) -> None:
    secret = token_of(organiser)
    assert secret.startswith("millrace_")
    kept = MachineToken.objects.get()
    assert secret not in {str(value) for value in vars(kept).values()}
    client = Client()
    client.force_login(organiser)
    (listed,) = client.get(f"{HERE}machine-tokens/").json()["results"]
    assert listed["token"] is None
    assert kept.expires_at - kept.created_at == timedelta(days=90)


def test_nobody_takes_back_anothers_token(isle: Community, organiser: User) -> None:
    token_of(organiser)
    another = Client()
    another.force_login(member(isle, Role.ORGANISER))
    path = f"{HERE}machine-tokens/{MachineToken.objects.get().id}/revoke/"
    assert send(another, path).status_code == 404


def test_whoever_holds_no_role_makes_no_token(isle: Community) -> None:
    client = Client()
    client.force_login(UserFactory.create())
    answer = send(client, f"{HERE}machine-tokens/", {"name": "Scale"})
    assert answer.status_code == 403
