"""Nothing of one community is visible in another."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

import pytest
from django.test import Client

from network.people.models import Role, User
from tests.api.walk import Walked, routes
from tests.scenario import Populated, populate

pytestmark = pytest.mark.django_db
READS = [route for route in routes() if "GET" in route.methods]
# What a list may be narrowed to; each is tried with the other community's ids.
FILTERS = ("agreement", "container", "district", "maker", "place", "stream", "vehicle")
# What an offer and open data are asked for with; others take no notice of it.
NEEDED = {"longitude": "-30", "latitude": "45", "year": "2025", "licence": "CC0-1.0"}


@dataclass(frozen=True, kw_only=True)
class Two:
    """Two communities in which the same has happened."""

    here: Populated
    other: Populated


@pytest.fixture
def two() -> Two:
    return Two(here=populate("here"), other=populate("other"))


def a_row(route: Walked, populated: Populated) -> UUID:
    """Return the id of a row that the route's address may name."""
    return populated.row(route.subject).id if route.subject else populated.community.id


def read(user: User | None, address: str, **query: str) -> Any:
    client = Client()
    if user is not None:
        client.force_login(user)
    return client.get(address, {**NEEDED, **query})


def everybody(populated: Populated) -> dict[str, User | None]:
    return {"public": None, **{role.value: user for role, user in populated.people.items()}}


def leaks(answer: Any, foreign: set[str]) -> list[str]:
    text = b"".join(answer).decode("utf-8", errors="replace")
    return sorted(row for row in foreign if row in text)


def test_no_id_of_another_community_is_in_any_answer(two: Two) -> None:
    foreign = two.other.ids()
    found, read_well = [], set()
    for name, user in everybody(two.here).items():
        for route in READS:
            address = route.address(community="here", id=a_row(route, two.here))
            answer = read(user, address)
            read_well |= {route.name} if answer.status_code == 200 else set()
            found += [f"{route.name} as {name}: {row}" for row in leaks(answer, foreign)]
    assert not found
    # The links of these are no ids.
    made_up = {"calendar-feed-file", "invitation", "passport", "passport-code"}
    made_up |= {"counter"}  # no person reads it: see test_counters.py
    unread = {route.name for route in READS} - read_well - made_up
    assert not unread, "Nobody could read these, so that nothing was shown of them."


def test_a_thing_of_another_community_is_not_there(two: Two) -> None:
    wrong = []
    for name, user in everybody(two.here).items():
        for route in READS:
            if route.subject is None:
                continue
            address = route.address(community="here", id=a_row(route, two.other))
            status = read(user, address).status_code
            if status not in {401, 403, 404}:
                wrong.append(f"{route.name} as {name}: {status}")
    assert not wrong


def test_a_role_counts_in_its_own_community_only(two: Two) -> None:
    wrong = []
    rows = two.other.ids()
    for name, user in everybody(two.here).items():
        for route in READS:
            address = route.address(community="other", id=a_row(route, two.other))
            mine = read(user, address)
            strangers = read(None, address)
            if leaks(mine, rows) != leaks(strangers, rows):
                wrong.append(f"{route.name} as {name}")
    assert not wrong, "More is shown than to the public."


def test_a_filter_by_another_communitys_id_finds_nothing_of_it(two: Two) -> None:
    foreign = two.other.ids()
    lists = [route for route in READS if route.subject is None]
    found = []
    for role in (Role.MAKER, Role.ORGANISER):
        for route in lists:
            address = route.address(community="here", id=two.here.community.id)
            for row in _one_of_each(two.other):
                answer = read(two.here.people[role], address, **dict.fromkeys(FILTERS, row))
                found += [f"{route.name}: {leaked}" for leaked in leaks(answer, foreign - {row})]
    assert not found


def _one_of_each(populated: Populated) -> list[str]:
    world = populated.round
    agreement = world.agreements[0]
    rows = (world.maker, agreement.place, agreement.stream, world.containers[0])
    return [str(row.id) for row in rows]
