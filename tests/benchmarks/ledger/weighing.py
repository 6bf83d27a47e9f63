"""Weighing, over HTTP and by the same SQL without anything around it."""

import json
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from http import HTTPStatus
from itertools import count
from typing import Any, TypeVar
from uuid import UUID

import psycopg
from django.db import connection
from django.test import Client

from network.ids import new_id
from network.lots import services
from network.lots.models import Account, Lot, Scale
from network.people.core.actor import Actor
from network.people.models import Community, Organisation, Role, User
from network.people.queries import actor_in
from network.people.services import make_machine_token
from network.pickups.models import Vehicle
from network.places.models import Container
from tests.benchmarks.ledger.serving import Caller
from tests.factories import member

AT_ONCE = 16
TARE_G = 150
AT = datetime(2026, 1, 31, 12, tzinfo=UTC)
# Each weighing says a gram more than the one before, so that each writes a line.
_grams = count(8_001)

Statement = tuple[str, Any]
T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class World:
    """A maker's lots in the store, its scale, and people who weigh by token."""

    community: Community
    lots: Sequence[Lot]
    scale_id: UUID
    people: Sequence[UUID]
    tokens: Sequence[str]

    @property
    def address(self) -> str:
        """Where the API of this community begins."""
        return f"/api/v1/communities/{self.community.slug}/"


def make_world(community: Community, *, lots: int, people: int = AT_ONCE) -> World:
    """Let new people of one of the nation's makers bring lots home."""
    container = Container.objects.filter(community=community).select_related("agreement__stream")[0]
    maker = container.agreement.stream.maker
    scale = Scale.objects.filter(maker=maker)[0]
    persons = [_person(community, maker) for _ in range(people)]
    return World(
        community=community,
        lots=_brought_home(persons[0], container, scale, lots),
        scale_id=scale.id,
        people=[person.user_id for person in persons if person.user_id],
        tokens=[
            make_machine_token(person, name="measuring", may_write=True, valid_days=1)[1]
            for person in persons
        ],
    )


def _person(community: Community, maker: Organisation) -> Actor:
    user = User.objects.create(email=f"{new_id()}@example.org", created_at=AT)
    member(community, Role.MAKER, maker, user)
    return actor_in(community=community, user_id=user.id)


def _brought_home(actor: Actor, container: Container, scale: Scale, count: int) -> list[Lot]:
    vehicle_id = Vehicle.objects.filter(maker=scale.maker)[0].id
    reading = services.Reading(
        method="weighed", gross_g=8_000 + TARE_G, tare_g=TARE_G, scale_id=scale.id
    )
    lots = [
        services.take_from_container(
            actor,
            lot_id=new_id(),
            container=container,
            vehicle_id=vehicle_id,
            reading=reading,
            at=AT,
        )[0]
        for _ in range(count)
    ]
    services.bring_home(actor, lots=lots, vehicle_id=vehicle_id, at=AT)
    return lots


def body(world: World, net_g: int) -> dict[str, object]:
    """Return what is sent for a weighing."""
    return {
        "gross_g": net_g + TARE_G,
        "tare_g": TARE_G,
        "scale_id": str(world.scale_id),
        "at": AT.isoformat(),
    }


def at_once(each: Iterable[Callable[[], None]]) -> None:
    """Run all of them at once; the first that fails fails the whole."""
    failed: list[BaseException] = []

    def run(one: Callable[[], None]) -> None:
        try:
            one()
        except BaseException as error:  # raised again below
            failed.append(error)

    threads = [threading.Thread(target=run, args=(one,)) for one in each]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if failed:
        raise failed[0]


def shares(whole: Sequence[T]) -> list[Sequence[T]]:
    """Divide among as many as weigh at once."""
    return [whole[person::AT_ONCE] for person in range(AT_ONCE)]


def over_http(world: World, port: int, lots: Sequence[Lot]) -> Callable[[], int]:
    """Return what weighs each lot once, all people at once, each some of the lots."""
    callers = [Caller(port, token) for token in world.tokens]

    def person(caller: Caller, own: Sequence[Lot]) -> None:
        for lot in own:
            address = f"{world.address}lots/{lot.id}/weigh/"
            caller.post(address, body(world, next(_grams)), str(new_id()))

    def weigh() -> int:
        pairs = zip(callers, shares(lots), strict=True)
        at_once([partial(person, caller, own) for caller, own in pairs])
        return len(lots)

    return weigh


