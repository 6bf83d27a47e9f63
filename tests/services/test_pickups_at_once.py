"""Two at once: one van, one container, one line are never had twice; a worker plans once."""

import threading
import time
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from api.server.worker import BackgroundWorker
from network.errors import MillraceError
from network.ids import new_id
from network.lots.models import Account, Lot
from network.pickups import services
from network.pickups.core.plan import Plan
from network.pickups.core.solve import solve
from network.pickups.models import PickupLine, Proposal, Route
from tests.factories import VehicleFactory
from tests.services.pickups_story import SUNDAY_EVENING, make_round, on_monday, route_id_of

WAIT_S = 60

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def empty_queue() -> None:
    """Django's flush leaves the queue's tables alone, since they are not its own."""
    with connection.cursor() as cursor:
        cursor.execute("TRUNCATE procrastinate_jobs, procrastinate_workers CASCADE")


def at_once(*acts: Callable[[], object]) -> list[str]:
    """Run the acts in threads that start together; return how each ended, sorted."""
    start = threading.Barrier(len(acts))
    outcomes: list[str] = []

    def run(act: Callable[[], object]) -> None:
        try:
            start.wait()
            act()
            outcomes.append("done")
        except MillraceError as refusal:
            outcomes.append(refusal.code)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(outcomes)


def wait_until_settled(proposal: Proposal) -> None:
    """Read the proposal until a worker has settled it, or a minute is over."""
    deadline = time.monotonic() + WAIT_S
    waiting = [Proposal.Status.QUEUED, Proposal.Status.WORKING]
    while proposal.status in waiting and time.monotonic() < deadline:
        time.sleep(0.1)
        proposal.refresh_from_db()


def test_of_two_bookings_of_one_van_one_wins() -> None:
    world = make_round(places=2)
    proposals = [world.proposal(), world.proposal()]
    for proposal, place in zip(proposals, world.places, strict=True):
        services.change_proposal(world.maker_actor, proposal_id=proposal.id, orders={0: [place.id]})

    def book(proposal: Proposal) -> Callable[[], object]:
        return lambda: services.book_proposal(
            world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING
        )

    assert at_once(*map(book, proposals)) == ["already_booked", "done"]
    assert Route.objects.filter(vehicle=world.vehicle).count() == 1


def test_of_two_bookings_of_one_container_one_wins() -> None:
    world = make_round(places=1)
    other_van = VehicleFactory.create(community=world.community, maker=world.maker)
    proposals = [world.proposal(), world.proposal(vehicle_id=other_van.id)]
    for proposal in proposals:
        services.change_proposal(
            world.maker_actor, proposal_id=proposal.id, orders={0: [world.places[0].id]}
        )

    def book(proposal: Proposal) -> Callable[[], object]:
        return lambda: services.book_proposal(
            world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING
        )

    assert at_once(*map(book, proposals)) == ["already_booked", "done"]
    assert PickupLine.objects.filter(container=world.containers[0]).count() == 1


def test_a_proposal_booked_by_two_at_once_is_booked_once() -> None:
    world = make_round(places=1)
    proposal = world.proposal()
    services.change_proposal(
        world.maker_actor, proposal_id=proposal.id, orders={0: [world.places[0].id]}
    )

    def book() -> object:
        return services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=SUNDAY_EVENING)

    assert at_once(book, book) == ["done", "done"]
    assert Route.objects.count() == 1


def test_of_two_who_collect_one_bag_one_does() -> None:
    world = make_round(places=1)
    line = world.at_the_door()

    def collect() -> object:
        return world.collect(line, 5_000)

    assert at_once(collect, collect) == ["done", "wrong_state"]
    assert Lot.objects.count() == 1
    accounts = Account.objects.filter(kind=Account.Kind.VEHICLE)
    assert [account.balance_g for account in accounts] == [5_000]


def test_of_two_who_ask_at_once_for_one_place_one_visit_is_asked() -> None:
    world = make_round(places=1)
    contact = world.contact()

    def ask() -> object:
        return services.ask_for_pickup(
            contact, pickup_id=new_id(), place_id=world.places[0].id, at=SUNDAY_EVENING
        )

    assert at_once(ask, ask) == ["done", "done"]
    assert world.places[0].pickups.count() == 1


def test_a_worker_takes_the_queued_proposal_and_makes_the_plan() -> None:
    world = make_round(places=2)
    proposal = services.request_proposal(
        world.maker_actor, proposal_id=new_id(), request=world.wish(), at=SUNDAY_EVENING
    )
    assert proposal.status == Proposal.Status.QUEUED
    with BackgroundWorker():
        wait_until_settled(proposal)
    assert proposal.status == Proposal.Status.READY
    assert proposal.plan is not None
    told = [stop["place"] for route in proposal.plan["routes"] for stop in route["stops"]]
    told += [out["place"] for out in proposal.plan["left_out"]]
    assert {place["id"] for place in told} == {str(place.id) for place in world.places}


def test_two_workers_never_plan_one_proposal_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    world = make_round(places=1)
    proposal = services.request_proposal(
        world.maker_actor, proposal_id=new_id(), request=world.wish(), at=SUNDAY_EVENING
    )
    solved: list[int] = []
    held = threading.Event()

    def slow_solve(*arguments: Any, **settings: Any) -> Plan:
        solved.append(1)
        held.wait(timeout=2)  # long enough for the other worker to find it taken
        return solve(*arguments, **settings)

    monkeypatch.setattr("network.pickups.services.searching.solve", slow_solve)

    def work() -> None:
        services.solve_proposal(proposal_id=proposal.id)

    assert at_once(work, work) == ["done", "done"]
    assert solved == [1]
    proposal.refresh_from_db()
    assert proposal.status == Proposal.Status.READY


def test_a_worker_that_died_leaves_its_proposal_for_the_next_one() -> None:
    world = make_round(places=1)
    proposal = services.request_proposal(
        world.maker_actor, proposal_id=new_id(), request=world.wish(), at=SUNDAY_EVENING
    )
    # All that a killed worker leaves behind: its lock went with its connection.
    Proposal.objects.filter(id=proposal.id).update(status=Proposal.Status.WORKING)
    services.solve_proposal(proposal_id=proposal.id)
    proposal.refresh_from_db()
    assert proposal.status == Proposal.Status.READY


def test_the_ledger_holds_what_two_phones_typed_on_one_route() -> None:
    world = make_round(places=2)
    pickups = world.on_the_road()
    for pickup in pickups:
        services.arrive(world.driver, pickup_id=pickup.id, at=on_monday(8, 10))
    lines = [pickup.lines.get() for pickup in pickups]
    masses_g = [4_321, 8_765]

    def collect(index: int) -> Callable[[], object]:
        return lambda: world.collect(lines[index], masses_g[index])

    assert at_once(collect(0), collect(1)) == ["done", "done"]
    services.finish_route(world.driver, route_id=route_id_of(pickups[0]), at=on_monday(9))
    stored = Account.objects.filter(kind=Account.Kind.COLLECTED)
    assert sum(account.balance_g for account in stored) == sum(masses_g)
