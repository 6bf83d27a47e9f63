"""The background worker: takes jobs from the queue in PostgreSQL, in a thread or a process.

Jobs go in lanes. In each lane one job is done at a time, and none waits for those of another: a
machine that does not answer, or a plan that is long in the making, delays no mail.
"""

import asyncio
import logging
import sys
import threading
from types import TracebackType
from typing import Self

from asgiref.sync import sync_to_async
from django.db import connections
from procrastinate import PsycopgConnector, signals
from procrastinate.contrib.django import DjangoApp, app
from procrastinate.contrib.django.utils import connector_params
from procrastinate.worker import Worker

from api.server.jobs import HEARTBEAT_S, SILENT_S_MAX

# What calls out has a lane for each kind of call; so has what takes long to compute.
LANES = (
    ("default", "builtin", "notices"),
    ("mail",),
    ("push",),
    ("webhooks",),
    ("plans",),
    ("questions",),
)
# Each lane listens on a connection; to take and to end jobs they share some more.
_CONNECTIONS_MAX = len(LANES) + 4
_REST_AFTER_A_FAILURE_S = 2
_log = logging.getLogger(__name__)


def work() -> None:
    """Work in the foreground until a signal says stop; the job in hand is finished first."""

    async def open_and_work() -> None:
        queue = _app_with_its_own_connections()
        async with queue.open_async():
            working = asyncio.create_task(_work(queue))

            def stop() -> None:
                working.cancel()

            with signals.on_stop(stop):
                await asyncio.wait([working])
            if not working.cancelled():
                working.result()  # raises what ended the work

    with asyncio.Runner(loop_factory=_loop_factory()) as runner:
        runner.run(open_and_work())


class BackgroundWorker:
    """A worker in a thread of this process, for as long as the context lasts."""

    def __init__(self) -> None:
        self._thread = threading.Thread(target=self._run, name="worker", daemon=True)
        self._started = threading.Event()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._task: asyncio.Task[None] | None = None

    def __enter__(self) -> Self:
        self._thread.start()
        self._started.wait()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._loop is not None and self._task is not None and not self._task.done():
            self._loop.call_soon_threadsafe(self._task.cancel)
        self._thread.join()

    def _run(self) -> None:
        try:
            with asyncio.Runner(loop_factory=_loop_factory()) as runner:
                runner.run(self._open_and_work())
        finally:
            self._started.set()

    async def _open_and_work(self) -> None:
        self._loop = asyncio.get_running_loop()
        queue = _app_with_its_own_connections()
        # Opening cannot be cancelled midway, so the start waits for it, and it happens once.
        async with queue.open_async():
            self._task = asyncio.create_task(_work_again_and_again(queue))
            self._started.set()
            await asyncio.wait([self._task])


async def _work_again_and_again(queue: DjangoApp) -> None:
    """Work, and begin again after a failure, such as a database that was away for a moment."""
    while True:
        try:
            await _work(queue)
        except Exception:
            _log.exception("The background worker failed; it begins again.")
        await asyncio.sleep(_REST_AFTER_A_FAILURE_S)


async def _work(queue: DjangoApp) -> None:
    """Work in all lanes until cancelled; where one fails the others end their job in hand too."""
    lanes = [_lane(queue, queues) for queues in LANES]
    working = [asyncio.create_task(lane.run()) for lane in lanes]  # type: ignore[no-untyped-call]
    try:
        await asyncio.wait(working, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for lane, task in zip(lanes, working, strict=True):
            # To cancel is not enough: before Python 3.12 a task that waits for a connection with
            # a time limit may lose its cancellation (CPython issue 86296), and would go on.
            lane.stop()  # type: ignore[no-untyped-call]
            task.cancel()
        await asyncio.wait(working)
        # Periodic jobs are deferred through Django's connection, in a thread of asgiref's own.
        await sync_to_async(connections.close_all)()
    for task in working:
        if not task.cancelled():
            task.result()  # raises what ended the work


def _lane(queue: DjangoApp, queues: tuple[str, ...]) -> Worker:
    return Worker(
        queue,
        queues=list(queues),  # an array for the database
        name=queues[0],
        install_signal_handlers=False,
        update_heartbeat_interval=HEARTBEAT_S,
        stalled_worker_timeout=SILENT_S_MAX,
    )


def _app_with_its_own_connections() -> DjangoApp:
    """Give an app with the same tasks, which talks to the database on its own.

    The app's own connector cannot be replaced while web threads use it: they defer jobs inside
    their transactions, so that a job exists only if what it is about does.
    """
    connector = PsycopgConnector(kwargs=connector_params(), min_size=1, max_size=_CONNECTIONS_MAX)
    queue = DjangoApp(connector=connector)
    queue.tasks = app.tasks
    queue.periodic_registry = app.periodic_registry
    return queue


def _loop_factory() -> type[asyncio.AbstractEventLoop] | None:
    # psycopg cannot use the loop that is usual on Windows.
    return asyncio.SelectorEventLoop if sys.platform == "win32" else None