def recorded(world: World, lot: Lot) -> tuple[list[Statement], int]:
    """Return the statements of one weighing over the API, and before which id all was there."""
    client = Client(SERVER_NAME="localhost", headers={"Authorization": f"Bearer {world.tokens[0]}"})
    said: list[Statement] = []

    def listen(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        said.append((sql, params))
        return execute(sql, params, many, context)

    def weigh() -> None:
        answer = client.post(
            f"{world.address}lots/{lot.id}/weigh/",
            body(world, next(_grams)),
            content_type="application/json",
            headers={"Idempotency-Key": str(new_id())},
        )
        if answer.status_code != HTTPStatus.CREATED:
            raise RuntimeError(answer.content.decode())

    weigh()  # a token's first use is noted, and its next ones are not
    began = new_id().int
    with connection.execute_wrapper(listen):
        weigh()
    return said, began


class Replay:
    """Says the statements of one weighing again, for another lot and with new ids."""

    def __init__(self, said: Sequence[Statement], *, began: int, of: Lot, now: Lot) -> None:
        self.said = said
        self.began = began
        accounts = {
            (account.kind, account.holder_id): account.id
            for account in Account.objects.filter(lot=now)
        }
        self.known = {of.id: now.id}
        for account in Account.objects.filter(lot=of):
            # Only the container's and the store's are moved between; a container has many lots.
            self.known[account.id] = accounts[account.kind, account.holder_id]

    def run(self, database: psycopg.Connection[Any]) -> None:
        """Say all in one transaction, and fetch what each returns."""
        known = dict(self.known)
        for sql, params in self.said:
            cursor = database.execute(sql.encode(), self._now(params, known) or None)
            if cursor.description is not None:
                cursor.fetchall()
        database.commit()

    def _now(self, params: Any, known: dict[UUID, UUID]) -> list[Any]:
        return [self._one(value, known) for value in params or ()]

    def _one(self, value: Any, known: dict[UUID, UUID]) -> Any:
        if isinstance(value, UUID):
            if value.int > self.began:
                known.setdefault(value, new_id())
            return known.get(value, value)
        return value


def by_sql(url: str, replays: Sequence[Replay]) -> Callable[[], int]:
    """Return what says the same statements for each lot once, on as many connections at once."""
    connections = [psycopg.connect(url) for _ in range(AT_ONCE)]

    def person(database: psycopg.Connection[Any], own: Sequence[Replay]) -> None:
        for replay in own:
            replay.run(database)

    def weigh() -> int:
        pairs = zip(connections, shares(replays), strict=True)
        at_once([partial(person, database, own) for database, own in pairs])
        return len(replays)

    return weigh


def kept_on_a_device(world: World, port: int) -> Callable[[], int]:
    """Return what sends a weighing of each lot in one request."""
    caller = Caller(port, world.tokens[0])

    def send() -> int:
        net_g = next(_grams)
        weighings = [
            {"id": str(new_id()), "lot_id": str(lot.id), **body(world, net_g)} for lot in world.lots
        ]
        sent = {"weighings": weighings}
        said = caller.post(f"{world.address}weighings/batch/", sent, str(new_id()))
        outcomes = json.loads(said)["outcomes"]
        return sum(one["outcome"] == "arrived" for one in outcomes)

    return send


_WEIGHINGS = """
INSERT INTO lots_weighing (id, community_id, lot_id, stage, method, gross_g, tare_g, net_g,
       uncertainty_mg, budget, scale_id, at, by_id)
SELECT id, %(community)s, lot_id, 'workshop', 'weighed', %(net_g)s + 150, 150, %(net_g)s, 28867,
       %(budget)s, %(scale)s, %(at)s, %(by)s
  FROM unnest(%(weighings)s::uuid[], %(lots)s::uuid[]) AS row (id, lot_id)
"""
_LINES = """
INSERT INTO lots_movement (id, community_id, from_account_id, to_account_id, mass_g, reason, at,
       counts_at, recorded_at, by_id, weighing_id, note)
SELECT id, %(community)s, giver, taker, 1, 'reweighed', %(at)s, %(at)s, now(), %(by)s, weighing, ''
  FROM unnest(%(lines)s::uuid[], %(givers)s::uuid[], %(takers)s::uuid[], %(weighings)s::uuid[])
       AS row (id, giver, taker, weighing)
"""


def by_unnest(world: World, url: str, budget: str) -> Callable[[], int]:
    """Return what writes the same rows in two bare statements and one transaction."""
    database = psycopg.connect(url)
    lots = [lot.id for lot in world.lots]
    accounts = {
        kind: dict(Account.objects.filter(lot__in=lots, kind=kind).values_list("lot_id", "id"))
        for kind in ("container", "collected")
    }

    def write() -> int:
        shared = {
            "community": world.community.id,
            "lots": lots,
            "net_g": next(_grams),
            "budget": budget,
            "scale": world.scale_id,
            "at": AT,
            "by": world.people[0],
            "weighings": [new_id() for _ in lots],
            "lines": [new_id() for _ in lots],
            "givers": [accounts["container"][lot] for lot in lots],
            "takers": [accounts["collected"][lot] for lot in lots],
        }
        database.execute(_WEIGHINGS, shared)
        written = database.execute(_LINES, shared).rowcount
        database.commit()
        return written

    return write
