"""How a worker holds a search as its own, tells how far it is, and hears that it is to end."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import TypeVar

from django.db import connection
from django.db.models import QuerySet

from network.pickups.core.alternatives import Aim
from network.pickups.core.model import money_scale
from network.pickups.core.problem import Problem
from network.pickups.models import Watched
from network.units import to_cents

LOOK_EVERY_S = 1.0
COST_MAX = 10**12

W = TypeVar("W", bound=Watched)


@contextmanager
def alone_with(name: str) -> Iterator[bool]:
    """Whether what is named is ours, until the end of the block or of this connection."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(hashtextextended(%s, 0))", [name])
        mine = bool(cursor.fetchone()[0])
    try:
        yield mine
    finally:
        if mine:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_unlock(hashtextextended(%s, 0))", [name])


class Watch:
    """Asked before each step of a search: tells how far it is once a second, and when to stop.

    `rows` is where that is told. A search that is not stopped takes no notice of it, so that it
    can be repeated exactly.
    """

    def __init__(
        self,
        rows: QuerySet[W],
        problem: Problem,
        *,
        length: int,
        seconds_max: int,
        is_over: Callable[[], bool],
        aim: Aim = Aim.BALANCED,
    ) -> None:
        self._rows, self._aim, self._length = rows, aim, length
        self._asks_whether_over = is_over
        self._scale = money_scale(problem)
        self._steps = 0
        self._ends_at = time.monotonic() + seconds_max
        self._looks_at = 0.0
        self._is_over = False

    def __call__(self, best_cost: int) -> bool:
        self._steps += 1
        now = time.monotonic()
        if now >= self._looks_at:
            self._looks_at = now + LOOK_EVERY_S
            self._tell(best_cost)
            self._is_over = self._asks_whether_over()
        return self._is_over or now >= self._ends_at

    def _tell(self, best_cost: int) -> None:
        cost = Decimal(best_cost) / self._scale
        self._rows.update(
            aim=self._aim.value,
            iterations=min(self._steps, self._length),
            iterations_max=self._length,
            # Until anything sound is found, the cost is a number that only means 'none'.
            best_cost=to_cents(cost) if cost < COST_MAX else None,
        )
