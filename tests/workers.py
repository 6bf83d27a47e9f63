"""Workers in processes of their own, which can be killed."""

import asyncio
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection
from psycopg.conninfo import make_conninfo

from api.server import jobs, worker


@contextmanager
def running_worker(script: str, **environment: str) -> Iterator["subprocess.Popen[bytes]"]:
    """Run a script that works on this test's database, with this environment besides."""
    ours = connection.settings_dict
    url = make_conninfo(
        host=ours["HOST"],
        port=ours["PORT"],
        user=ours["USER"],
        password=ours["PASSWORD"] or None,
        dbname=ours["NAME"],
    )
    whole = os.environ | {
        "DATABASE_URL": url,
        "DJANGO_SETTINGS_MODULE": "api.settings",
        **environment,
    }
    with subprocess.Popen([sys.executable, "-c", script], env=whole) as process:
        try:
            yield process
        finally:
            process.terminate()


def take_up_stalled(silent_s_max: float) -> None:
    """Do what a worker does each minute, without waiting for the minute."""

    async def do() -> None:
        queue = worker._app_with_its_own_connections()
        async with queue.open_async():
            await jobs.take_up_stalled_jobs(queue.job_manager, silent_s_max=silent_s_max)

    asyncio.run(do())


def empty_the_queue() -> None:
    """Django's flush leaves the queue's tables alone, since they are not its own."""
    with connection.cursor() as cursor:
        cursor.execute("TRUNCATE procrastinate_jobs, procrastinate_workers CASCADE")
